// Valves that must move now and then: when they are, when they are not, and what is known afterwards.

import { describe, expect, test } from 'vitest';
import { judge } from '../../src/control/guard/interlocks.ts';
import { EXERCISE_PAUSE_MS } from '../../src/control/guard/limits.ts';
import { disturbing, exerciseOf } from '../../src/control/guard/row-kinds.ts';
import type { Effect, Input } from '../../src/control/guard/types.ts';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { movedBefore } from '../../src/control/process/exercise.ts';
import { restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Plant } from '../../src/station/plant.ts';
import { say } from '../tools/english.ts';
import { baseline } from './baseline.ts';
import { type Walk, walk } from './steps.ts';

const { plant, draft } = baseline('unequal-vats');
const DAY_MS = 86_400_000;
const VALVE = 'to-system';

/** Nothing held: the baseline holds the exchange of water. */
function quiet(days: number, on: Plant = plant): State {
  const state = draft();
  for (const work of Object.values(state.exchange)) Object.assign(work, { procedure: 'idle', cause: null });
  return movedBefore(on, state, { [VALVE]: days * DAY_MS });
}
const ons = (effects: readonly Effect[]): string[] =>
  effects.flatMap((effect) => (effect.do === 'command' && effect.on ? [effect.actuator] : []));
const said = (effects: readonly Effect[]): string[] =>
  effects.flatMap((effect) =>
    effect.do === 'record' && effect.about === 'exercise' ? [say(effect.words).replace(/^.*?: /, '')] : [],
  );
const phase = (at: Walk) => at.state.exercises.run?.phase ?? null;
const stuck = (on: boolean): readonly Input[] => [{ type: 'feedback', actuator: VALVE, on, live: true }];

