// Whose word about the salinity counts: one instrument is no second one, a changed entry is a new probe, and a number that the salt
// does not explain is kept and delivers nothing.
import { describe, expect, test } from 'vitest';
import { accept, disown, hearOf, watchWater } from '../../src/control/guard/acceptance.ts';
import { anchor, cameUnasked, isLetInUnasked } from '../../src/control/guard/salt-balance.ts';
import { restored } from '../../src/control/process/initial.ts';
import { doubtSalinity, reported } from '../../src/control/process/measuring.ts';
import { doseKg } from '../../src/control/process/mixing.ts';
import { salt } from '../../src/control/process/stage-mix.ts';
import type { State } from '../../src/control/process/state.ts';
import { practicalSalinityAfterSalting } from '../../src/engineering/salting.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { baseline } from './baseline.ts';
import { walk } from './steps.ts';

const { plant, draft } = baseline('marram-point');
const single = baseline('one-vat');

/** The vat is being measured, after the salt; so much is known of it. */
function measuring(from: State, of: Plant, range: { least: number; most: number }): State {
  Object.assign(from.batch, { stage: 'mix/measure', accepted: false, confirmed: false, stageMs: 3_600_000 });
  Object.assign(from.batch, { salted: null, doubted: null, doubtedBy: '' });
  anchor(of, from, range);
  return from;
}

function told(state: State, of: Plant, salinity: number, instrument: string): State {
  hearOf(of, state, { ask: 'salinity-measured', vessel: of.mixingId, salinity, instrument });
  return state;
}
const hand = (state: State, of: Plant, salinity: number, by: string) =>
  doubtSalinity(of, told(state, of, salinity, by), { salinity, by });

describe('a second instrument', () => {
  test.each([
    ['the same name', 'refractometer'],
    ['the same name in other letters and blanks', '  Refracto' + 'METER '],
  ])('is not %s', (_, again) => {
    const state = measuring(single.draft(), single.plant, { least: 0, most: 4 });
    expect(hand(state, single.plant, 34, 'refractometer').kind).toBe('asked');
    expect(hand(state, single.plant, 34, again).kind).toBe('asked');
    expect(say(state.tasks[single.plant.mixingId]?.words)).toMatch(/with another instrument than/u);
  });

  test('that is another one, and agrees, settles it; one that does not holds the batch', () => {
    const agree = measuring(single.draft(), single.plant, { least: 0, most: 4 });
    hand(agree, single.plant, 34, 'refractometer');
    expect(hand(agree, single.plant, 34.4, 'hydrometer')).toEqual({ kind: 'none', salinity: 34.2 });
    const differ = measuring(single.draft(), single.plant, { least: 0, most: 4 });
    hand(differ, single.plant, 34, 'refractometer');
    expect(hand(differ, single.plant, 30, 'hydrometer').kind).toBe('stuck');
  });

  test('that the salt explains, against one that it does not, is believed', () => {
    const state = measuring(single.draft(), single.plant, { least: 32, most: 36 });
    hand(state, single.plant, 43.9, 'refractometer');
    expect(hand(state, single.plant, 34.1, 'hydrometer')).toEqual({ kind: 'none', salinity: 34.1 });
  });

  test('before the first delivery the one that the salt explains wants another; the slip before it counts no more', () => {
    const state = measuring(single.draft(), single.plant, { least: 32, most: 36 });
    state.water.confirmed = null;
    expect(hand(state, single.plant, 43.9, 'refractometer').kind).toBe('asked');
    expect(hand(state, single.plant, 34.1, 'hydrometer').kind).toBe('asked');
    expect(say(state.tasks[single.plant.mixingId]?.words)).toMatch(/another instrument than hydrometer/u);
    expect(hand(state, single.plant, 34.3, 'refractometer')).toEqual({ kind: 'none', salinity: 34.2 });
  });

  test('is not the probe itself, read and reported by a person', () => {
    for (const name of ['mixing-conductivity', 'Mixing vat, conductivity', 'The probe']) {
      const state = measuring(draft(), plant, { least: 0, most: 4 });
      told(state, plant, 35, name);
      expect(doubtSalinity(plant, state, { salinity: 35, by: 'the probe' }).kind, name).toBe('asked');
    }
    const state = told(measuring(draft(), plant, { least: 0, most: 4 }), plant, 35, 'refractometer');
    Object.assign(state.salinity[plant.mixingId] as object, { probe: 35, probeAgeMs: 0 });
    expect(doubtSalinity(plant, state, { salinity: 35, by: 'the probe' }).kind).toBe('none');
  });

  test('is asked for where the first batch of a station, or of a changed probe, is about to be accepted', () => {
    const known = () => measuring(draft(), plant, { least: 33, most: 37 });
    const probe = { salinity: 35, by: 'the probe' };
    expect(doubtSalinity(plant, known(), probe).kind).toBe('none');
    const fresh = known();
    fresh.water.confirmed = null;
    expect(doubtSalinity(plant, fresh, probe).kind).toBe('asked');
    for (const [key, value] of [
      ['unit', 'uS/cm'],
      ['compensatedTo', '20 degC'],
      ['scale', 2],
      ['topic', 'elsewhere'],
    ] as const) {
      const changed = plantAt('schemas/examples/marram-point.json', {
        [`/sensors/mixing-conductivity/${key}`]: value,
      });
      expect(doubtSalinity(changed, known(), probe).kind, key).toBe('asked');
    }
    const byHand = measuring(single.draft(), single.plant, { least: 33, most: 35 });
    expect(hand(byHand, single.plant, 34, 'refractometer').kind).toBe('none');
    byHand.water.confirmed = null;
    expect(hand(byHand, single.plant, 34, 'refractometer').kind).toBe('asked');
    const renamed = plantAt('schemas/examples/marram-point.json', { '/name': 'Another name' });
    expect(doubtSalinity(renamed, known(), probe).kind).toBe('none');
  });

  test('is asked for where the balance is too wide to tell, and where the salt would make a tenth less', () => {
    const wide = measuring(draft(), plant, { least: 5, most: 60 });
    expect(doubtSalinity(plant, wide, { salinity: 35, by: 'the probe' }).kind).toBe('asked');
    const salted = measuring(draft(), plant, { least: 5, most: 60 });
    Object.assign(salted.batch, {
      salted: { leastL: 180, mostL: 220 },
      salinityBefore: 0,
      saltAddedKg: 8.7,
      yields: [],
    });
    salted.water.provenYield = 0.85;
    expect(doubtSalinity(plant, salted, { salinity: 35, by: 'the probe' }).kind).toBe('none');
    expect(doubtSalinity(plant, salted, { salinity: 30.5, by: 'the probe' }).kind).toBe('asked');
  });
});

