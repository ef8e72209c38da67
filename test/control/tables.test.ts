// The literal tables: every cell filled, and the moves that must never happen.

import { describe, expect, test } from 'vitest';
import type { AlarmState } from '../../src/control/guard/types.ts';
import { ALARM_STATES, type AlarmEvent } from '../../src/control/process/alarm-states.ts';
import { hold, move, PROCEDURE, type ProcedureEvent } from '../../src/control/process/procedure.ts';
import { ACCEPTED, type Happening, happen, STAGES } from '../../src/control/process/stages.ts';
import type { BatchState, Procedure, Stage, UnitState } from '../../src/control/process/state.ts';
import { message } from '../../src/language/message.ts';
import { baseline } from './baseline.ts';

const PROCEDURES = Object.keys(PROCEDURE) as Procedure[];
const EVENTS = Object.keys(PROCEDURE.idle) as ProcedureEvent[];
const ALL_STAGES = Object.keys(STAGES) as Stage[];
const HAPPENINGS = Object.keys(STAGES.idle) as Happening[];

const unit = (procedure: Procedure, cause: UnitState['cause'] = null): UnitState => ({
  procedure,
  cause,
  words: message('nothing'),
  forMs: 0,
  freshMs: 0,
  restarts: 0,
});

describe('procedural states (ISA-88)', () => {
  test('every state has a cell for every event', () => {
    for (const procedure of PROCEDURES)
      expect(Object.keys(PROCEDURE[procedure]).sort()).toEqual([...EVENTS].sort());
    expect(PROCEDURES).toHaveLength(10);
  });

  test('nothing but start leads from idle to running, and nothing but restart out of held', () => {
    for (const event of EVENTS) {
      if (event !== 'start') expect(PROCEDURE.idle[event]).not.toBe('running');
      if (!['restart', 'stop', 'abort'].includes(event))
        expect(['ignore', 'refuse', 'impossible']).toContain(PROCEDURE.held[event]);
    }
  });

  test('aborted and stopped are left only by a reset (or, stopped, by an abort)', () => {
    for (const event of EVENTS) {
      if (event === 'reset') continue;
      expect(['ignore', 'refuse', 'impossible']).toContain(PROCEDURE.aborted[event]);
      if (event !== 'abort') expect(['ignore', 'refuse', 'impossible']).toContain(PROCEDURE.stopped[event]);
    }
  });

  test('finishing what does not run stops the core instead of passing unseen', () => {
    expect(() => move(unit('held'), 'done', message('nothing'))).toThrow(/broken/);
    expect(() => move(unit('idle'), 'done', message('nothing'))).toThrow(/broken/);
  });

  test('a weaker cause never loosens a stronger hold', () => {
    const held = unit('held', 'trip');
    hold(held, 'link', message('link-was-lost'));
    expect(held.cause).toBe('trip');
    const linked = unit('held', 'link');
    hold(linked, 'person', message('held-by-request'));
    expect(linked.cause).toBe('person');
  });
});

describe('stages of a batch', () => {
  test('every stage has a cell for every happening', () => {
    for (const stage of ALL_STAGES) expect(Object.keys(STAGES[stage]).sort()).toEqual([...HAPPENINGS].sort());
  });

  test('a stage of accepted water, heat and ready above all, is reached only through a measurement', () => {
    expect([ACCEPTED.heat, ACCEPTED.ready]).toEqual([true, true]);
    for (const stage of ALL_STAGES)
      for (const happening of HAPPENINGS) {
        const next = STAGES[stage][happening];
        if (next in ACCEPTED && ACCEPTED[next as Stage] && !ACCEPTED[stage])
          expect([stage, happening]).toEqual(['mix/measure', 'within']);
        if (next === 'ready') expect([stage, happening]).toEqual(['heat', 'warm']);
      }
  });

  test('leaving heat or ready for a trim makes the water unaccepted', () => {
    const batch: BatchState = { ...baseline('marram-point').draft().batch, accepted: true };
    expect(batch.stage).toBe('ready');
    happen(batch, 'below', message('salt-is-asked-for'));
    expect([batch.stage, batch.accepted]).toEqual(['mix/trim-salt', false]);
  });

  test('an impossible happening stops the core and says where', () => {
    const batch: BatchState = { ...baseline('marram-point').draft().batch, stage: 'idle' };
    expect(() => happen(batch, 'warm', message('nothing'))).toThrow(/'warm' in stage 'idle'/);
  });
});

describe('alarm states (ISA-18.2 / IEC 62682)', () => {
  const states = Object.keys(ALARM_STATES) as AlarmState[];
  const events = Object.keys(ALARM_STATES.normal) as AlarmEvent[];

  test('nine states, each with a cell for every event', () => {
    expect(states).toHaveLength(9);
    for (const state of states) expect(Object.keys(ALARM_STATES[state]).sort()).toEqual([...events].sort());
  });

  // biome-ignore format: a table reads as a table
  test.each<[AlarmState, AlarmEvent, AlarmState]>([
    ['normal', 'occur', 'unacknowledged'],
    ['unacknowledged', 'acknowledge', 'acknowledged'],
    ['unacknowledged', 'clear', 'returned-unacknowledged'],
    ['unacknowledged', 'latch', 'latched-unacknowledged'],
    ['acknowledged', 'clear', 'normal'],
    ['acknowledged', 'latch', 'latched-acknowledged'],
    ['returned-unacknowledged', 'acknowledge', 'normal'],
    ['returned-unacknowledged', 'occur', 'unacknowledged'],
    ['latched-unacknowledged', 'acknowledge', 'latched-acknowledged'],
    ['latched-acknowledged', 'reset', 'normal'],
    ['latched-acknowledged', 'occur', 'acknowledged'],
    ['shelved', 'return-active', 'unacknowledged'],
    ['out-of-service', 'return-clear', 'normal'],
    ['normal', 'suppress', 'suppressed-by-design'],
  ])('%s, %s -> %s', (from, event, to) => {
    expect(ALARM_STATES[from][event]).toBe(to);
  });

  test('an alarm that a person has not seen never becomes normal by itself', () => {
    for (const state of ['unacknowledged', 'returned-unacknowledged', 'latched-unacknowledged'] as const)
      for (const event of ['occur', 'clear', 'latch', 'reset'] as const)
        expect(ALARM_STATES[state][event]).not.toBe('normal');
  });
});
