// The exhaustive exploration, in bounded parts: it ends, it holds where hardware and software hold, it finds by itself what
// no software can hold, and it can fail. The whole of it is `vatwarden prove`.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { ROW_KINDS } from '../../src/control/guard/rows.ts';
import { gapFor, gapsOf } from '../../src/station/gaps.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { lose } from '../../src/verify/lost.ts';
import { brokenOf } from '../../src/verify/prove/broken.ts';
import { type Defect, defectsOf, nameOf } from '../../src/verify/prove/defects.ts';
import { type Ground, groundOf, groundOn, type Run, runOf } from '../../src/verify/prove/explore.ts';
import { read, troublesOf } from '../../src/verify/prove/moves.ts';
import { neighboursOf } from '../../src/verify/prove/pairs.ts';
import { FINE_PIECES, gapOf, proofOf } from '../../src/verify/prove/proof.ts';
import { breachesOf } from '../../src/verify/prove/properties.ts';
import { proofText } from '../../src/verify/prove/report.ts';
import { type Place, type Ticked, tick } from '../../src/verify/prove/tick.ts';
import { traceOf } from '../../src/verify/prove/trace.ts';
import { FOREVER, pass, waterOf } from '../../src/verify/prove/water.ts';
import { plantAt } from '../tools/coupled.ts';

const fileOf = (id: string): string =>
  id === 'no-system-floats' ? `test/stations/${id}.json` : `schemas/examples/${id}.json`;
const example = (id: string): Plant => plantAt(fileOf(id));

function faultOf(ground: Ground, name: string): Defect {
  const found = defectsOf(ground.model).find((defect) => nameOf(defect) === name);
  if (found === undefined) throw new Error(`the station has no fault ${name}`);
  return found;
}

const told = (run: Run): readonly string[] => run.accidents.map(({ words }) => words);
const gapIn = (ground: Ground, defects: readonly Defect[], run: Run, harm: string) => {
  const accident = run.accidents.find((one) => one.harm === harm);
  if (accident === undefined) throw new Error(`no ${harm}: ${told(run).join('; ')}`);
  return gapOf(ground.model, defects, accident);
};

/** The one-vat station with nothing before its inlet valve. */
function withoutMaster(): Plant {
  const file = JSON.parse(readFileSync(fileOf('one-vat'), 'utf8'));
  delete file.actuators['inlet-valve'].upstream;
  delete file.actuators['master-valve'];
  const loaded = loadStation('one-vat', JSON.stringify(file));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors));
  return loaded.plant;
}

describe('while all is well', () => {
  test.each(['marram-point', 'one-vat', 'unequal-vats'])(
    '%s: every place is safe, and a batch becomes ready',
    (id) => {
      const { run, places } = groundOf(example(id));
      expect(run).toMatchObject({ complete: true, accidents: [], stranded: { tripped: 0, untripped: 0 } });
      expect(places.length).toBeGreaterThan(50);
      expect(places.some(({ state }) => state.batch.stage === 'ready')).toBe(true);
      expect(
        places.some(({ state }) => Object.values(state.exchange).some(({ step }) => step === 'supply')),
      ).toBe(true);
    },
  );
});