describe('salt that the probe no longer misses', () => {
  const asked = (stage: 'mix/salt' | 'mix/trim-salt', probe: number, steadyMs: number): State => {
    const state = draft();
    Object.assign(state.batch, { stage, accepted: false, askedKg: 0.162, askedAt: 34.4, saltAddedNowKg: 0 });
    Object.assign(state.salinity[plant.mixingId] as object, { probe, probeAgeMs: 0, steadyMs });
    salt(plant, state, 1_000, { targets: [], signals: [] });
    return state;
  };
  const wordsOf = (state: State) => say(state.tasks[plant.mixingId]?.words);

  test('is not asked for as a trim: it is measured again', () => {
    const state = asked('mix/trim-salt', 35, 3_600_000);
    expect(state.batch.stage).toBe('mix/measure');
    expect(wordsOf(state)).toBe('');
  });

  test('is asked for while the probe is not steady, and before any salt was confirmed', () => {
    expect(wordsOf(asked('mix/trim-salt', 34.4, 0))).toMatch(/^Add 162 g/u);
    const first = asked('mix/salt', 35, 3_600_000);
    expect(first.batch.stage).toBe('mix/salt');
    expect(wordsOf(first)).toMatch(/add no more/u);
  });
});

describe('a dose of salt', () => {
  const salinityMade = (litres: number, yields: number[]): number => {
    const state = draft();
    Object.assign(state.vessels[plant.mixingId] as object, { leastL: litres, mostL: litres });
    Object.assign(state.batch, { yields });
    state.water.provenYield = null;
    // What the best yield that was seen would make of it.
    const most = Math.max(plant.process.saltYield, ...yields);
    return practicalSalinityAfterSalting(litres, 0, doseKg(plant, state, 0), 20, most);
  };
  const brimL = (plant.vessels[plant.mixingId] as { capacityL: number }).capacityL;

  test('makes no more than the target in a full vat, whatever its salt was seen to yield; with room it aims at the mean', () => {
    const { target } = plant.process.salinity;
    const scattered = [0.82, 0.86, 0.84, 0.81];
    expect(salinityMade(brimL, scattered)).toBeLessThanOrEqual(target + 0.01);
    expect(salinityMade(brimL, scattered)).toBeGreaterThan(target - 0.1);
    expect(salinityMade(brimL / 2, scattered)).toBeGreaterThan(target + 0.5);
    // Nobody has measured it: more than the file's word leaves room for doubt.
    expect(salinityMade(brimL, [])).toBeLessThan(target - 1);
  });
});

describe('water that nobody sent', () => {
  test('is seen by devices that report on though told off, and by more than can be; not by silence', () => {
    const state = draft();
    anchor(plant, state, { least: 34, most: 36 });
    expect(cameUnasked(plant, state)).toBe(false);
    for (const device of Object.values(state.devices))
      Object.assign(device, {
        on: false,
        feedback: false,
        feedbackLive: true,
        feedbackAgeMs: 0,
        feedbackFault: null,
      });
    expect(isLetInUnasked(plant, state)).toBe(false);
    for (const id of ['transfer-pump', 'pump-contactor'])
      Object.assign(state.devices[id] as object, { feedback: true });
    expect(isLetInUnasked(plant, state)).toBe(true);
    Object.assign(state.devices['transfer-pump'] as object, { feedbackLive: false });
    expect(isLetInUnasked(plant, state)).toBe(false);
    expect(cameUnasked(plant, state)).toBe(false);
    const vat = state.vessels[plant.mixingId] as { leastL: number };
    vat.leastL = state.water.mostL + 1;
    expect(cameUnasked(plant, state)).toBe(true);
  });
});

