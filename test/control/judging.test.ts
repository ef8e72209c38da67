// From rows to verdicts by themselves: which rows a plumbing has, what is blind, how a verdict adds up and what a trip
// latches. The table's own entries are tried in rows.test.ts.

import { beforeEach, describe, expect, test } from 'vitest';
import {
  deriveRows,
  forbiddenBy,
  isAllowed,
  judge,
  type Row,
  rowOf,
} from '../../src/control/guard/interlocks.ts';
import { AGE_CAP_MS } from '../../src/control/guard/limits.ts';
import { NEVER } from '../../src/control/guard/row-kinds.ts';
import { initial } from '../../src/control/process/initial.ts';
import { message } from '../../src/language/message.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';

const loaded = plantAt('schemas/examples/marram-point.json');
// One of its own for each test: what follows from a plumbing is worked out once for a plant.
let plant: Plant = loaded;
beforeEach(() => {
  plant = { ...loaded };
});

/** A plant of its own in which no row holds by itself. */
function quiet(): { plant: Plant; row: (key: string) => Row; hold: (key: string, holds: boolean) => void } {
  const own = { ...plant };
  for (const row of deriveRows(own)) Object.assign(row, { holds: () => false });
  const row = (key: string): Row => {
    const found = rowOf(own, key);
    if (!found) throw new Error(key);
    return found;
  };
  return { plant: own, row, hold: (key, holds) => Object.assign(row(key), { holds: () => holds }) };
}

describe('rows of a plumbing', () => {
  let rows: readonly Row[] = [];
  let blind: readonly Row[] = [];
  beforeEach(() => {
    rows = deriveRows(plant);
    blind = rows.filter(({ id }) => id === 'I-12');
  });

  test('each stands at its place, under a key of its kind and its subject', () => {
    expect(rows.map(({ place }) => place)).toEqual(rows.map((_, place) => place));
    expect(rowOf(plant, 'I-05/transfer')).toMatchObject({
      id: 'I-05',
      about: message('the-route', { route: 'transfer' }),
    });
    expect(rowOf(plant, 'I-23/transfer-pump/stays-on')).toMatchObject({
      id: 'I-23',
      about: message('the-device', { device: 'transfer-pump' }),
    });
    expect(rowOf(plant, 'I-99/transfer')).toBeUndefined();
    expect(deriveRows(plant)).toBe(rows);
  });

  test('a trip holds its phases as a trip, a block as its kind says or not at all', () => {
    for (const row of rows.filter(({ action }) => action === 'trip')) expect(row.cause, row.key).toBe('trip');
    expect(rows.find(({ id }) => id === 'I-25')?.cause).toBe('link');
    expect(rowOf(plant, 'I-01/refill')).toMatchObject({ cause: null, priority: null, afterMs: 0 });
    expect(rows.find(({ id }) => id === 'I-25')).toMatchObject({ priority: 'soon', afterMs: 10_000 });
  });

  test('what a target needs and can not hear is blind, and nothing else', () => {
    expect(Object.fromEntries(blind.map(({ about, forbids }) => [say(about), forbids]))).toEqual({
      'Fresh vat, high float': ['refill'],
      'Mixing vat, high float': ['transfer'],
      'Fresh vat, overflow float': ['refill'],
      'Mixing vat, overflow float': ['transfer', 'circulate'],
      'Sump, overflow float': ['supply'],
      'Fresh vat, low float': ['transfer'],
      'Mixing vat, low float': ['circulate', 'supply', 'heater'],
      'Transfer meter': ['transfer'],
      'Supply meter': ['supply'],
      'Drain meter': ['drain'],
      'Inlet meter': ['refill'],
      'Mixing vat, temperature': ['heater', 'supply'],
      'Mixing vat, conductivity': ['supply'],
      'Sump, high float': ['supply'],
      'Sump, low float': ['drain'],
      'Sump, its own top-off': ['drain'],
      'the feedback of Master shut-off': ['refill'],
      'the feedback of Inlet valve': ['refill'],
      'the feedback of Pump contactor': ['transfer', 'circulate', 'supply', 'drain'],
      'the feedback of Transfer pump': ['transfer'],
      'the feedback of Circulation pump': ['circulate'],
      'the feedback of Supply pump': ['supply'],
      'the feedback of Drain pump': ['drain'],
      'the feedback of Heater contactor': ['heater'],
      'the feedback of Heater relay': ['heater'],
    });
  });

  test('what is blind blocks, is told after half a minute, and is never bypassed', () => {
    for (const row of blind)
      expect(row).toMatchObject({
        hazard: message('hazard-blind'),
        hardware: message('hardware-none'),
        action: 'block',
        pattern: message('pattern-silent'),
        reset: message('reset-by-itself-live'),
        bypass: NEVER.blind,
        needs: [],
        priority: 'soon',
        afterMs: 30_000,
        cause: null,
        proof: null,
        proves: null,
        unproven: message('unproven-supervises'),
      });
  });

  test('it holds until the sensor or the feedback is fresh', () => {
    const state = initial(plant);
    const sensor = rowOf(plant, 'I-12/fresh-high');
    expect(sensor?.holds(state)).toBe(true);
    Object.assign(state.sensors['fresh-high'] as object, {
      value: true,
      believed: true,
      live: true,
      ageMs: 0,
    });
    expect(sensor?.holds(state)).toBe(false);
    const feedback = rowOf(plant, 'I-12/inlet-valve');
    expect(feedback?.holds(state)).toBe(true);
    Object.assign(state.devices['inlet-valve'] as object, {
      feedback: false,
      feedbackLive: true,
      feedbackAgeMs: 0,
    });
    expect(feedback?.holds(state)).toBe(false);
  });

  test('a device without feedback, or that no target needs, is never blind', () => {
    expect(rowOf(plant, 'I-12/top-off-inhibit')).toBeUndefined();
    const idle = structuredClone(plant);
    const spare = { ...structuredClone(idle.actuators['drain-pump']), id: 'spare', upstream: null };
    Object.assign(idle.actuators, { spare });
    expect(rowOf(idle, 'I-12/drain-pump')).toBeDefined();
    expect(rowOf(idle, 'I-12/spare')).toBeUndefined();
  });

  test('it holds where its kind says so', () => {
    const state = initial(plant);
    Object.assign(state.link, { up: true, echoAgeMs: 0 });
    const link = rows.find(({ id }) => id === 'I-25');
    expect(link?.holds(state)).toBe(false);
    state.link.up = false;
    expect(link?.holds(state)).toBe(true);
  });

  test('a row that a contact proves tells how; one without says why', () => {
    expect(rowOf(plant, 'I-02/fresh')).toMatchObject({
      proves: 'fresh-overflow',
      unproven: message('nothing'),
    });
    expect(say(rowOf(plant, 'I-02/fresh')?.proof)).toMatch(/\w/u);
    for (const row of rows) {
      expect(row.proves === null || row.proof !== null, row.key).toBe(true);
      const why = say(row.unproven);
      expect(row.proof === null ? why.length > 10 : why === '', row.key).toBe(true);
    }
  });
});

