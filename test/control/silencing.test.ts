// Alarms in the nine states of ISA-18.2 / IEC 62682: every state x every event, what a person may silence and for how long,
// that nothing of it touches an interlock, and when alarms count as a flood.
import { describe, expect, test } from 'vitest';
import { ALARM_QUIET_MS, FLOOD_ALARMS, FLOOD_MS, SHELVE_MOST_MS } from '../../src/control/guard/limits.ts';
import type { AlarmState } from '../../src/control/guard/types.ts';
import { ALARM_STATES, type AlarmEvent, returned } from '../../src/control/process/alarm-states.ts';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { baseline } from './baseline.ts';
import { walk } from './steps.ts';

const { plant, draft } = baseline('marram-point');
const LEAK = 'I-11/tray-leak';
const shelve = (alarm: string, minutes = 30) =>
  ({ ask: 'shelve', alarm, minutes, reason: 'known', who: 'Ada' }) as const;
const out = (alarm: string) =>
  ({ ask: 'alarm-out-of-service', alarm, reason: 'rewired', who: 'Ada' }) as const;

/** N normal, B unacknowledged, C acknowledged, D returned, E and F latched, G shelved, H suppressed, I out of service. */
const LETTERS: Readonly<Record<string, AlarmState>> = {
  N: 'normal',
  B: 'unacknowledged',
  C: 'acknowledged',
  D: 'returned-unacknowledged',
  E: 'latched-unacknowledged',
  F: 'latched-acknowledged',
  G: 'shelved',
  H: 'suppressed-by-design',
  I: 'out-of-service',
};
// biome-ignore format: a table reads as a table
const EXPECTED: Readonly<Record<AlarmEvent, string>> = {
  //                 N B C D E F G H I
  occur:            'B B C B B C G H I',
  clear:            'N D N D D N G H I',
  latch:            'N E F E E F G H I',
  acknowledge:      'N C C N F F G H I',
  reset:            'N B C D D N G H I',
  shelve:           'G G G G G G G H I',
  suppress:         'H H H H H H H H I',
  out:              'I I I I I I I I I',
  'return-active':  'B B C B B C B B B',
  'return-latched': 'E E F E E F E E E',
  'return-clear':   'N D N D E F N N N',
};

describe('every state x every event', () => {
  const states = Object.values(LETTERS);
  const cells = Object.entries(EXPECTED).flatMap(([event, row]) =>
    row.split(' ').map((letter, at) => [states[at], event, LETTERS[letter]] as const),
  );

  test.each(cells)('%s, %s -> %s', (from, event, to) => {
    expect(ALARM_STATES[from as AlarmState][event as AlarmEvent]).toBe(to);
  });

  test('are 99, and no more', () => {
    expect(cells).toHaveLength(99);
    for (const state of states)
      expect(Object.keys(ALARM_STATES[state]).toSorted()).toEqual(Object.keys(EXPECTED).toSorted());
  });

  test.each(['shelved', 'suppressed-by-design', 'out-of-service'] as const)(
    '%s is left for the state that the condition dictates, never blindly for normal',
    (state) => {
      expect(returned(state, true, false)).toBe('unacknowledged');
      expect(returned(state, true, true)).toBe('unacknowledged');
      expect(returned(state, false, true)).toBe('latched-unacknowledged');
      expect(returned(state, false, false)).toBe('normal');
    },
  );
});