describe('one fault, begun and mended at every tick', () => {
  // biome-ignore format: a table reads as a table
  test.each([
    ['marram-point', 'stuck-on:inlet-valve'], ['marram-point', 'stuck-on:supply-pump'], ['marram-point', 'stuck-on:heater-relay'],
    ['marram-point', 'deaf:transfer-pump'], ['marram-point', 'foreign-on:supply-pump'], ['marram-point', 'feedback-says:pump-contactor=off'],
    ['marram-point', 'says:fresh-high=dry'], ['marram-point', 'says:mixing-low=wet'], ['marram-point', 'says:mixing-conductivity=target'],
    ['marram-point', 'lies:fresh-high'], ['marram-point', 'lies:mixing-conductivity'], ['marram-point', 'silent:all'], ['marram-point', 'link-mute:broker'], ['marram-point', 'power-cut:all'],
    ['marram-point', 'hose-off:transfer'], ['marram-point', 'leaks:mixing'], ['marram-point', 'salt-twice:mixing'], ['marram-point', 'salt-never:mixing'],
    ['marram-point', 'service-away:service'], ['marram-point', 'memory-lost:service'], ['one-vat', 'file-changed:service'], ['marram-point', 'grows-old:mixing=salinity'], ['marram-point', 'grows-old:mixing=batch'],
    ['one-vat', 'stuck-on:inlet-valve'], ['one-vat', 'link-lost:broker'], ['one-vat', 'stuck-off:circulation-pump'], ['one-vat', 'salt-twice:mixing'],
    ['unequal-vats', 'stuck-on:draw-fresh'], ['unequal-vats', 'stuck-on:pump'], ['unequal-vats', 'exhausted:purifier'],
  ])('%s, %s: explored to the end, nothing happens, and a batch can always become ready again', (id, name) => {
    const ground = groundOf(example(id));
    const run = runOf(ground, faultOf(ground, name));
    expect(told(run)).toEqual([]);
    expect(run).toMatchObject({ complete: true, stranded: { tripped: 0, untripped: 0 } });
  });

  test('a fault with hardware missing: the exploration finds it, and names what `check` names', () => {
    const plant = example('one-vat');
    const ground = groundOf(plant);
    const welded = faultOf(ground, 'stuck-on:drain-pump');
    const gap = gapIn(ground, [welded], runOf(ground, welded), 'dry');
    expect(gap?.id).toBe('G-02');
    expect(gapsOf(plant)).toContainEqual(gap);
  });

  test('a fill valve that jams open with no master: it finds the flood by itself', () => {
    const plant = withoutMaster();
    const ground = groundOf(plant);
    const jammed = faultOf(ground, 'stuck-on:inlet-valve');
    const run = runOf(ground, jammed);
    const gap = gapIn(ground, [jammed], run, 'spilled');
    expect(gap).toMatchObject({ id: 'G-01', about: 'mixing' });
    expect(gap?.fit).toMatch(/valve in the line before it.*named as "upstream"/);
    expect(gapsOf(plant)).toContainEqual(gap);
    expect(gapsOf(example('one-vat')).some(({ id }) => id === 'G-01')).toBe(false);
  });

  test('the way to an accident is as short as it says, reads as prose, and leads there again', () => {
    const ground = groundOf(withoutMaster());
    const jammed = faultOf(ground, 'stuck-on:inlet-valve');
    const accident = runOf(ground, jammed).accidents.find(({ harm }) => harm === 'spilled');
    if (accident === undefined) throw new Error('nothing spilled');
    const troubles = troublesOf(ground.model, [jammed]);
    let before = ground.roots[accident.root] as Place;
    let after = before as Ticked;
    for (const move of accident.moves) {
      before = after;
      after = tick(ground.model, before, troubles.choiceOf(read(move)));
    }
    expect(breachesOf(ground.model, before, after).map(({ key }) => key)).toContain('spilled: mixing');
    const trace = traceOf(ground, [jammed], accident.root, accident.moves);
    expect(trace.length).toBeLessThan(30);
    expect(trace.join('\n')).toContain('FAULT stuck-on:inlet-valve begins');
    expect(trace.at(-1)).toMatch(/=> spilled: mixing, by fill, against orders$/);
  });
});

describe('in fine steps as in coarse ones', () => {
  const verdictOf = (ground: Ground, name: string) => {
    const { complete, accidents, stranded } = runOf(ground, faultOf(ground, name));
    return { complete, found: accidents.map(({ key }) => key).sort(), stranded };
  };
  // biome-ignore format: a table reads as a table
  test.each([
    ['marram-point', 'stuck-on:inlet-valve'], ['marram-point', 'hose-off:transfer'], ['marram-point', 'says:fresh-high=dry'],
    ['marram-point', 'says:mixing-low=wet'], ['one-vat', 'salt-twice:mixing'],
  ])('%s, %s: the same verdict', (id, name) => {
    const plant = example(id);
    const coarse = verdictOf(groundOf(plant), name);
    expect(verdictOf(groundOf(plant, { pieces: FINE_PIECES }), name)).toEqual(coarse);
  });

  test('with floats alone: all is well, and one that hangs dry contradicts what flows', () => {
    const plant = plantAt('test/stations/shed.json');
    const fine = groundOf(plant, { pieces: FINE_PIECES });
    expect(fine.run).toMatchObject({ complete: true, accidents: [], stranded: { tripped: 0, untripped: 0 } });
    for (const ground of [groundOf(plant), fine]) {
      const hanging = groundOn(ground.model, { latent: faultOf(ground, 'says:fresh-high=dry'), most: 1500 });
      expect(hanging.places.some(({ state }) => state.trips['I-10/fresh'] !== undefined)).toBe(true);
    }
  });

  test('it can fail: without row I-19 it finds what it finds in coarse ones', () => {
    const ground = groundOf(example('unequal-vats'), {
      pieces: FINE_PIECES,
      prepare: (plant) => lose(plant, (kind) => kind === 'I-19'),
    });
    expect(verdictOf(ground, 'says:mixing-temperature=cold').found).toContain('too hot: mixing');
  });
});

