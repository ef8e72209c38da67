// What an alarm leaves to be done later stays until a person with a name says that it is done: over its end, a restart, and a
// changed station file.
import { describe, expect, test } from 'vitest';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { restored } from '../../src/control/process/initial.ts';
import { signedBy } from '../../src/panel/asking.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { play } from '../tools/scenario.ts';

const TASK = 'siphon-break/I-09/supply';
const SIPHON = `station marram-point
fault siphon:supply@3h-200min
run 4 h
ask {"ask":"stop","unit":"exchange"}
run 1 min
ask {"ask":"reset","unit":"exchange"}
run 10 s
ask {"ask":"reset-trip","trip":"all"}
ask {"ask":"reset-trip","trip":"I-09/supply","who":"Ada","seen":"the hand valve is shut"}
run 1 h
`;
type Played = ReturnType<typeof play>;
const namesIn = ({ state }: Played) => Object.keys(state().upkeep);
const saidIn = ({ log }: Played) =>
  log.flatMap(({ effect }) => (effect.do === 'answer' ? [say(effect.words)] : []));

describe('what an alarm leaves for later', () => {
  test('is a task that stays when its alarm is over and acknowledged', () => {
    const played = play(`${SIPHON}ask {"ask":"acknowledge","alarm":"all"}\nrun 1 h`);
    expect(played.state().alarms['I-09/supply']).toBeUndefined();
    const { upkeep } = statusOf(played.plant, played.state());
    expect(upkeep.map(({ task, alarm }) => [task, alarm])).toEqual([[TASK, 'I-09/supply']]);
    expect(upkeep.map(({ words }) => say(words))).toEqual([
      'fit a siphon break in Supply, or a valve there that closes without power; nothing else in the station can stop a siphon',
    ]);
  });

  test('outlives a power cut and a changed station file', () => {
    const played = play(`${SIPHON}power-cut 3 h\nrun 5 min`);
    expect(namesIn(played)).toEqual([TASK]);
    const other = plantAt('schemas/examples/marram-point.json', { '/name': 'Another name' });
    expect(Object.keys(restored(other, played.state(), null, false).upkeep)).toEqual([TASK]);
  });

  test('goes only when a person who has a name says that it is done', () => {
    const done = (task: string, who: string) =>
      `ask ${JSON.stringify({ ask: 'upkeep-done', task, who })}\nrun 10 s\n`;
    const unnamed = play(`${SIPHON}${done(TASK, ' ')}${done('siphon-break/I-09/inlet', 'Ada')}`);
    expect(namesIn(unnamed)).toEqual([TASK]);
    expect(saidIn(unnamed).slice(-2)).toEqual([
      'say who did it',
      "there is no task of upkeep 'siphon-break/I-09/inlet'",
    ]);
    const named = play(`${SIPHON}${done(TASK, 'Ada')}power-cut 1 h\nrun 5 min`);
    expect(namesIn(named)).toEqual([]);
    expect(saidIn(named).at(-1)).toMatch(/^Ada has done it: fit a siphon break in Supply/u);
  });

  test('comes again with its alarm', () => {
    const again = play(
      SIPHON.replace('@3h-200min', '@3h-200min\nfault siphon:supply@9h') +
        `ask {"ask":"upkeep-done","task":"${TASK}","who":"Ada"}\nask {"ask":"restart","unit":"all"}\nrun 6 h`,
    );
    expect(namesIn(again)).toEqual([TASK]);
  });

  test('is not signed by somebody without a name: the page lends nobody one', () => {
    expect(signedBy(null, { ask: 'upkeep-done', task: TASK })).toMatchObject({ who: '' });
    expect(signedBy('Ada', { ask: 'upkeep-done', task: TASK, who: 'Bea' })).toMatchObject({ who: 'Ada' });
  });
});