describe('shelving', () => {
  test('silences the alarm and never the interlock: a wet tray trips everything all the same', () => {
    const at = walk(plant, draft());
    expect(at.ask(shelve(LEAK))).toMatch(
      /shelved for 30 min. Only the message is silenced; the interlock stays active/,
    );
    at.says('tray-leak', true);
    expect(at.state.trips[LEAK]).toBeDefined();
    expect(Object.keys(at.state.verdicts).toSorted()).toEqual(
      [...Object.keys(plant.routes), ...Object.keys(plant.heaters)].toSorted(),
    );
    expect(at.state.alarms[LEAK]).toMatchObject({ state: 'shelved', active: true, silenced: 'known (Ada)' });
    expect(statusOf(plant, at.state).alarms).toContainEqual(
      expect.objectContaining({ alarm: LEAK, state: 'shelved', shelvedMinutes: 30 }),
    );
  });

  test('ends by itself, for the state that the condition dictates', () => {
    const wet = walk(plant, draft());
    wet.ask(shelve(LEAK, 1));
    wet.says('tray-leak', true);
    wet.wait(60);
    expect(wet.state.alarms[LEAK]).toMatchObject({ state: 'unacknowledged', silenced: '' });

    const dried = walk(plant, draft());
    dried.says('tray-leak', true);
    dried.ask(shelve(LEAK, 1));
    dried.says('tray-leak', false);
    dried.wait(61);
    expect(dried.state.alarms[LEAK]?.state).toBe('latched-unacknowledged');

    const nothing = walk(plant, draft());
    nothing.ask(shelve(LEAK, 1));
    nothing.wait(61);
    expect(nothing.state.alarms[LEAK]).toBeUndefined();
  });

  test('goes on counting while the service is away', () => {
    const at = walk(plant, draft());
    at.says('tray-leak', true);
    at.ask(shelve(LEAK, 10));
    const back = walk(plant, restored(plant, at.state, 11 * 60_000));
    back.go();
    expect(back.state.alarms[LEAK]?.state).toBe('latched-unacknowledged');
  });

  test('ends on request', () => {
    const at = walk(plant, draft());
    at.says('tray-leak', true);
    at.ask(shelve(LEAK));
    expect(at.ask({ ask: 'unshelve', alarm: LEAK })).toBe(`${LEAK} is reported again`);
    expect(at.state.alarms[LEAK]?.state).toBe('unacknowledged');
    expect(at.ask({ ask: 'unshelve', alarm: LEAK })).toMatch(/refused: '.*' is not shelved/);
  });

  test.each([
    ['an alarm that there is not', shelve('I-11/attic'), /no alarm/],
    ['a row that raises none', shelve('I-01/refill'), /no alarm/],
    ['no time', shelve(LEAK, 0), /1 to 60 min/],
    ['longer than its priority bears', shelve(LEAK, SHELVE_MOST_MS.urgent / 60_000 + 1), /1 to 60 min/],
    ['longer than a shift', shelve('I-29/refill', 481), /1 to 480 min/],
    ['no reason', { ...shelve(LEAK), reason: ' ' }, /a reason is needed/],
    ['nobody', { ...shelve(LEAK), who: ' ' }, /say who/],
  ])('for %s is refused', (_, request, words) => {
    const at = walk(plant, draft());
    expect(at.ask(request)).toMatch(words);
    const silenced = ({ alarms }: State) =>
      Object.entries(alarms).map(([alarm, { state, shelvedMs, silenced: why }]) => [
        alarm,
        state,
        shelvedMs,
        why,
      ]);
    expect(silenced(at.state)).toEqual(silenced(walk(plant, draft()).state));
  });
});

describe('out of service, and suppressed by design', () => {
  test('an alarm out of service stays silent until it is returned, and its row protects', () => {
    const at = walk(plant, draft());
    at.ask(out(LEAK));
    at.says('tray-leak', true);
    at.wait(600);
    expect(at.state.alarms[LEAK]?.state).toBe('out-of-service');
    expect(at.state.verdicts.drain).toContain(LEAK);
    expect(at.ask(shelve(LEAK))).toMatch(/refused: this alarm is silent already: out-of-service/);
    expect(at.ask({ ask: 'alarm-into-service', alarm: LEAK })).toBe(`${LEAK} is reported again`);
    expect(at.state.alarms[LEAK]?.state).toBe('unacknowledged');
    expect(at.ask({ ask: 'alarm-into-service', alarm: LEAK })).toMatch(/refused/);
  });

  test('the silence of a sensor that a person took out of service is no news, and is again once it is back', () => {
    const at = walk(plant, draft());
    at.ask({ ask: 'out-of-service', device: 'fresh-high', reason: 'being cleaned' });
    at.wait(60);
    expect(at.state.verdicts.refill).toContain('I-12/fresh-high');
    expect(at.state.alarms['I-12/fresh-high']?.state).toBe('suppressed-by-design');
    at.state = structuredClone(at.state);
    at.ask({ ask: 'into-service', device: 'fresh-high' });
    expect(at.state.alarms['I-12/fresh-high']?.state).not.toBe('suppressed-by-design');
  });
});