describe('what lies anew at every tick', () => {
  test.each([
    ['one-vat', 'lies:cabinet-leak'],
    ['one-vat', 'feedback-lies:circulation-pump'],
  ])('%s, %s: a place for what is mended would say nothing else', (id, name) => {
    const ground = groundOf(example(id));
    const together = runOf(ground, faultOf(ground, name));
    const apart = runOf(ground, faultOf(ground, name), undefined, true);
    expect([together.complete, apart.complete]).toEqual([true, true]);
    const keysOf = ({ accidents }: Run) => accidents.map(({ key }) => key).sort();
    expect(keysOf(together)).toEqual(keysOf(apart));
    const lost = ({ stranded }: Run) => stranded.tripped + stranded.untripped > 0;
    expect(lost(together)).toBe(lost(apart));
    expect(together.places).toBeLessThan(apart.places);
  });

  test.each([
    ['marram-point', null],
    ['unequal-vats', 'too hot: mixing'],
  ])('a thermometer, %s: only the cut-out ends the heating', (id, key) => {
    const plant = example(id);
    const { model } = groundOf(plant);
    const water = waterOf(
      model,
      model.vessels.map(() => 4),
      4,
    );
    const healthy = brokenOf(model, []);
    const found = new Set<string>();
    for (let at = 0; at < 10; at++) {
      model.switches.forEach(({ actuator }, which) => {
        if (['heater', 'contactor'].includes(actuator.kind)) water.relay[which] = FOREVER;
      });
      for (const { kind, about } of pass(model, water, healthy, 0)) found.add(`${kind}: ${about}`);
    }
    expect(found).toEqual(new Set(key === null ? [] : [key]));
    const lies = new Set(['truth mixing-temperature']);
    expect(gapFor(plant, 'too hot', 'mixing', { by: 'heater', ordered: true }, lies)?.id).toBe(
      key === null ? undefined : 'G-12',
    );
  });
});

describe('two faults', () => {
  test('the valve and the master before it jam: it finds the flood by itself, and what would close the gap', () => {
    const plant = example('one-vat');
    const model = groundOf(plant).model;
    const all = defectsOf(model);
    const master = all.find((defect) => nameOf(defect) === 'stuck-on:master-valve') as Defect;
    const valve = all.find((defect) => nameOf(defect) === 'stuck-on:inlet-valve') as Defect;
    expect(neighboursOf(model, all, master)).toContain(valve);
    const ground = groundOn(model, { latent: master });
    expect(gapIn(ground, [master, valve], runOf(ground, valve, 3000), 'spilled')).toMatchObject({
      id: 'G-03',
      fit: expect.stringMatching(/overflow float hard-wired/),
    });
  });

  test('a bound is said, with the depth that it came to', () => {
    const ground = groundOf(example('one-vat'));
    const run = runOf(ground, faultOf(ground, 'lies:mixing-low'), 300);
    expect(run.complete).toBe(false);
    expect(run.depth).toBeGreaterThan(3);
    expect(run.places).toBeLessThanOrEqual(300);
  });
});

describe('what only the software can get wrong', () => {
  const { model, roots } = groundOf(example('one-vat'));
  const root = roots[0] as Place;
  const quiet: Ticked = {
    ...root,
    inputs: [],
    harms: [],
    effects: [],
    requests: [],
    truthful: false,
    thrown: null,
  };
  const keysOf = (before: Place, after: Ticked) => breachesOf(model, before, after).map(({ key }) => key);

  test('a trip that goes by itself; not one that a person resets', () => {
    const tripped = { ...root, state: { ...root.state, trips: { 'I-11/cabinet-leak': 0 } } };
    expect(keysOf(tripped, quiet)).toEqual(['trip left: I-11/cabinet-leak']);
    expect(keysOf(tripped, { ...quiet, requests: [{ ask: 'reset-trip', trip: 'all' }] })).toEqual([]);
  });

  test('an `on` without its lease, over a dead link, or for nothing that is allowed', () => {
    const leaseMs = model.plant.actuators['inlet-valve']?.leaseMs ?? 0;
    const on = (ms: number) => ({ do: 'command', actuator: 'inlet-valve', on: true, leaseMs: ms }) as const;
    const up = { ...quiet, state: { ...root.state, link: { ...root.state.link, up: true }, verdicts: {} } };
    expect(keysOf(root, { ...up, effects: [on(leaseMs)] })).toEqual([]);
    expect(keysOf(root, { ...up, effects: [on(0)] })).toEqual(['on without a lease: inlet-valve']);
    expect(keysOf(root, { ...quiet, effects: [on(leaseMs)] })).toEqual(['on without a lease: inlet-valve']);
    const forbidden = { ...up, state: { ...up.state, verdicts: { fill: ['I-11/cabinet-leak'] } } };
    expect(keysOf(root, { ...forbidden, effects: [on(leaseMs)] })).toEqual([
      'on without a lease: inlet-valve',
    ]);
  });
});

