import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { linesIn, MOST_POINTS, seriesOf } from '../../src/panel/series.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;
const START_MS = Date.UTC(2026, 0, 5);

describe('the lines of the past', () => {
  test('a peak of one minute is still seen in the picture of a year', () => {
    const series = seriesOf(['flow']);
    const peakMs = START_MS + 100 * DAY_MS + 7 * HOUR_MS + 13 * MINUTE_MS;
    for (let atMs = START_MS; atMs < START_MS + 360 * DAY_MS; atMs += MINUTE_MS)
      series.append(atMs, [atMs === peakMs ? 99 : 1]);
    const year = linesIn(series.shared, ['flow'], START_MS, START_MS + 360 * DAY_MS, 800);
    const { least = [], most = [] } = year.series.flow ?? {};
    expect(year.atMs.length).toBeLessThanOrEqual(801);
    const at = most.indexOf(99);
    expect(Math.abs((year.atMs[at] ?? 0) - peakMs)).toBeLessThanOrEqual(year.bucketMs + HOUR_MS);
    expect(least.every((value) => value === 1 || value === null)).toBe(true);
  });

  test('whatever is asked, no bucket says more than what was recorded, and nothing recorded is lost', () => {
    const recorded = fc.array(fc.tuple(fc.integer({ min: 1, max: 400 }), fc.integer({ min: -50, max: 50 })), {
      minLength: 1,
      maxLength: 120,
    });
    fc.assert(
      fc.property(recorded, fc.integer({ min: 10, max: 500 }), (steps, points) => {
        const series = seriesOf(['line']);
        const values: { atMs: number; value: number }[] = [];
        let atMs = START_MS;
        for (const [minutes, value] of steps) {
          atMs += minutes * MINUTE_MS;
          series.append(atMs, [value]);
          values.push({ atMs, value });
        }
        const answer = linesIn(series.shared, ['line'], START_MS, atMs + MINUTE_MS, points);
        const { least = [], most = [] } = answer.series.line ?? {};
        const seen = [...least, ...most].filter((value) => value !== null);
        expect(Math.min(...seen)).toBe(Math.min(...values.map(({ value }) => value)));
        expect(Math.max(...seen)).toBe(Math.max(...values.map(({ value }) => value)));
        for (const [i, low] of least.entries()) expect(low === null || low <= (most[i] ?? low)).toBe(true);
      }),
    );
  });

  test('where nothing was known there is a gap and no zero', () => {
    const series = seriesOf(['salinity']);
    for (let minute = 0; minute < 120; minute += 1)
      series.append(START_MS + minute * MINUTE_MS, [minute < 60 ? null : 35]);
    const answer = linesIn(series.shared, ['salinity'], START_MS, START_MS + 2 * HOUR_MS, 24);
    expect(answer.series.salinity?.least.slice(0, 12)).toEqual(new Array(12).fill(null));
    expect(answer.series.salinity?.least.slice(12)).toEqual(new Array(12).fill(35));
  });

  test('the last hour is finer than a minute', () => {
    const series = seriesOf(['level']);
    for (let s = 0; s < 3_600; s += 5) series.append(START_MS + s * 1_000, [s]);
    const answer = linesIn(series.shared, ['level'], START_MS, START_MS + HOUR_MS, 720);
    expect(answer.bucketMs).toBe(5_000);
    expect(answer.series.level?.least.filter((value) => value !== null)).toHaveLength(720);
  });

  test('a moment before the last one is left out, and unknown lines are not answered', () => {
    const series = seriesOf(['a']);
    series.append(START_MS + HOUR_MS, [1]);
    series.append(START_MS, [2]);
    const answer = linesIn(series.shared, ['a', 'b'], START_MS - HOUR_MS, START_MS + 2 * HOUR_MS, 10);
    expect(answer.series.a?.most.filter((value) => value !== null)).toEqual([1]);
    expect(answer.series.b).toBeUndefined();
  });

  test('more points than a screen has are not given, and old days make room for new ones', () => {
    const series = seriesOf(['a'], { keepDays: 3 });
    for (let day = 0; day < 10; day += 1) series.append(START_MS + day * DAY_MS, [day]);
    expect(
      linesIn(series.shared, ['a'], START_MS, START_MS + 10 * DAY_MS, 1e6).atMs.length,
    ).toBeLessThanOrEqual(MOST_POINTS + 1);
    expect([...series.shared.minutes.keys()]).toHaveLength(3);
    expect(Math.min(...series.shared.minutes.keys()) * DAY_MS).toBeGreaterThanOrEqual(START_MS + 6 * DAY_MS);
  });
});
