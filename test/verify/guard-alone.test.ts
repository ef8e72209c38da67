// The guard alone, against a process that wants anything: a part of it at each commit, and that it can fail. The whole of it is
// `vatwarden prove --guard`.
import { describe, expect, test } from 'vitest';
import type { Plant } from '../../src/station/plant.ts';
import { type Accident, accidentsIn, benchOf, happens } from '../../src/verify/prove/accidents.ts';
import { modelAlone, repertoiresIn, stageOf } from '../../src/verify/prove/alone.ts';
import { faultsOf } from '../../src/verify/prove/alone-faults.ts';
import { nameOf } from '../../src/verify/prove/defects.ts';
import { guardProofOf } from '../../src/verify/prove/guard-proof.ts';
import { guardText } from '../../src/verify/prove/guard-report.ts';
import { needOf } from '../../src/verify/prove/necessity.ts';
import { plantAt } from '../tools/coupled.ts';
import { turnOf } from '../tools/turn.ts';

const example = (id: string): Plant => plantAt(`schemas/examples/${id}.json`);
const PARTS = 24;
const TURNS = ['marram-point', 'one-vat', 'unequal-vats'].flatMap((id) =>
  Array.from({ length: PARTS }, (_, at) => ({ id, at })),
);
const TURN = TURNS[turnOf(TURNS.length)] as (typeof TURNS)[number];

test(`${TURN.id}, part ${TURN.at + 1} of ${PARTS}: whatever the process wants, the guard holds what any guard could`, async () => {
  const plant = example(TURN.id);
  const proof = await guardProofOf(plant, { part: { at: TURN.at, of: PARTS } });
  expect(proof.open.flatMap(({ broke }) => broke.map(({ words, trace }) => [words, ...trace]))).toEqual([]);
  expect(proof.transitions).toBeGreaterThan(10_000);
  expect(guardText(plant, proof, 1)).toContain('held  no harm that any guard could have held');
});

describe('it can fail', () => {
  /** What comes of a repertoire while all is well. */
  const come = (id: string, targets: readonly string[], ...lost: string[]): readonly string[] => {
    const model = modelAlone(example(id), lost);
    const repertoire = repertoiresIn(model).find((one) =>
      targets.every((target) => one.targets.includes(target)),
    );
    if (repertoire === undefined) throw new Error(`no repertoire with ${targets.join(', ')}`);
    return stageOf(model, repertoire).run.broke.map(({ key }) => key);
  };

  test('without row I-20 unsalted water goes into the system; with it, whatever the process says, it does not', () => {
    expect(come('marram-point', ['transfer', 'supply'])).toEqual([]);
    expect(come('marram-point', ['transfer', 'supply'], 'I-20')).toContain('wrong water: system');
  });

  test('without the rows against overflow it runs over while all is well', () => {
    const rows = ['I-01', 'I-02', 'I-03', 'I-04', 'I-10'];
    expect(come('marram-point', ['refill', 'transfer'])).toEqual([]);
    expect(come('marram-point', ['refill', 'transfer'], ...rows)).toContain('spilled: fresh');
  });

  test('without the rows against dry running a pump runs dry while all is well', () => {
    expect(come('one-vat', ['drain', 'supply'], 'I-05', 'I-06', 'I-07', 'I-21/low')).not.toEqual([]);
  });

  test('without the bar between filling a vat and delivering from it, a siphon takes what is filled in to the system', async () => {
    const under = { only: 'siphon:supply', workers: 1 };
    const barred = await guardProofOf(example('one-vat'), under);
    expect(barred.open).toEqual([]);
    const open = await guardProofOf(example('one-vat'), { ...under, lost: ['I-14'] });
    expect(open.open.flatMap(({ broke }) => broke.map(({ key }) => key))).toContain('wrong water: system');
  });

  test('what comes although everything goes off at once is beyond any guard, and is named', async () => {
    const proof = await guardProofOf(example('one-vat'), { only: 'stuck-on:drain-pump' });
    expect(proof.open).toEqual([]);
    expect(proof.runs.flatMap(({ excused }) => excused)).toContain('dry: drain-pump');
  });
});

describe('accidents without rows', () => {
  const bench = benchOf(example('one-vat'));
  const supplying = bench.repertoires.findIndex(({ targets }) => targets.includes('drain'));
  const whileAllIsWell = (...lost: string[]) => accidentsIn(bench, supplying, lost, () => [null]);

  test('each names the rows of which any one holds it: with one it does not come, without all of them it does', () => {
    const found = whileAllIsWell(...bench.kinds);
    expect(found.map(({ way }) => way.breach.key)).toContain('wrong water: system');
    for (const accident of found) {
      const { holders } = accident;
      expect(happens(bench, accident, [])).toBe(false);
      expect(happens(bench, accident, holders)).toBe(true);
      for (const row of holders)
        expect(
          happens(
            bench,
            accident,
            holders.filter((other) => other !== row),
          ),
        ).toBe(false);
    }
  });

  test('a row that alone is out names itself', () => {
    expect(new Set(whileAllIsWell('I-20').map(({ holders }) => holders.join()))).toEqual(new Set(['I-20']));
    expect(whileAllIsWell()).toEqual([]);
  });

  test('a first line stands behind nothing, a second line behind the fewest that hold with it', () => {
    const accident = (holders: readonly string[], fault = '') =>
      ({ ...(whileAllIsWell('I-20')[0] as Accident), holders, fault }) satisfies Accident;
    const accidents = [
      accident(['I-01', 'I-02', 'I-03']),
      accident(['I-01', 'I-03'], 'deaf:pump'),
      accident(['I-20']),
    ];
    expect(needOf(accidents, 'I-20')).toMatchObject({ behind: [], ways: 1, saves: { fault: '' } });
    expect(needOf(accidents, 'I-01')).toMatchObject({
      behind: ['I-03'],
      ways: 1,
      saves: { fault: 'deaf:pump' },
    });
    expect(needOf(accidents, 'I-02')).toMatchObject({ behind: ['I-01', 'I-03'] });
    expect(needOf(accidents, 'I-05')).toMatchObject({ saves: null });
  });
});

test('every fault of the catalogue is met by some repertoire, but for those that a hostile process makes meaningless', () => {
  const model = modelAlone(example('marram-point'));
  const met = new Set(repertoiresIn(model).flatMap((repertoire) => faultsOf(model, repertoire).map(nameOf)));
  expect(met).toContain('stuck-on:inlet-valve');
  expect(met).toContain('silent:all');
  expect(met).not.toContain('nobody-there:all');
});
