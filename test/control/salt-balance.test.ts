// The interval of salinity that the balance allows, against waters mixed at random and added up by mass, kilogram for kilogram.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { saltPoured, saltRange } from '../../src/control/guard/salt-balance.ts';
import { BRINE_SALINITY, brineDensity } from '../../src/engineering/properties.ts';
import { baseline } from './baseline.ts';

const { plant, draft } = baseline('marram-point');
const GRAMS_PER_SALINITY = 35.16504 / 35;

interface Mix {
  readonly before: number;
  readonly leftoverL: number;
  readonly freshL: number;
  readonly saltKg: number;
  readonly yield: number;
  /** By how much contents and inflow may be off, as shares. */
  readonly contentsOff: number;
  readonly inflowOff: number;
}
const MIXES = fc.record({
  before: fc.double({ min: 0, max: 60, noNaN: true }),
  leftoverL: fc.double({ min: 0, max: 120, noNaN: true }),
  freshL: fc.double({ min: 0, max: 150, noNaN: true }),
  saltKg: fc.double({ min: 0, max: 8, noNaN: true }),
  yield: fc.double({ min: 0.95, max: 1.05, noNaN: true }),
  contentsOff: fc.double({ min: 0, max: 0.3, noNaN: true }),
  inflowOff: fc.double({ min: 0, max: 0.3, noNaN: true }),
});

/** What is in the vat then, by mass. */
function truth({ before, leftoverL, freshL, saltKg, yield: of }: Mix): number {
  const oldKg = (leftoverL * brineDensity(before, 20)) / 1000;
  const kg = oldKg + (freshL * brineDensity(0, 20)) / 1000 + saltKg;
  const dissolvedKg = saltKg * plant.process.saltYield * of;
  return (before * oldKg + (1000 * dissolvedKg) / GRAMS_PER_SALINITY) / kg;
}

function rangeOf(mix: Mix) {
  const { before, leftoverL, freshL, saltKg, contentsOff, inflowOff } = mix;
  const state = draft();
  const around = (litres: number, off: number) => [litres * (1 - off), litres * (1 + off)] as const;
  const [leastL, mostL] = around(leftoverL, contentsOff);
  const [inLeastL, inMostL] = around(freshL, inflowOff);
  Object.assign(state.water, { least: before, most: before, leastL, mostL, inLeastL, inMostL, saltKg: 0 });
  state.batch.yields = [];
  state.water.provenYield = null;
  const [nowLeastL, nowMostL] = around(leftoverL + freshL, contentsOff);
  Object.assign(state.vessels.mixing as object, {
    leastL: nowLeastL,
    mostL: nowMostL + 0.5 * saltKg,
    settledLeastL: nowLeastL,
    settledMostL: nowMostL,
  });
  for (const pipe of Object.values(state.routes)) pipe.pendingMostL = 0;
  saltPoured(state, saltKg);
  return saltRange(plant, state);
}

describe('the balance of the salt', () => {
  test('what is in the vat by mass lies in the interval, whatever was mixed and however uncertain it is', () => {
    fc.assert(
      fc.property(MIXES, (mix) => {
        fc.pre(mix.leftoverL + mix.freshL > 1);
        const salinity = truth(mix);
        fc.pre(salinity <= BRINE_SALINITY.most);
        const { least, most } = rangeOf(mix);
        expect(salinity).toBeGreaterThanOrEqual(least - 0.02 * salinity - 1e-9);
        expect(salinity).toBeLessThanOrEqual(most + 0.02 * salinity + 1e-9);
      }),
      { numRuns: 2_000 },
    );
  });

  test('where the litres are known, the interval is no wider than the yield of the salt is uncertain', () => {
    const { least, most } = rangeOf({
      before: 0,
      leftoverL: 0,
      freshL: 240,
      saltKg: 10.4,
      yield: 1,
      contentsOff: 0,
      inflowOff: 0,
    });
    const middle = (least + most) / 2;
    expect((most - least) / 2 / middle).toBeGreaterThan(0.04);
    expect((most - least) / 2 / middle).toBeLessThan(0.08);
  });

  test('fresh water alone can not be salted water', () => {
    const { most } = rangeOf({
      before: 35,
      leftoverL: 20,
      freshL: 240,
      saltKg: 0,
      yield: 1,
      contentsOff: 0.1,
      inflowOff: 0.1,
    });
    expect(most).toBeLessThan(4);
  });
});