describe('delays', () => {
  test('delay an alarm and never a row: a silent leak sensor forbids at once and is told after half a minute', () => {
    const at = walk(plant, draft());
    const gone = structuredClone(at.state);
    Object.assign(gone.sensors['tray-leak'] as object, { value: null });
    at.state = gone;
    at.go();
    expect(at.state.verdicts.drain).toContain('I-13/tray-leak');
    expect(at.state.alarms['I-13/tray-leak']?.state).toBe('normal');
    at.wait(31);
    expect(at.state.alarms['I-13/tray-leak']?.state).toBe('unacknowledged');
  });

  test('a trip is latched and told in the step that sees its cause', () => {
    const at = walk(plant, draft());
    const effects = at.go([{ type: 'reading', sensor: 'tray-leak', value: true, live: true }]);
    expect(at.state.trips[LEAK]).toBe(0);
    expect(effects).toContainEqual(
      expect.objectContaining({ do: 'alarm', alarm: LEAK, state: 'unacknowledged' }),
    );
  });

  test('an alarm that is not a trip is gone only after three quiet minutes', () => {
    const at = walk(plant, draft());
    const starved = structuredClone(at.state);
    Object.assign(starved.routes.refill as object, { starvedMs: 2_000 });
    at.state = starved;
    at.go();
    expect(at.state.alarms['I-07/refill/starved']?.state).toBe('unacknowledged');
    at.wait(ALARM_QUIET_MS / 1_000 - 2);
    expect(at.state.alarms['I-07/refill/starved']?.state).toBe('unacknowledged');
    at.wait(5);
    expect(at.state.alarms['I-07/refill/starved']?.state).toBe('returned-unacknowledged');
  });
});

describe('how many alarms come', () => {
  const load = (announced: readonly (readonly [string, number])[]) =>
    statusOf(plant, {
      ...draft(),
      announced: announced.map(([alarm, seconds]) => ({ alarm, agoMs: seconds * 1_000 })),
    }).alarmLoad;
  const many = (count: number) => Array.from({ length: count }, (_, at) => [`A-0${at}`, 500] as const);

  test('more than ten in ten minutes are a flood (ISA-18.2)', () => {
    expect(load(many(FLOOD_ALARMS))).toMatchObject({ inTenMinutes: 10, flood: false });
    expect(load(many(FLOOD_ALARMS + 1))).toMatchObject({ inTenMinutes: 11, flood: true });
  });

  test('the same three times in a minute chatters; over a longer time, or different ones, do not', () => {
    expect(
      load([
        ['a', 50],
        ['a', 30],
        ['a', 0],
      ]).chattering,
    ).toEqual(['a']);
    expect(
      load([
        ['a', 61],
        ['a', 30],
        ['a', 0],
      ]).chattering,
    ).toEqual([]);
    expect(
      load([
        ['a', 50],
        ['b', 30],
        ['c', 0],
      ]).chattering,
    ).toEqual([]);
  });

  test('what was announced is counted, and forgotten after ten minutes', () => {
    const at = walk(plant, draft());
    at.says('tray-leak', true);
    expect(at.state.announced.map(({ alarm }) => alarm)).toContain(LEAK);
    at.wait(FLOOD_MS / 1_000);
    expect(at.state.announced.map(({ alarm }) => alarm)).not.toContain(LEAK);
  });

  test('an alarm that stands for more than a day is stale', () => {
    const at = walk(plant, draft());
    at.says('tray-leak', true);
    const later = structuredClone(at.state);
    Object.assign(later.alarms[LEAK] as object, { forMs: 86_400_001 });
    expect(statusOf(plant, later).alarmLoad.stale).toEqual([LEAK]);
  });
});
