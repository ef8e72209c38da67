// The promises are those of the running core: long steps against short ones, and the bad day against the flows of the plan.
import { describe, expect, it } from 'vitest';
import { promises } from '../../src/plan/sections/promises.ts';
import { emergencyOf } from '../../src/plan/year/emergency.ts';
import { stepsOf } from '../../src/plan/year/pace.ts';
import { simulateYear } from '../../src/plan/year/run.ts';
import { designWith } from './sites.ts';

const design = designWith();
const DAYS = 8;
const done = simulateYear(design, DAYS, 1);
const emergency = emergencyOf(design);
const said = promises(design, done, emergency);
const value = (id: string) => said.figures.find((figure) => figure.id === id)?.value ?? Number.NaN;

describe('The reserve of a month', () => {
  it('is within 5 % of the same days in steps of seconds', () => {
    const fine = simulateYear(design, DAYS, 1, undefined, (plant) => {
      const pumps = Object.keys(plant.actuators).filter((id) => plant.actuators[id]?.kind === 'pump');
      return (state) =>
        pumps.some((id) => state.devices[id]?.on || !state.devices[id]?.provenOff) ? 2000 : 120_000;
    });
    expect(done.reserve.meanShare / fine.reserve.meanShare).toBeGreaterThan(0.95);
    expect(done.reserve.meanShare / fine.reserve.meanShare).toBeLessThan(1.05);
    expect(done.reserve.leastShare / fine.reserve.leastShare).toBeGreaterThan(0.95);
    expect(done.reserve.leastShare / fine.reserve.leastShare).toBeLessThan(1.05);
    for (const amount of ['deliveredL', 'purifiedL'] as const) {
      expect(done[amount] / fine[amount]).toBeGreaterThan(0.98);
      expect(done[amount] / fine[amount]).toBeLessThan(1.02);
    }
    expect(done.salt.times).toBe(fine.salt.times);
  });

  it('takes so few steps that a year is done in seconds', () => {
    let steps = 0;
    simulateYear(design, DAYS, 1, undefined, (plant) => {
      const paced = stepsOf(plant);
      return (state) => {
        steps += 1;
        return paced(state);
      };
    });
    // About 0.1 ms each.
    expect(steps / DAYS).toBeLessThan(240);
  });

  it('is told as mean, least and share of the time, and is less than both vats full', () => {
    expect(value('mean')).toBeCloseTo(100 * done.reserve.meanShare, 9);
    expect(value('least')).toBeLessThan(value('mean'));
    expect(value('covered')).toBeLessThan(50);
    expect(said.cautions.map(({ id }) => id)).toEqual(['P-23']);
  });
});

describe('The bad day', () => {
  it('brings the mixing vat first, in no less than the pumps take for it', () => {
    const [first] = emergency?.deliveries ?? [];
    expect((first?.volumeL ?? 0) / design.mixedL).toBeGreaterThan(0.95);
    expect((first?.volumeL ?? 0) / design.mixedL).toBeLessThan(1.05);
    const pumpedHours = design.mixedL / (design.supply.flowLpm ?? 1) / 60;
    expect((first?.toHours ?? 0) - (first?.fromHours ?? 0)).toBeGreaterThan(pumpedHours);
  });

  it('brings what was asked for', () => {
    const allL = emergency?.deliveries.reduce((sum, { volumeL }) => sum + volumeL, 0) ?? 0;
    // By the core's own count within a step of 4 L; the twin's meter loses 50 mL at each start, 120 times.
    expect(allL).toBeGreaterThan(480);
    expect(allL).toBeLessThan(480 + 120 * 0.05 + 4);
    expect(emergency?.saltKg).toBeGreaterThan(design.batch.saltKg);
    expect(emergency?.hours).toBeCloseTo(emergency?.deliveries.at(-1)?.toHours ?? 0, 0);
  });
});
