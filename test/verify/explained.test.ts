// What a gap explains and what it does not: water that was ordered is never booked to a siphon or a welded relay, litres count
// only while the failure holds, and a station that does harm without any failure has no excuse.
import { afterEach, describe, expect, test, vi } from 'vitest';
import { gapFor, gapsOf } from '../../src/station/gaps.ts';
import type { Plant } from '../../src/station/plant.ts';
import { lose } from '../../src/verify/lost.ts';
import { failedAt } from '../../src/verify/trial/failed.ts';
import { parseTrouble } from '../../src/verify/trial/misfortunes.ts';
import { runNight } from '../../src/verify/trial/night.ts';
import { plantAt } from '../tools/coupled.ts';
import { wish } from './rows-off/wishes.ts';

vi.mock('../../src/control/process/refill.ts', async (original) => {
  const { wishing } = await import('./rows-off/wishes.ts');
  const { refill } = await original<typeof import('../../src/control/process/refill.ts')>();
  return { refill: wishing(refill) };
});

const marram = plantAt('schemas/examples/marram-point.json');
afterEach(() => wish([]));

/** A night of an hour at most on Marram Point, its vats nearly full, its phases at rest, without a row; and what is wanted. */
function night(faults: readonly string[], wanted: readonly string[], until: string) {
  const real = structuredClone(marram);
  wish(wanted);
  const { findings } = runNight(
    real,
    1,
    faults.map((spec) => parseTrouble(spec, real)),
    {
      liveness: false,
      lastsMs: 3_600_000,
      until: new Set([until]),
      prepare: (plant: Plant) => {
        for (const [id, contentsL] of [
          ['fresh', 300],
          ['mixing', 300],
        ] as const)
          Object.assign(plant.vessels[id]?.initial ?? {}, { contentsL });
        Object.assign(plant.policy.starts, { refill: 'person', batch: 'person', exchange: 'person' });
        lose(plant, () => true);
      },
    },
  );
  return findings.filter(({ check, about }) => `${check}/${about}` === until).map(({ gap }) => gap);
}

describe('a spill', () => {
  test('by a siphon is explained by the missing siphon break', () => {
    expect(night(['siphon:transfer=0.5@60s'], [], 'spilled/mixing')).toEqual(['G-04']);
  });

  test('that was ordered is not, although a siphon ran for 5 s in the same night', () => {
    expect(night(['siphon:transfer=0.5@10s-15s'], ['transfer'], 'spilled/mixing')).toEqual([null]);
  });

  test('that was ordered is not, although its line would siphon all night', () => {
    expect(night(['siphon:transfer=0.05@0s'], ['transfer'], 'spilled/mixing')).toEqual([null]);
  });

  test('that was ordered is not, although its pump is welded: it was told to run', () => {
    expect(night(['stuck-on:transfer-pump@0s'], ['transfer'], 'spilled/mixing')).toEqual([null]);
  });

  test('by two welded relays, one before the other, is explained by what would cut them off', () => {
    const both = ['stuck-on:transfer-pump@60s', 'stuck-on:pump-contactor@60s'];
    expect(night(both, [], 'spilled/mixing')).toEqual(['G-03']);
  });
});

describe('a gap', () => {
  const stations = [
    ...['marram-point', 'one-vat', 'unequal-vats'].map((name) => `schemas/examples/${name}.json`),
    ...['no-system-floats', 'level-only', 'by-hand', 'gravity'].map((name) => `test/stations/${name}.json`),
  ];
  test.each(stations)('%s: names what must fail, so nothing is excused where nothing failed', (file) => {
    const plant = plantAt(file);
    for (const gap of gapsOf(plant)) {
      expect(gap.when.length, `${gap.id} ${gap.harm} ${gap.about}`).toBeGreaterThan(0);
      const way = { by: gap.by ?? '', ordered: gap.ordered };
      expect(gapFor(plant, gap.harm, gap.about, way, new Set())).toBeUndefined();
      expect(gapFor(plant, gap.harm, gap.about, way, new Set(gap.when))).toBeDefined();
    }
  });

  test('counts a siphon only while it lasts, and salt that was poured twice for as long as it is in the vat', () => {
    const troubles = ['siphon:transfer=0.5@60s-120s', 'salt-twice:mixing@60s-120s'].map((spec) =>
      parseTrouble(spec, marram),
    );
    expect([...failedAt(marram, troubles, 30_000, 1_000)]).toEqual([]);
    expect([...failedAt(marram, troubles, 100_000, 1_000)].toSorted()).toEqual([
      'salt mixing',
      'siphon transfer',
    ]);
    expect([...failedAt(marram, troubles, 3_600_000, 1_000)]).toEqual(['salt mixing']);
  });
});