describe('the exercise of a valve', () => {
  test('opens it under its lease, for its time, and shuts it; nothing else is told to be on', () => {
    const at = walk(plant, quiet(31));
    at.wait(12);
    expect(ons(at.effects)).toEqual([VALVE]);
    const commands = at.effects.filter((e) => e.do === 'command' && e.actuator === VALVE);
    expect(commands[0]).toMatchObject({ on: true, leaseMs: plant.actuators[VALVE]?.leaseMs });
    expect(said(at.effects)).toEqual(['begins', 'done: it opened and shut']);
    expect(at.state.exercises.sinceMs[VALVE]).toBeLessThan(DAY_MS);
    expect(at.state.devices[VALVE]).toMatchObject({ on: false, provenOff: true });
    at.wait(120);
    expect(ons(at.effects), 'once').toEqual([VALVE]);
  });

  test('is not due a minute too early, and due when its period is over', () => {
    const at = walk(plant, movedBefore(plant, quiet(0), { [VALVE]: 30 * DAY_MS - 90_000 }));
    at.wait(59);
    expect(ons(at.effects)).toEqual([]);
    at.wait(120);
    expect(ons(at.effects)).toEqual([VALVE]);
  });

  test('needs no exercise if it works: opened and shut by a route, its time begins anew', () => {
    const state = quiet(20);
    state.devices[VALVE] = {
      ...(state.devices[VALVE] as State['devices'][string]),
      on: true,
      provenOff: false,
    };
    const at = walk(plant, state);
    at.wait(3);
    expect(at.state.exercises.sinceMs[VALVE]).toBeLessThan(10_000);
    expect(said(at.effects)).toEqual([]);
  });

  test('that was only told to move has not moved', () => {
    const state = quiet(20);
    state.devices[VALVE] = {
      ...(state.devices[VALVE] as State['devices'][string]),
      on: true,
      provenOff: false,
    };
    const at = walk(plant, state);
    at.go(stuck(false));
    at.go(stuck(false));
    expect(at.state.exercises.sinceMs[VALVE]).toBe(20 * DAY_MS);
  });

  const WAITS: readonly (readonly [string, (state: State) => void])[] = [
    [
      'the pump is not proven off',
      (s) => Object.assign(s.devices.pump as object, { offsSent: 0, provenOff: false }),
    ],
    ['a person holds what uses it', (s) => Object.assign(s.batch, { procedure: 'held', cause: 'person' })],
    ['what uses it was stopped', (s) => Object.assign(s.batch, { procedure: 'stopped' })],
    ['it is out of service', (s) => Object.assign(s.outOfService, { [VALVE]: 'rewired' })],
    ['a trip is latched on its way', (s) => Object.assign(s.trips, { 'I-11/pump-leak': 0 })],
    [
      'a row is bypassed',
      (s) => (s.bypasses = { 'I-29/refill': { leftMs: 60_000, reason: 'known', who: 'Ada' } }),
    ],
    ['there is a pause', (s) => (s.exercises = { ...s.exercises, pauseMs: EXERCISE_PAUSE_MS })],
    [
      'it is not proven shut itself',
      (s) => Object.assign(s.devices[VALVE] as object, { offsSent: 0, sinceSentMs: 0 }),
    ],
  ];
  test.each(WAITS)('waits while %s', (why, make) => {
    const state = quiet(31);
    make(state);
    judge(plant, state, 0);
    const at = walk(plant, state);
    at.go();
    expect(at.state.exercises.run, why).toBeNull();
    expect(ons(at.effects)).not.toContain(VALVE);
  });

  test('never begins beside a way that is wanted, and keeps every such way off while it lasts', () => {
    const one = plant.exercises[VALVE] as Plant['exercises'][string];
    expect(disturbing(plant, one)).toEqual(expect.arrayContaining(['transfer', 'circulate', 'supply']));
    const state = quiet(31);
    // Circulation is due in the middle of it.
    state.batch.sinceCirculatedMs = plant.process.batch.circulateEveryMs - 3_000;
    const at = walk(plant, state);
    let both = 0;
    for (let second = 0; second < 60; second += 1) {
      at.go();
      const { devices } = at.state;
      if (devices[VALVE]?.on && devices.pump?.on) both += 1;
      if (devices[VALVE]?.on) expect(devices['draw-mixing']?.on).toBe(false);
    }
    expect(both).toBe(0);
    expect(ons(at.effects)).toEqual(expect.arrayContaining([VALVE, 'pump']));
  });

  test('ends at once when anything matters more, and rests for an hour', () => {
    const at = walk(plant, quiet(31));
    at.wait(3);
    expect(phase(at)).toBe('open');
    const effects = at.go([{ type: 'reading', sensor: 'pump-leak', value: true, live: true }]);
    expect(effects).toContainEqual({ do: 'command', actuator: VALVE, on: false, leaseMs: 0 });
    at.wait(3);
    expect(said(at.effects)).toEqual([
      'begins',
      'was ended early: something else was more important',
      'ended: it is proven shut',
    ]);
    // Broken off or not: it was seen to open and to shut.
    expect(at.state.exercises.sinceMs[VALVE]).toBe(0);
    expect(at.state.exercises.pauseMs).toBe(EXERCISE_PAUSE_MS);
  });

  test.each([
    ['reports on', { type: 'feedback', actuator: 'pump', on: true, live: true }],
    ['falls silent', { type: 'bad-feedback', actuator: 'pump', reason: 'offline' }],
    [
      'is switched on by somebody else',
      { type: 'foreign-command', actuator: 'pump', on: true, retained: false },
    ],
  ] as const)('ends at once when the pump %s', (_, input) => {
    const at = walk(plant, quiet(31));
    at.wait(3);
    expect(at.go([input])).toContainEqual({ do: 'command', actuator: VALVE, on: false, leaseMs: 0 });
  });

  test('ends when a person holds what uses it', () => {
    const at = walk(plant, quiet(31));
    at.wait(3);
    at.ask({ ask: 'hold', unit: 'batch' });
    at.wait(3);
    expect(at.state.devices[VALVE]?.on).toBe(false);
    expect(said(at.effects)).toContain('was ended early: something else was more important');
  });

  test('of a valve that does not open: seized, told, off again, and moved for real ends that', () => {
    const at = walk(plant, quiet(31));
    for (let i = 0; i < 60; i += 1) at.go(stuck(false));
    expect(said(at.effects)).toEqual([
      'begins',
      'failed: it was not seen to open',
      'ended: it is proven shut',
    ]);
    expect(at.state.alarms[`A-06/${VALVE}`]).toMatchObject({ state: 'unacknowledged', priority: 'soon' });
    expect(at.state.devices[VALVE]?.on).toBe(false);
    expect(at.state.trips[`I-23/${VALVE}/stays-off`]).toBeDefined();
    expect(statusOf(plant, at.state).exercises[VALVE]?.standing).toBe('seized');
    expect(at.ask({ ask: 'valve-moved', valve: VALVE, who: 'Ada' })).toMatch(/begins again/);
    expect(at.state.alarms[`A-06/${VALVE}`]?.state).toBe('returned-unacknowledged');
    expect(statusOf(plant, at.state).exercises[VALVE]?.standing).toBe('moved');
  });

  test('of a valve that does not shut: seized, and what touches its ways stays off', () => {
    const at = walk(plant, quiet(31));
    at.wait(3);
    for (let i = 0; i < 60; i += 1) at.go(stuck(true));
    expect(said(at.effects)).toEqual(['begins', 'failed: it was not seen to shut']);
    expect(at.state.exercises.seized).toEqual({ [VALVE]: 'open' });
    expect(at.state.verdicts.transfer).toContain(`I-35/${VALVE}`);
    expect(say(at.state.alarms[`A-06/${VALVE}`]?.words)).toMatch(/seized open/);
  });

  test('that was never safe becomes a notice after a quarter of its period more', () => {
    const held = quiet(36);
    Object.assign(held.batch, { procedure: 'held', cause: 'person' });
    const at = walk(plant, held);
    at.wait(2);
    expect(Object.keys(at.state.alarms)).not.toContain(`A-07/${VALVE}`);
    at.state = movedBefore(plant, at.state, { [VALVE]: 38 * DAY_MS });
    at.go();
    expect(at.state.alarms[`A-07/${VALVE}`]).toMatchObject({ state: 'unacknowledged', priority: 'notice' });
  });

  test('that a restart interrupts has no result, and counts on the time away', () => {
    const at = walk(plant, quiet(31));
    at.wait(3);
    const { exercises } = restored(plant, at.state, 3_600_000);
    expect(exercises.run).toMatchObject({ phase: 'closing', broken: true });
    expect(exercises.pendingMs).toBeGreaterThanOrEqual(3_600_000);
  });
});