describe('the guard accepts water', () => {
  const { batch: times } = plant.process;
  /** Mixed, and measured by a confirmed probe at what the balance allows. */
  const good = (): State => {
    const state = measuring(draft(), plant, { least: 33, most: 37 });
    Object.assign(state.salinity[plant.mixingId] as object, { probe: 35, probeAgeMs: 0 });
    Object.assign(state.water, { unmixedMs: 0 });
    return state;
  };
  const isTaken = (state: State): boolean => accept(plant, state) && state.batch.accepted;

  test('by its own evidence, and of whoever asks only where there is enough of it', () => {
    expect(isTaken(good())).toBe(true);
    const spoil: Readonly<Record<string, (state: State) => void>> = {
      'not mixed': ({ water }) => Object.assign(water, { unmixedMs: 1 }),
      'not measured now': ({ salinity }) =>
        Object.assign(salinity[plant.mixingId] as object, { probeAgeMs: 1 }),
      'never measured': ({ salinity }) => Object.assign(salinity[plant.mixingId] as object, { probe: null }),
      'more than the salt makes': (state) => anchor(plant, state, { least: 0, most: 4 }),
      'less than the salt makes': (state) => anchor(plant, state, { least: 60, most: 70 }),
      'by a probe that nothing confirmed': ({ water }) => Object.assign(water, { confirmed: null }),
      'by a probe of another entry': ({ water }) => Object.assign(water, { confirmed: 'another' }),
    };
    for (const [name, of] of Object.entries(spoil)) {
      const state = good();
      of(state);
      expect(isTaken(state), name).toBe(false);
    }
  });

  test('no more once anything went in, until it is mixed and measured anew', () => {
    const events: Readonly<Record<string, (state: State) => void>> = {
      'salt that a person poured': (state) => hearOf(plant, state, { ask: 'salt-added', massKg: 1 }),
      'water that was sent': (state) => {
        for (const id of plant.routes.transfer?.through ?? [])
          Object.assign(state.devices[id] as object, { on: true });
        Object.assign(state.devices['pump-contactor'] as object, { on: true });
      },
    };
    for (const [name, of] of Object.entries(events)) {
      const state = good();
      expect(isTaken(state), name).toBe(true);
      of(state);
      watchWater(plant, state, 1_000);
      expect(state.batch.accepted, name).toBe(false);
      expect(state.water.unmixedMs, name).toBeGreaterThanOrEqual(times.settleMs);
      expect(isTaken(state), name).toBe(false);
    }
  });

  test('never because somebody says so, and doubts it for anybody', () => {
    const state = good();
    expect(isTaken(state)).toBe(true);
    disown(state.batch);
    expect(state.batch.accepted).toBe(false);
    const before = structuredClone(state);
    hearOf(plant, state, { ask: 'salt-added', massKg: -1 });
    hearOf(plant, state, { ask: 'salinity-measured', vessel: plant.mixingId, salinity: 35, instrument: ' ' });
    expect(state).toEqual(before);
  });
});

describe('a number that a person reports', () => {
  test('of 70 is taken, and offers its way out in litres; of no named instrument it is refused with what to do', () => {
    const self = walk(plant, draft());
    const ask = (salinity: number, instrument: string) =>
      self.ask({ ask: 'salinity-measured', vessel: 'mixing', salinity, instrument });
    expect(ask(70, 'refractometer')).toMatch(/^noted: 70.00/u);
    expect(ask(35, '   ')).toMatch(/^refused: name the instrument/u);
    const state = measuring(draft(), plant, { least: 33, most: 37 });
    hand(state, plant, 70, 'refractometer');
    expect(say(state.tasks.mixing?.words)).toMatch(/take out [\d.]+ L and replace it with purified water/u);
  });

  test('far from what was accepted ends the acceptance, one close to it does not', () => {
    const near = draft();
    reported(plant, near, { salinity: 35.4, by: 'refractometer' });
    expect(near.batch.accepted).toBe(true);
    const far = draft();
    reported(plant, far, { salinity: 41, by: 'refractometer' });
    expect(far.batch).toMatchObject({ accepted: false, doubted: 41, doubtedBy: 'refractometer' });
  });
});

test('a state of an older release knows of no confirmation, and goes on', () => {
  const { water: _, ...older } = draft();
  delete (older.batch as Partial<State['batch']>).doubtedBy;
  const next = restored(plant, older as State, 1_000);
  expect(next.water.confirmed).toBeNull();
  expect(next.batch.doubtedBy).toBe('');
});
