// Messages to people: an alarm for each sink that does not take them, in both languages, and somebody who is on the way.
import { describe, expect, test } from 'vitest';
import { COMING_MOST_MS } from '../../src/control/guard/limits.ts';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { initial, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { englishOf } from '../../src/language/english.ts';
import { alarmText, told } from '../../src/language/told.ts';
import { baseline } from './baseline.ts';

const { plant } = baseline('marram-point');
const MINUTE = 60_000;

function life() {
  let state: State = initial(plant);
  const pass = (elapsedMs: number, inputs: Parameters<typeof step>[2]['inputs'] = []) => {
    const done = step(plant, state, { elapsedMs, inputs, tick: true });
    state = done.state;
    return told(englishOf(plant), done.effects);
  };
  return { pass, state: () => state };
}

describe('messages that do not arrive', () => {
  test('are an alarm for each sink, with what to do, until one arrives', () => {
    const { pass, state } = life();
    const begun = pass(1000, [{ type: 'sinks', failing: ['phone', 'mail'] }]);
    const alarms = begun.flatMap((effect) => (effect.do === 'alarm' ? [effect] : []));
    expect(alarms.map(({ alarm, state: is, priority }) => [alarm, is, priority])).toEqual([
      ['A-41/phone', 'unacknowledged', 'soon'],
      ['A-41/mail', 'unacknowledged', 'soon'],
    ]);
    const [phone] = alarms;
    expect(phone && alarmText(phone.message, phone.response)).toMatch(
      /^Messages to people do not arrive: phone\. Until this is mended, look at the station yourself.*next message that arrives\.$/,
    );
    pass(1000, [{ type: 'sinks', failing: ['mail'] }]);
    expect(state().alarms['A-41/phone']?.active).toBe(false);
    expect(state().alarms['A-41/mail']?.active).toBe(true);
    // What failed before a restart is tried anew.
    expect(restored(plant, state(), 1000).telling.failing).toEqual([]);
  });
});

describe('on my way', () => {
  const ask = (who: string, minutes: number) =>
    ({ type: 'request', id: 'r', request: { ask: 'on-my-way', who, minutes } }) as const;

  test('is kept with the name, runs out, and outlives a restart as long as it lasts', () => {
    const { pass, state } = life();
    pass(1000, [ask(' Ada ', 30)]);
    expect(statusOf(plant, state()).coming).toEqual({ who: 'Ada', minutes: 30 });
    pass(10 * MINUTE);
    expect(statusOf(plant, state()).coming).toEqual({ who: 'Ada', minutes: 20 });
    expect(restored(plant, state(), 15 * MINUTE).telling.coming?.leftMs).toBeLessThanOrEqual(5 * MINUTE);
    expect(restored(plant, state(), 25 * MINUTE).telling.coming).toBeNull();
    // A state file of before there was such a thing.
    const { telling: _, ...older } = state();
    expect(restored(plant, older as State, 0).telling).toEqual({ failing: [], coming: null });
    pass(20 * MINUTE);
    expect(statusOf(plant, state()).coming).toBeNull();
  });

  test.each([
    ['', 30, 'say who is on the way'],
    ['Ada', 0, 'say for how long'],
    ['Ada', Number.NaN, 'say for how long'],
    ['Ada', COMING_MOST_MS / MINUTE + 1, 'say for how long'],
  ])('%j for %d minutes is refused', (who, minutes, words) => {
    const { pass, state } = life();
    const [answer] = pass(1000, [ask(who, minutes)]).filter((effect) => effect.do === 'answer');
    expect(JSON.stringify(answer)).toContain(words);
    expect(state().telling.coming).toBeNull();
  });
});