describe('a valve that only a person moves', () => {
  const own = {
    ...plant.exercises[VALVE],
    byHand: 'nothing proves that it moves',
  } as Plant['exercises'][string];
  const tap = { ...own, id: 'tap', name: 'the ball valve', actuator: null, others: [] };
  const manual: Plant = { ...plant, exercises: { [VALVE]: own, tap } };

  test('is asked of a person when it is due, is never commanded, and a confirmation is all it takes', () => {
    const at = walk(manual, movedBefore(manual, quiet(31, manual), { tap: 31 * DAY_MS }));
    at.wait(130);
    expect(ons(at.effects)).not.toContain(VALVE);
    for (const id of [VALVE, 'tap']) {
      expect(at.state.verdicts[exerciseOf(id)]).toBeUndefined();
      expect(at.state.alarms[`A-07/${id}`]?.state).toBe('unacknowledged');
      expect(at.ask({ ask: 'valve-moved', valve: id, who: ' ' })).toMatch(/refused: say who/);
      expect(at.ask({ ask: 'valve-moved', valve: id, who: 'Ada' })).toMatch(/noted/);
      expect(at.state.alarms[`A-07/${id}`]?.state).toBe('returned-unacknowledged');
    }
    expect(at.ask({ ask: 'valve-moved', valve: 'pump', who: 'Ada' })).toMatch(/refused: there is no valve/);
  });
});