describe('verdicts', () => {
  /** Forbidden by this row alone, all that it forbids. */
  const all = ({ key, forbids }: Row) => Object.fromEntries(forbids.map((target) => [target, [key]]));

  test('nothing holds: everything is allowed', () => {
    const { plant: own } = quiet();
    const state = initial(own);
    expect(judge(own, state, 0)).toEqual([]);
    expect(state.verdicts).toEqual({});
    expect(isAllowed(state, 'refill')).toBe(true);
    expect(forbiddenBy(state, 'refill')).toEqual([]);
  });

  test('several rows add up in the order of the table, and others stay allowed', () => {
    const { plant: own, hold } = quiet();
    const state = initial(own);
    hold('I-12/fresh-high', true);
    hold('I-01/refill', true);
    expect(judge(own, state, 0).map(({ key }) => key)).toEqual(['I-01/refill', 'I-12/fresh-high']);
    expect(forbiddenBy(state, 'refill')).toEqual(['I-01/refill', 'I-12/fresh-high']);
    expect(isAllowed(state, 'refill')).toBe(false);
    expect(isAllowed(state, 'transfer')).toBe(true);
    expect(state.trips).toEqual({});
  });

  test('a block ends with its cause, a trip stays, ages, and holds only while its cause stands', () => {
    const { plant: own, row, hold } = quiet();
    const state = initial(own);
    hold('I-01/refill', true);
    hold('I-07/transfer', true);
    judge(own, state, 1_000);
    expect(state.trips).toEqual({ 'I-07/transfer': 0 });
    hold('I-01/refill', false);
    hold('I-07/transfer', false);
    expect(judge(own, state, 1_000)).toEqual([]);
    expect(state.trips).toEqual({ 'I-07/transfer': 1_000 });
    expect(state.verdicts).toEqual(all(row('I-07/transfer')));
    hold('I-07/transfer', true);
    judge(own, state, 500);
    expect(state.trips).toEqual({ 'I-07/transfer': 1_500 });
    judge(own, state, AGE_CAP_MS);
    expect(state.trips).toEqual({ 'I-07/transfer': AGE_CAP_MS });
  });

  test('a bypassed block forbids nothing and is still seen; a trip is not bypassed by it', () => {
    const { plant: own, row, hold } = quiet();
    const state = initial(own);
    const bypass = { leftMs: 1, reason: 'r', who: 'w' };
    state.bypasses = { 'I-01/refill': bypass, 'I-07/transfer': bypass };
    hold('I-01/refill', true);
    hold('I-07/transfer', true);
    expect(judge(own, state, 0).map(({ key }) => key)).toEqual(['I-01/refill', 'I-07/transfer']);
    expect(state.verdicts).toEqual(all(row('I-07/transfer')));
  });

  test('rows about proof tests are asked while one is under way or far too late', () => {
    const { plant: own, row } = quiet();
    const tests = deriveRows(own).find((each) => each.tests !== undefined);
    if (!tests) throw new Error('no proof test');
    Object.assign(row(tests.key), { holds: () => true });
    const state = initial(own);
    expect(judge(own, state, 0)).toEqual([]);
    state.proofs.beyondGrace = 1;
    expect(judge(own, state, 0)).toEqual([tests]);
    state.proofs = { ...state.proofs, beyondGrace: 0, test: {} as NonNullable<typeof state.proofs.test> };
    expect(judge(own, state, 0)).toEqual([tests]);
  });
});
