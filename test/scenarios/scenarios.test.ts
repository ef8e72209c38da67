// Scenarios as text: one accident or one good day each. A file is prose (# lines), then commands, then `---` and what
// happened. Expectations are regenerated with UPDATE_SCENARIOS=1: read the difference before you keep it.
//
//   station FILE [step DURATION] [seed N]   which station, by its name among the examples or in test/stations
//   file POINTER JSON                       the station's file says this there
//   fault SPEC                              as for `simulate --fault`, in station time
//   run DURATION                            lets time pass
//   ask JSON                                a request, as the core takes it
//   link up | down                          messages arrive and leave, or don't
//   power-cut DURATION [lost | replumbed]   the service is gone for that long and comes back with what it had saved; with
//                                           a state file that it can't read; with other plumbing in its station file
//   foreign ACTUATOR on | off | unreadable [retained]
//                                           somebody else commands a device; retained: it was stored on the broker
//   mute | hears                            messages stop both ways, and the client does not notice; they come again
//   stall DURATION                          the service stands still, and goes on with one long step
//   disk full | free                        what happens can't, or can, be written down
//   clock +DURATION | -DURATION | untrusted the clock of the computer jumps, or is not to be trusted
//   count starts                            the books at the end also say how often each device started
//   untried DURATION                        the last proof tests were so long ago
//   unmoved VALVE DURATION                  this valve last opened and shut so long ago
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { englishOf } from '../../src/language/english.ts';
import { alarmText, told } from '../../src/language/told.ts';
import { verdictOf } from '../../src/simulate/verdict.ts';
import type { Coupled } from '../tools/coupled.ts';
import { linesOf, play } from '../tools/scenario.ts';

const FOLDER = 'test/scenarios';
const update = process.env.UPDATE_SCENARIOS !== undefined;
const files = readdirSync(FOLDER).filter((file) => file.endsWith('.txt'));

function happenedIn(script: string): string {
  const coupled = play(script);
  const starts = linesOf(script).includes('count starts') ? [startsOf(coupled)] : [];
  return [...account(coupled), ...books(coupled), ...starts].join('\n');
}

const clock = (ms: number): string => {
  const seconds = Math.round(ms / 1000);
  const two = (n: number) => String(n).padStart(2, '0');
  return `${two(Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
};

/** Exchange steps repeat all day: the first two tell the story. */
function account({ plant, log }: Coupled): string[] {
  let steps = 0;
  return told(englishOf(plant), log).flatMap(({ atMs, effect }) => {
    const at = clock(atMs);
    if (effect.do === 'record' && effect.about !== 'trip') {
      const ofStep = /running, (drain|supply|rest)$/.test(effect.message.text);
      if (ofStep) steps += 1;
      if (ofStep && steps > 7) return [];
      return [`${at}  ${effect.message.text}`];
    }
    if (effect.do === 'record') return [`${at}  trip ${effect.message.text}`];
    if (effect.do === 'alarm') {
      // What a person reads when it comes; later only what became of it.
      const words =
        effect.state === 'unacknowledged' ? `: ${alarmText(effect.message, effect.response)}` : '';
      return [`${at}  alarm ${effect.alarm} ${effect.state}${words}`];
    }
    if (effect.do === 'ask' && effect.task) return [`${at}  please: ${effect.task.message.text}`];
    if (effect.do === 'answer' && !effect.accepted) return [`${at}  refused: ${effect.message.text}`];
    return [];
  });
}

function startsOf({ twin }: Coupled): string {
  const { starts } = verdictOf(twin);
  return `starts: ${Object.entries(starts)
    .map(([id, count]) => `${id} ${count}`)
    .join(', ')}`;
}

function books({ twin, state, nowMs }: Coupled): string[] {
  const verdict = verdictOf(twin);
  const sum = (amounts: Readonly<Record<string, number>>): number =>
    Object.values(amounts).reduce((a, b) => a + b, 0);
  const spilledL = sum(
    Object.fromEntries(Object.entries(verdict.vessels).map(([id, v]) => [id, v.spilledL])),
  );
  const now = state();
  return [
    `${clock(nowMs())}  refill ${now.refill.procedure}, batch ${now.batch.procedure} (${now.batch.stage}), exchange ${Object.values(now.exchange).map((e) => `${e.procedure} (${e.step})`)}`,
    `books: spilled ${spilledL.toFixed(1)} L, from hoses ${sum(verdict.hoseL).toFixed(1)} L, pumps dry ${sum(verdict.secondsDry).toFixed(0)} s, heater bare ${sum(verdict.heaterDryS).toFixed(0)} s, heater while dissolving ${sum(verdict.heaterWhileDissolvingS).toFixed(0)} s`,
    `books: delivered ${verdict.deliveredL.toFixed(1)} L, of it outside tolerance ${verdict.deliveredOffSpecL.toFixed(1)} L; drained ${verdict.drainedL.toFixed(1)} L; balance ${(100 * verdict.balanceErrorShare).toFixed(3)} %`,
  ];
}

describe('scenarios', () => {
  test.each(files)(
    '%s',
    (file) => {
      const path = `${FOLDER}/${file}`;
      const [script = '', expected = ''] = readFileSync(path, 'utf8').split(/^---\n/m);
      const happened = `${happenedIn(script)}\n`;
      if (update) writeFileSync(path, `${script}---\n${happened}`);
      else expect(happened).toBe(expected);
    },
    300_000,
  );
});