/** Rows without which one fault alone does harm, and what it finds then. */
// biome-ignore format: a table reads as a table
const FINDS: readonly (readonly [station: string, rows: string, fault: string, key: string])[] = [
  ['marram-point', 'I-11', 'hose-off:transfer', 'on the floor: transfer'],
  ['unequal-vats', 'I-19', 'says:mixing-temperature=cold', 'too hot: mixing'],
  ['marram-point', 'I-23/stays-on', 'stuck-on:supply-pump', 'wrong water: system'],
  ['marram-point', 'I-20', 'says:mixing-temperature=cold', 'wrong water: system'],
  ['one-vat', 'I-24 I-24/fills', 'foreign-on:inlet-valve', 'the core threw'],
];

describe('it can fail: without these rows it finds the accident, with them there is none', () => {
  test.each(FINDS)('%s without %s, %s: %s', (station, rows, name, key) => {
    const absent = rows.split(' ');
    const without = groundOf(example(station), {
      prepare: (plant) => lose(plant, (kind) => absent.includes(kind)),
    });
    const keys = runOf(without, faultOf(without, name)).accidents.map((accident) => accident.key);
    expect(keys).toContain(key);
    const whole = groundOf(example(station));
    expect(runOf(whole, faultOf(whole, name)).accidents.map((accident) => accident.key)).not.toContain(key);
  });
});

describe('the command', () => {
  test('says what it looked at, what held and what it does not say; a part of the catalogue by name', async () => {
    const plant = example('one-vat');
    const proof = await proofOf(plant, { only: 'stuck-on:', workers: 1 });
    expect(proof.open).toEqual([]);
    expect(proof.singles.every(({ complete }) => complete)).toBe(true);
    const text = proofText(plant, proof);
    expect(text).toMatch(/while all is well +\d+ places, [\d ]+ ticks, deepest \d+/);
    expect(text).toMatch(/held {2}nothing runs over a brim/);
    expect(text).toMatch(
      /held {2}no pump runs dry beyond its bound \(but for 2 that only hardware can hold\)/,
    );
    expect(text).toMatch(/G-02\n +stuck-on:supply-pump/);
    expect(text).toContain('To close the gap: A contactor before the relay, named as "upstream".');
    expect(text).toMatch(/What this does not say/);
    expect(text).not.toMatch(/Counterexamples/);
  });

  test('every kind of row stands in the table above or is a second barrier with its reason', () => {
    // Those about proof tests go by clocks of months, and by what a person does by hand.
    const explored = ROW_KINDS.filter(({ tests }) => tests === undefined);
    const kinds = [...new Set(explored.map(({ id, suffix }) => [id, suffix].filter(Boolean).join('/')))];
    const found = FINDS.flatMap(([, rows]) => rows.split(' '));
    expect(kinds.filter((kind) => !found.includes(kind) && SECOND[kind] === undefined)).toEqual([]);
    expect(Object.keys(SECOND).filter((kind) => found.includes(kind) || !kinds.includes(kind))).toEqual([]);
  });
});

