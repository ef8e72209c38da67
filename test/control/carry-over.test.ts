// What becomes of a saved state when the station file, or the release, is another one: what still has its place is there,
// and what has none is named, so that row I-36 stops everything until a person has looked.

import { describe, expect, test } from 'vitest';
import { judge } from '../../src/control/guard/interlocks.ts';
import { quiet } from '../../src/control/process/alarms.ts';
import { forgetful, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { message } from '../../src/language/message.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plumbingOf } from '../../src/station/plumbing.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { baseline } from './baseline.ts';

const FILE = 'schemas/examples/marram-point.json';
const { plant, draft } = baseline('marram-point');
const changed = (file: Readonly<Record<string, unknown>>): Plant => plantAt(FILE, file);
const isSame = (own: Plant): boolean => JSON.stringify(plumbingOf(own)) === JSON.stringify(plumbingOf(plant));
const back = (own: Plant, saved: State, gapMs: number | null = 60_000): State =>
  restored(own, saved, gapMs, isSame(own));
/** The first step after the start: with nothing heard yet. */
const judged = (own: Plant, state: State): State =>
  step(own, state, { elapsedMs: 0, inputs: [], tick: true }).state;

const RENAMED = changed({ '/name': 'Another name', '/id': 'another-id' });

/** Of everything that must outlive a change there is one. */
const full = (): State => {
  const state = draft();
  state.trips = { 'I-11/tray-leak': 5_000 };
  state.outOfService = { 'mixing-high': 'cable broken' };
  state.bypasses = { 'I-13/sump-leak': { leftMs: 3_600_000, reason: 'new battery comes', who: 'Ada' } };
  state.proofs = {
    ...state.proofs,
    sinceStartMs: 7_000,
    sinceMs: { 'I-02/fresh': 6_000 },
    failed: { 'I-05/transfer': message('contact-said-nothing') },
  };
  Object.assign(state.alarms, {
    'I-21/supply': { ...alarm(), state: 'out-of-service', silenced: 'the pump is away (Ada)' },
  });
  return state;
};
const alarm = () =>
  ({
    ...quiet('soon', message('system-high', { vessel: 'system' }), message('nothing')),
    state: 'unacknowledged',
    active: true,
  }) as const;

describe('a start with a changed station file', () => {
  test.each([
    ['nothing', plant],
    ['its name and its id', RENAMED],
    ['what it aims at', changed({ '/process/salinity/target': '34 PSU', '/process/reserve': '30 %' })],
    ['when it stops at night', changed({ '/process/quietHours/from': '22:00' })],
  ])('in which %s is changed: everything goes over, contents and the ready batch too', (_, own) => {
    expect(isSame(own)).toBe(true);
    const saved = full();
    const state = back(own, saved);
    expect(state.lost).toEqual([]);
    expect(state.trips).toEqual(saved.trips);
    expect(state.outOfService).toEqual(saved.outOfService);
    expect(state.bypasses['I-13/sump-leak']).toEqual({
      ...saved.bypasses['I-13/sump-leak'],
      leftMs: 3_600_000 - 60_000,
    });
    expect(state.proofs).toMatchObject({
      sinceStartMs: 7_000,
      sinceMs: { 'I-02/fresh': 6_000 },
      failed: saved.proofs.failed,
    });
    expect(state.alarms['I-21/supply']).toMatchObject({ state: 'out-of-service' });
    expect(state.batch).toMatchObject({ stage: 'ready', accepted: true });
    expect(state.vessels.mixing?.leastL).toBe(saved.vessels.mixing?.leastL);
    const now = judged(own, state);
    expect(Object.keys(now.trips)).toEqual(['I-11/tray-leak']);
    for (const target of Object.keys(own.routes))
      expect(now.verdicts[target], target).toContain('I-11/tray-leak');
  });

  // One place of each sort that is gone, and the words that say so.
  test.each([
    [
      'a trip',
      (s: State) => Object.assign(s.trips, { 'I-02/annex': 1 }),
      /^I-02\/annex had shut the station down/u,
    ],
    [
      'what was out of service',
      (s: State) => Object.assign(s.outOfService, { 'old-float': 'stuck' }),
      /^old-float was out of service/u,
    ],
    [
      'a proof test that had failed',
      (s: State) => Object.assign(s.proofs, { failed: { 'I-02/annex': 'glued' } }),
      /^the proof test of I-02\/annex had failed/u,
    ],
    [
      'a valve that was seized',
      (s: State) => Object.assign(s, { exercises: { ...s.exercises, seized: { old: 'open' } } }),
      /^old was seized/u,
    ],
    [
      'an open ledger',
      (s: State) => Object.assign(s.exchange, { annex: { ...s.exchange.system, differenceL: 2 } }),
      /^the difference between drained and delivered of annex was open/u,
    ],
  ])(
    'in which the place of %s is gone: it is named, and everything stops until somebody has looked',
    (_, spoil, words) => {
      const saved = full();
      saved.trips = {};
      spoil(saved);
      const state = back(plant, saved);
      expect(state.lost.map((one) => say(one))).toEqual([expect.stringMatching(words)]);
      expect(Object.keys(state.trips)).toEqual([]);
      const now = judged(plant, state);
      expect(Object.keys(now.trips)).toEqual([`I-36/${plant.id}`]);
      for (const target of [...Object.keys(plant.routes), ...Object.keys(plant.heaters)])
        expect(now.verdicts[target], target).toContain(`I-36/${plant.id}`);
      // And once more: what was lost stays lost over the next start, too.
      expect(back(plant, now).lost).toEqual(state.lost);
    },
  );

  test('that has other plumbing: trips stay, contents are anything, and a batch under way is named and not gone on with', () => {
    const own = changed({ '/vessels/mixing/capacity': '325 L' });
    expect(isSame(own)).toBe(false);
    const state = back(own, full());
    expect(state.trips).toEqual({ 'I-11/tray-leak': 5_000 });
    expect(state.vessels.mixing).toMatchObject({ leastL: 0, mostL: 325 });
    expect(state.batch).toMatchObject({ stage: 'idle', accepted: false });
    expect(state.lost.map((one) => say(one))).toEqual([
      expect.stringContaining('a batch was under way (ready)'),
    ]);
  });

  test('without a sensor that a trip looked at: the trip can not go over, and is named', () => {
    const own = changed({ '/sensors/tray-leak': undefined });
    const state = back(own, full());
    expect(state.trips).toEqual({});
    expect(state.lost.map((one) => say(one))).toContain(
      'I-11/tray-leak had shut the station down, and is no longer in the station file',
    );
  });

  test('and of nothing but what was known: no fuss where nothing was latched or half done', () => {
    const own = changed({ '/vessels/mixing/capacity': '325 L' });
    const saved = full();
    Object.assign(saved, { trips: {}, outOfService: {}, proofs: { ...saved.proofs, failed: {} } });
    Object.assign(saved.batch, { stage: 'idle' });
    expect(back(own, saved).lost).toEqual([]);
  });
});

test('I-36: a memory that is lost is one trip over everything, whatever the station', () => {
  for (const name of ['marram-point', 'unequal-vats', 'one-vat', 'bench-rig']) {
    const { plant: own } = baseline(name);
    const state = forgetful(own, message('state-missing'));
    judge(own, state, 0);
    expect(Object.keys(state.trips)).toEqual([`I-36/${own.id}`]);
    const targets = [...Object.keys(own.routes), ...Object.keys(own.heaters), ...Object.keys(own.dosers)];
    for (const target of targets) expect(state.verdicts[target], target).toContain(`I-36/${own.id}`);
  }
});
