import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  bagsNeeded,
  batchesNeeded,
  cost,
  dutyShare,
  energyKwh,
  exchangedPerDayL,
  exchangedPerYearL,
  waitForWaterHours,
} from '../../src/engineering/consumption.ts';
import { OutOfRange } from '../../src/engineering/range.ts';
import { agedOutputShare, MONTH_DAYS, monthOfDay, onDayOfYear } from '../../src/engineering/season.ts';
import {
  columnPressureKpa,
  exchangeFlowLpm,
  liftM,
  trayDepthMm,
  turnoversPerHour,
  usableContentsL,
} from '../../src/engineering/standing.ts';
import { courseOfBatch, largeChange, minutesToBatch, type TwoVats } from '../../src/engineering/two-vats.ts';
import '../seed.ts';

describe('consumption', () => {
  it('2 % of 2400 L a day are 48 L a day and 17532 L a year of 365.25 days', () => {
    expect(exchangedPerDayL(2400, 0.02, 1)).toBeCloseTo(48, 9);
    expect(exchangedPerYearL(2400, 0.02, 1)).toBeCloseTo(17_532, 6);
    expect(exchangedPerDayL(2400, 0.14, 7)).toBeCloseTo(48, 9);
  });

  it('counts whole batches and whole bags, and no further one for a rounding error', () => {
    expect(batchesNeeded(480, 240)).toBe(2);
    expect(batchesNeeded(0.3 * 3, 0.3)).toBe(3);
    expect(batchesNeeded(481, 240)).toBe(3);
    expect(bagsNeeded(20.4, 20)).toBe(2);
    expect(bagsNeeded(0, 20)).toBe(0);
  });

  it('60 L more at 0.5 L/min are two hours, and none when they are there', () => {
    expect(waitForWaterHours(100, 40, 0.5)).toBe(2);
    expect(waitForWaterHours(40, 100, 0.5)).toBe(0);
  });

  it('a purifier of 0.1 L/min runs half the day for 72 L', () => {
    expect(dutyShare(72, 0.1)).toBeCloseTo(0.5, 9);
  });

  it('1000 W for 90 min are 1.5 kWh; 98 m3 at 4.90 a cubic metre cost 480.20', () => {
    expect(energyKwh(1000, 90)).toBe(1.5);
    expect(cost(98_000, 4.9, 1000)).toBeCloseTo(480.2, 9);
  });

  it('refuses a price for nothing of it and a bag without contents', () => {
    expect(() => cost(1, 1, 0)).toThrow(OutOfRange);
    expect(() => bagsNeeded(1, 0)).toThrow(OutOfRange);
  });
});

describe('the seasons', () => {
  const months = [8, 7.5, 8.5, 10, 12.5, 15, 17, 17.5, 16, 13.5, 11, 9];

  it('a mean stands in the middle of its month, and halfway between two middles lies their mean', () => {
    expect(onDayOfYear(months, 15.5)).toBeCloseTo(8, 9);
    expect(onDayOfYear(months, 45)).toBeCloseTo(7.5, 9);
    expect(onDayOfYear(months, (15.5 + 45) / 2)).toBeCloseTo(7.75, 9);
  });

  // From 15.5 Dec days before the year's end to 15.5 days after it: New Year is the middle.
  it('goes round the turn of the year without a step', () => {
    expect(onDayOfYear(months, 0)).toBeCloseTo(8.5, 9);
    expect(onDayOfYear(months, 365)).toBeCloseTo(8.5, 9);
    expect(onDayOfYear(months, -1)).toBeCloseTo(onDayOfYear(months, 364), 9);
  });

  it('never leaves the span of the months, and never jumps', () => {
    fc.assert(
      fc.property(fc.double({ min: -1000, max: 5000, noNaN: true }), (day) => {
        const here = onDayOfYear(months, day);
        expect(here).toBeGreaterThanOrEqual(7.5);
        expect(here).toBeLessThanOrEqual(17.5);
        expect(Math.abs(onDayOfYear(months, day + 0.01) - here)).toBeLessThan(0.01);
      }),
    );
  });

  it('knows the months of a common year', () => {
    expect(MONTH_DAYS.reduce<number>((sum, days) => sum + days, 0)).toBe(365);
    expect([0, 30.99, 31, 58.5, 59, 364.9, 365, -1].map(monthOfDay)).toEqual([0, 0, 1, 1, 2, 11, 0, 11]);
  });

  it('eleven months are no year', () => {
    expect(() => onDayOfYear(months.slice(1), 0)).toThrow(/twelve/);
  });

  it('a membrane that loses 7 % a year has 86.5 % left after two', () => {
    expect(agedOutputShare(0, 0.07)).toBe(1);
    expect(agedOutputShare(730.5, 0.07)).toBeCloseTo(0.93 ** 2, 12);
  });
});