/** Rows without which one fault alone does no harm in the coarse world, and what stands before or behind them. */
// biome-ignore format: a table reads as a table
const SECOND: Readonly<Record<string, readonly [station: string, fault: string, why: string]>> = {
  'I-01': ['marram-point', 'says:fresh-level=empty', 'a phase stops by contents; behind it I-03 by arithmetic and I-02 by its own float'],
  'I-02': ['marram-point', 'says:fresh-high=dry', 'the phase and I-03 stop below it: it takes two faults to reach its float'],
  'I-03': ['marram-point', 'says:fresh-high=dry', 'the phase stops by the level'],
  'I-04': ['marram-point', 'says:transfer-meter=nothing', 'the level says what the meter does not'],
  'I-05': ['marram-point', 'says:mixing-level=full', 'the contradiction trips (I-10), and I-07 on the missing flow'],
  'I-06': ['marram-point', 'says:mixing-low=wet', 'the phase ends by the level'],
  'I-07': ['marram-point', 'weak:supply-pump', 'a weak pump moves nothing and does no harm; the vats are watched by their floats'],
  'I-07/starved': ['marram-point', 'no-pressure:purifier', 'spares the purifier; no water is lost'],
  'I-08': ['marram-point', 'hose-off:transfer', 'the tray says so sooner (I-11)'],
  'I-09': ['marram-point', 'stuck-on:supply-pump', 'its feedback says so (I-23)'],
  'I-09/level': ['marram-point', 'stuck-on:transfer-pump', 'its feedback (I-23) and the meter (I-09) say so'],
  'I-10': ['marram-point', 'says:fresh-low=wet', 'the level ends the run'],
  'I-12': ['marram-point', 'silent:mixing-high', 'the level and the other floats still speak'],
  'I-13': ['marram-point', 'silent:tray-leak', 'a silent leak sensor is no leak: it takes a second fault'],
  'I-14': ['unequal-vats', 'deaf:to-system', 'the phases never want two ways at once, and feedback says that a valve stays (I-23)'],
  'I-15': ['marram-point', 'asks:hold', 'spares pumps and membranes; no water is lost'],
  'I-16': ['marram-point', 'leaks:mixing', 'the tray trips (I-11)'],
  'I-16/on': ['marram-point', 'leaks:mixing', 'the tray trips (I-11), and I-16 forbids'],
  'I-17': ['marram-point', 'cools:mixing', 'the phase heats only accepted, circulating water'],
  'I-18': ['marram-point', 'says:mixing-temperature=cold', 'I-19 trips on a temperature that does not follow'],
  'I-21': ['marram-point', 'top-off-runs:system', 'the ledger (I-22) and the overflow float'],
  'I-21/low': ['marram-point', 'leaks:system', 'the tray trips (I-11)'],
  'I-22': ['marram-point', 'says:drain-meter=nothing', 'the floats of the system (I-21)'],
  'I-22/far': ['marram-point', 'says:drain-meter=nothing', 'I-22 blocks before it, and the floats (I-21)'],
  'I-23/stays-off': ['marram-point', 'stuck-off:supply-pump', 'a pump that does not run does no harm; the meter says so (I-07)'],
  'I-25': ['marram-point', 'link-mute:broker', 'the devices drop out by their leases, and every sensor grows stale (I-12)'],
  'I-26': ['marram-point', 'tick-late:service', 'the leases end'],
  'I-27': ['marram-point', 'journal-full:service', 'does no harm to water: nothing would be remembered'],
  'I-29': ['marram-point', 'exhausted:purifier', 'no harm in the coarse world, which does not follow impurities into the vat'],
  'I-30': ['marram-point', 'top-off-runs:system', 'the floats of the system and the ledger (I-22)'],
  'I-31': ['marram-point', 'drawn-by-hand:mixing', 'I-16 forbids the heater, and I-16/on trips'],
  'I-32': ['marram-point', 'asks:hold', 'nobody takes anything out of service in the coarse world'],
  'I-36': ['marram-point', 'memory-lost:service', 'nothing was latched before it: to lose a trip takes a fault before it, as in the campaign'],
  'I-42': ['no-system-floats', 'drawn-by-hand:mixing', 'drift takes weeks of steps, and the coarse world counts a dozen'],
  'I-34': ['unequal-vats', 'asks:hold', 'no valve is exercised in the coarse world'],
  'I-35': ['unequal-vats', 'asks:hold', 'no valve is exercised in the coarse world'],
};

describe('second barriers: without one of these rows alone this fault still does no harm', () => {
  test.each(Object.entries(SECOND))('%s', (kind, [station, name, why]) => {
    const ground = groundOf(example(station), {
      prepare: (plant) => lose(plant, (lost) => lost === kind),
    });
    const run = runOf(ground, faultOf(ground, name));
    expect(
      run.accidents.map(({ words }) => words),
      why,
    ).toEqual([]);
    expect(run.complete).toBe(true);
  });
});
