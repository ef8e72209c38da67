// What a person or a hub may ask, what is refused, and that a refusal changes nothing.

import { describe, expect, test } from 'vitest';
import { judge } from '../../src/control/guard/interlocks.ts';
import type { Effect, Request } from '../../src/control/guard/types.ts';
import { answer } from '../../src/control/process/requests.ts';
import type { State } from '../../src/control/process/state.ts';
import { say } from '../tools/english.ts';
import { baseline } from './baseline.ts';

const { plant, draft } = baseline('marram-point');

function ask(
  state: State,
  request: Request,
): { accepted: boolean; words: string; effects: readonly Effect[] } {
  const effects = answer(plant, state, 'test', request);
  const given = effects.find((effect) => effect.do === 'answer');
  if (given?.do !== 'answer') throw new Error('no answer');
  return { accepted: given.accepted, words: say(given.words), effects };
}

// biome-ignore format: a table reads as a table
const REFUSED: readonly (readonly [string, Request, RegExp])[] = [
  ['an alarm that is not there', { ask: 'acknowledge', alarm: 'I-02/fresh' }, /no unacknowledged alarm 'I-02\/fresh'/],
  ['a trip that is not there', { ask: 'reset-trip', trip: 'I-02/fresh' }, /no safety shutdown 'I-02\/fresh'/],
  ['resetting when nothing is latched', { ask: 'reset-trip', trip: 'all' }, /no safety shutdown to reset/],
  ['a measurement in a vessel that does not exist', { ask: 'salinity-measured', vessel: 'bath', salinity: 35, instrument: 'x' }, /no vessel 'bath'/],
  ['a salinity that no water has', { ask: 'salinity-measured', vessel: 'mixing', salinity: 350, instrument: 'x' }, /between 0 and 300/],
  ['an exchange of a system that does not exist', { ask: 'exchange-now', system: 'pond', volumeL: 10 }, /no water change for 'pond'/],
  ['an exchange of nothing', { ask: 'exchange-now', system: 'system', volumeL: 0 }, /more than 0 L/],
  ['an exchange larger than one request may be', { ask: 'exchange-now', system: 'system', volumeL: 99_999 }, /more than the \d+ L/],
  ['salt of no mass', { ask: 'salt-added', massKg: -1 }, /more than 0 and at most 10000 kg/],
  ['salt that nobody asked for, without a mass', { ask: 'salt-added', massKg: null }, /say how much/],
  ['a device that does not exist', { ask: 'out-of-service', device: 'ghost', reason: 'old' }, /no sensor or actuator 'ghost'/],
  ['taking a device out without a reason', { ask: 'out-of-service', device: 'drain-pump', reason: ' ' }, /a reason is needed/],
  ['returning a device that is in service', { ask: 'into-service', device: 'drain-pump' }, /not out of service/],
  ['starting what runs', { ask: 'start', unit: 'refill' }, /can't start while refill is \w+/],
  ['resetting what runs', { ask: 'reset', unit: 'batch' }, /can't reset while batch is running/],
];

describe('requests', () => {
  test.each(REFUSED)('%s is refused, says why, and changes nothing', (_, request, words) => {
    const state = draft();
    state.refill.procedure = 'running';
    const before = structuredClone(state);
    const given = ask(state, request);
    expect(given.accepted).toBe(false);
    expect(given.words).toMatch(words);
    expect(state).toEqual(before);
  });

  test('hold stops a unit for a person, and only restart sets it going again', () => {
    const state = draft();
    expect(ask(state, { ask: 'hold', unit: 'batch' }).accepted).toBe(true);
    expect([state.batch.procedure, state.batch.cause]).toEqual(['holding', 'person']);
    expect(ask(state, { ask: 'start', unit: 'batch' }).accepted).toBe(false);
    state.batch.procedure = 'held';
    expect(ask(state, { ask: 'restart', unit: 'batch' }).accepted).toBe(true);
    expect(state.batch.procedure).toBe('restarting');
  });

  test('a unit that a trip holds is not restarted before the trip is reset', () => {
    const state = draft();
    Object.assign(state.sensors['tray-leak'] as object, { value: true, believed: true });
    judge(plant, state, 0);
    Object.assign(state.batch, { procedure: 'held', cause: 'trip' });
    expect(ask(state, { ask: 'restart', unit: 'batch' }).accepted).toBe(false);
    Object.assign(state.sensors['tray-leak'] as object, { value: false, believed: false });
    expect(ask(state, { ask: 'reset-trip', trip: 'all' }).words).toMatch(/press Resume/);
    expect(ask(state, { ask: 'restart', unit: 'batch' }).accepted).toBe(true);
  });

  test('a reset refuses while the tray is still wet', () => {
    const state = draft();
    Object.assign(state.sensors['tray-leak'] as object, { value: true, believed: true });
    judge(plant, state, 0);
    const given = ask(state, { ask: 'reset-trip', trip: 'I-11/tray-leak' });
    expect(given.accepted).toBe(false);
    expect(given.words).toMatch(/still there: water detected/);
  });

  test('a stopped exchange that is reset begins a new ledger, so that its trip can be reset', () => {
    const state = draft();
    Object.assign(state.exchange.system as object, { procedure: 'stopped', differenceL: -100 });
    judge(plant, state, 0);
    expect(ask(state, { ask: 'reset-trip', trip: 'I-22/supply/far' }).words).toMatch(/still there/);
    expect(ask(state, { ask: 'reset', unit: 'exchange' }).accepted).toBe(true);
    expect(ask(state, { ask: 'reset-trip', trip: 'I-22/supply/far' }).accepted).toBe(true);
    judge(plant, state, 0);
    expect(state.trips).toEqual({});
  });

  test('salt that nobody asked for makes a ready batch unaccepted until it is measured again', () => {
    const state = draft();
    expect(state.batch.accepted).toBe(true);
    expect(ask(state, { ask: 'salt-added', massKg: 1 }).accepted).toBe(true);
    expect([state.batch.stage, state.batch.accepted]).toEqual(['mix/dissolve', false]);
  });

  test('an exchange on request adds up, within the largest that one request may be', () => {
    const state = draft();
    Object.assign(state.exchange.system as object, { procedure: 'running', cause: null });
    expect(ask(state, { ask: 'exchange-now', system: 'system', volumeL: 20 }).words).toBe('20 L to change');
    expect(ask(state, { ask: 'exchange-now', system: 'system', volumeL: 5 }).words).toBe('25 L to change');
  });

  test('a ready batch that is asked to start is topped up', () => {
    const state = draft();
    expect(state.batch.stage).toBe('ready');
    expect(ask(state, { ask: 'start', unit: 'batch' }).accepted).toBe(true);
    expect([state.batch.stage, state.batch.accepted]).toEqual(['transfer', false]);
  });

  test('a device that a person takes out of service forbids what needs it, until it returns', () => {
    const state = draft();
    ask(state, { ask: 'out-of-service', device: 'drain-pump', reason: 'new bearing' });
    judge(plant, state, 0);
    expect(state.verdicts.drain).toContain('I-32/drain-pump');
    ask(state, { ask: 'into-service', device: 'drain-pump' });
    judge(plant, state, 0);
    expect(state.verdicts.drain).toBeUndefined();
  });

  test('every answer is also put on record', () => {
    const { effects } = ask(draft(), { ask: 'acknowledge', alarm: 'all' });
    expect(effects.filter((effect) => effect.do === 'record')).toHaveLength(1);
  });
});