describe('standing water', () => {
  it('between two marks lies what can be drawn, and marks the wrong way round are refused', () => {
    expect(usableContentsL(280, 27.2)).toBeCloseTo(252.8, 9);
    expect(() => usableContentsL(20, 30)).toThrow(/empty mark/);
  });

  it('a pump lifts from the level to the outlet, and a system in the cellar pulls', () => {
    expect(liftM(1.9, 0.2, 0.4)).toBeCloseTo(1.3, 9);
    expect(liftM(-2, 0, 0.5)).toBeCloseTo(-2.5, 9);
  });

  // 999.1 kg/m3 x 9.80665 m/s2 x 1 m.
  it('a metre of fresh water at 15 degC presses with 9.798 kPa', () => {
    expect(columnPressureKpa(1, 0, 15)).toBeCloseTo(9.798, 3);
  });

  it('40 L/min turn 320 L over 7.5 times in an hour', () => {
    expect(turnoversPerHour(40, 320)).toBe(7.5);
  });

  it('a tray of 1.8 m2 must be 196 mm deep for 320 L and a tenth', () => {
    expect(trayDepthMm(320, 1.8)).toBeCloseTo(195.56, 2);
  });

  it('out at 6 and in at 3 L/min exchange 2 L/min', () => {
    expect(exchangeFlowLpm(6, 3)).toBeCloseTo(2, 9);
  });
});

describe('two vats in a row', () => {
  const vats: TwoVats = {
    freshL: 240,
    mixedL: 240,
    outputLpm: 0.2,
    transferLpm: 20,
    supplyLpm: 3,
    preparationMinutes: 120,
  };

  // 240 L at 0.2 L/min are 1200 min, moved in 12 min, ready 120 min later.
  it('from empty: fill, move, prepare', () => {
    expect(minutesToBatch(vats, 0, 0)).toBeCloseTo(1332, 6);
    expect(minutesToBatch(vats, 240, 0)).toBeCloseTo(132, 6);
  });

  // The mixing vat takes 360 L: 240 at once (12 min, 2.4 L purified meanwhile), then 120 - 2.4 L at 0.2 L/min, 6 min more.
  it('a mixing vat larger than the fresh one waits for the rest', () => {
    expect(minutesToBatch({ ...vats, mixedL: 360 }, 240, 0)).toBeCloseTo(12 + 117.6 / 0.2 + 6 + 120, 6);
  });

  it('a vat that is full already is only prepared', () => {
    expect(minutesToBatch(vats, 0, 240)).toBe(120);
  });

  it('ends with both vats full and never holds more than they take', () => {
    const litres = fc.double({ min: 20, max: 2000, noNaN: true });
    fc.assert(
      fc.property(
        litres,
        litres,
        fc.double({ min: 0.05, max: 5, noNaN: true }),
        (freshL, mixedL, outputLpm) => {
          const here = { ...vats, freshL, mixedL, outputLpm };
          const course = courseOfBatch(here, 0, 0);
          for (const [index, at] of course.entries()) {
            expect(at.minutes).toBeGreaterThanOrEqual(course[index - 1]?.minutes ?? 0);
            expect(at.freshL).toBeGreaterThanOrEqual(0);
            expect(at.freshL).toBeLessThanOrEqual(freshL + 1e-6);
            expect(at.mixedL).toBeLessThanOrEqual(mixedL + 1e-6);
          }
          expect(course.at(-1)?.freshL).toBeCloseTo(freshL, 4);
          expect(course.at(-1)?.mixedL).toBeCloseTo(mixedL, 4);
        },
      ),
    );
  });

  // Nothing is made or lost: what is in both vats is what the purifier ran for, until it rests on a full vat.
  it('until the fresh vat is full holds what the purifier made', () => {
    const course = courseOfBatch({ ...vats, mixedL: 360 }, 0, 0);
    for (const at of course) {
      if (at.freshL >= 240) continue;
      expect(at.freshL + at.mixedL).toBeCloseTo(0.2 * at.minutes, 4);
    }
  });

  // 300 L: 240 at once (80 min), 60 L moved from the full fresh vat (3 min), prepared (120 min), delivered (20 min).
  it('a large change is delivered batch by batch', () => {
    const change = largeChange(vats, 300);
    expect(change.batches).toBe(2);
    expect(change.minutes).toBeCloseTo(80 + 3 + 120 + 20, 6);
    expect(change.deliveries).toEqual([
      { atMinutes: 0, volumeL: 240 },
      { atMinutes: expect.closeTo(203, 6), volumeL: expect.closeTo(60, 6) },
    ]);
  });

  // The third batch finds 240 - 240 + 0.2 x (80 + 12 + 120 + 80) L in the fresh vat, less what was taken.
  it('the third batch waits for the purifier', () => {
    const change = largeChange(vats, 720);
    const third = change.deliveries[2]?.atMinutes ?? 0;
    const second = change.deliveries[1]?.atMinutes ?? 0;
    expect(change.batches).toBe(3);
    expect(second).toBeCloseTo(80 + 12 + 120, 6);
    // From the moment the fresh vat was emptied: 240 L at 0.2 L/min, then moving and preparing.
    expect(third).toBeCloseTo(80 + 240 / 0.2 + 12 + 120, 4);
  });

  it('delivers exactly what was asked for', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 5000, noNaN: true }), (volumeL) => {
        const { deliveries } = largeChange(vats, volumeL);
        const sum = deliveries.reduce((total, each) => total + each.volumeL, 0);
        expect(sum).toBeCloseTo(volumeL, 4);
      }),
    );
  });

  it('a purifier that gives nothing is refused, and so is a change of a thousand vats', () => {
    expect(() => minutesToBatch({ ...vats, outputLpm: 0 }, 0, 0)).toThrow(OutOfRange);
    expect(() => largeChange(vats, 1e6)).toThrow(OutOfRange);
  });
});
