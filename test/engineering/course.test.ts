import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { courseOfBatches, courseOfTrickle, daysToConcentration } from '../../src/engineering/course.ts';
import { settledPeakMgPerL } from '../../src/engineering/exchange.ts';
import { OutOfRange } from '../../src/engineering/range.ts';
import '../seed.ts';

describe('the course of a solute', () => {
  // By hand: 20 mg/L, 1 mg/(L d), a tenth every 5 days: 25 -> 22.5, 27.5 -> 24.75, and 2 more days at 1 a day.
  it('under batches rises by the production and falls by the share', () => {
    const course = courseOfBatches(20, 0, 1, 0.1, 5, 12);
    expect(course.map(({ days }) => days)).toEqual([0, 5, 5, 10, 10, 12]);
    const values = course.map(({ mgPerL }) => mgPerL);
    for (const [index, value] of [20, 25, 22.5, 27.5, 24.75, 26.75].entries())
      expect(values[index]).toBeCloseTo(value, 9);
  });

  it('a change at the very end is made', () => {
    expect(courseOfBatches(10, 0, 0, 0.5, 7, 14).at(-1)).toEqual({ days: 14, mgPerL: 2.5 });
  });

  it('new water that holds some of it is not clean water', () => {
    expect(courseOfBatches(10, 4, 0, 0.5, 1, 1).at(-1)?.mgPerL).toBeCloseTo(7, 9);
  });

  it('settles where the formula for the settled peak says', () => {
    const course = courseOfBatches(0, 2, 0.5, 0.2, 7, 2000);
    const peaks = course.filter(({ days }, index) => days === course[index + 1]?.days);
    expect(peaks.at(-1)?.mgPerL).toBeCloseTo(settledPeakMgPerL(2, 0.5, 0.2, 7), 6);
  });

  it('a trickle of the same water leaves more of it than batches, where nothing is produced', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 0.5, noNaN: true }),
        fc.integer({ min: 1, max: 14 }),
        (share, interval) => {
          const days = 12 * interval;
          const batches = courseOfBatches(50, 0, 0, share, interval, days).at(-1)?.mgPerL ?? 0;
          const trickle = courseOfTrickle(50, 0, 0, share / interval, days).at(-1)?.mgPerL ?? 0;
          expect(trickle).toBeGreaterThan(batches);
        },
      ),
    );
  });

  it('batches grow into a trickle as they become many and small', () => {
    const batches = courseOfBatches(22, 0, 0.15, 0.02 / 48, 1 / 48, 56).at(-1)?.mgPerL ?? 0;
    const trickle = courseOfTrickle(22, 0, 0.15, 0.02, 56).at(-1)?.mgPerL ?? 0;
    expect(batches).toBeCloseTo(trickle, 2);
  });

  // Independent: a thousand small steps of dc/dt = p - n (c - cin).
  it('a trickle agrees with a step-by-step integration', () => {
    let c = 22;
    const steps = 56_000;
    for (let step = 0; step < steps; step++) c += (0.15 - 0.02 * (c - 1)) * (56 / steps);
    expect(courseOfTrickle(22, 1, 0.15, 0.02, 56).at(-1)?.mgPerL).toBeCloseTo(c, 3);
  });

  it('a rhythm too fine to list is refused', () => {
    expect(() => courseOfBatches(1, 0, 0, 0.1, 0.001, 365)).toThrow(OutOfRange);
  });
});

describe('the days to a concentration', () => {
  // c settles at 0.15 / 0.02 = 7.5: ln((22 - 7.5) / (10 - 7.5)) / 0.02 = ln 5.8 / 0.02 = 87.9 d.
  it('follow from the logarithm', () => {
    expect(daysToConcentration(22, 10, 0, 0.15, 0.02)).toEqual({
      kind: 'reached',
      days: expect.closeTo(87.893, 3),
    });
  });

  it('are none when it is there already', () => {
    expect(daysToConcentration(8, 10, 0, 5, 0.01)).toEqual({ kind: 'reached', days: 0 });
  });

  it('never end where the system makes more than the exchange takes', () => {
    expect(daysToConcentration(22, 10, 0, 0.35, 0.02)).toEqual({
      kind: 'never',
      settlesAtMgPerL: expect.closeTo(17.5, 9),
    });
    expect(daysToConcentration(22, 17.5, 0, 0.35, 0.02).kind).toBe('never');
  });

  it('put back into the course give the target', () => {
    const mg = fc.double({ min: 0.1, max: 50, noNaN: true });
    fc.assert(
      fc.property(
        mg,
        mg,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0.005, max: 0.3, noNaN: true }),
        (present, target, made, turnover) => {
          const reached = daysToConcentration(present, target, 0, made, turnover);
          if (reached.kind === 'never' || reached.days === 0 || reached.days > 30_000) return;
          const course = courseOfTrickle(present, 0, made, turnover, reached.days);
          expect(course.at(-1)?.mgPerL).toBeCloseTo(target, 6);
        },
      ),
    );
  });
});
