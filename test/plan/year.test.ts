import { describe, expect, it } from 'vitest';
import { onDayOfYear } from '../../src/engineering/season.ts';
import { simulateYear } from '../../src/plan/year/run.ts';
import { spell } from '../../src/plan/year/spells.ts';
import { awayIn, DAY_MS, ownerOf, weatherOf } from '../../src/plan/year/weather.ts';
import { designWith, siteWith } from './sites.ts';

const HOUR_MS = 3_600_000;

describe('The weather', () => {
  const site = siteWith();

  it('stays within a spell of the monthly means, and follows them through the year', () => {
    const { temperatureC } = weatherOf(site, 1, 5);
    const apart: number[] = [];
    for (let day = 0; day < 730; day += 0.5) {
      const away = temperatureC(day) - onDayOfYear(site.inlet.temperaturesC, day);
      expect(Math.abs(away)).toBeLessThanOrEqual(1.5);
      apart.push(away);
    }
    expect(Math.abs(apart.reduce((sum, each) => sum + each, 0) / apart.length)).toBeLessThan(0.3);
    expect(Math.max(...apart)).toBeGreaterThan(0.7);
  });

  it('is the same for the same seed, and another for another', () => {
    const at = (seed: number) => weatherOf(site, 1, seed).inlet(40 * DAY_MS);
    expect(at(3)).toEqual(at(3));
    expect(at(3)).not.toEqual(at(4));
  });

  it('gives less water in February than in August, and less with every year of the membrane', () => {
    const { inlet, membraneDays } = weatherOf(site, 1, 1);
    expect(inlet(45 * DAY_MS).flowLpm).toBeLessThan(inlet(220 * DAY_MS).flowLpm);
    expect(membraneDays).toBeLessThan(730);
    const before = inlet((730 - membraneDays - 1) * DAY_MS);
    const after = inlet((730 - membraneDays + 1) * DAY_MS);
    // A new membrane gives 1 / 0.865 of what the old one gave; two days of weather are nothing against that.
    expect(after.flowLpm / before.flowLpm).toBeGreaterThan(1.1);
  });
});

describe('The owner', () => {
  const site = siteWith();
  const delay = ownerOf(site, 1);
  const noonOfDay = (day: number) => (day * 24 + 12) * HOUR_MS;
  const { fromDay, toDay } = awayIn(site, 1, 0);

  it('takes the mean time of the site, at most its longest and until the morning', () => {
    // luck 1 - 1/e is the mean of an exponential delay: 5 h.
    expect(delay(1 - Math.exp(-1), 8 * HOUR_MS)).toBeCloseTo(5 * HOUR_MS, -2);
    expect(delay(1 - 1e-12, noonOfDay(1))).toBeLessThanOrEqual(48 * HOUR_MS);
    expect(delay(0, 8 * HOUR_MS)).toBe(0);
  });

  it('sleeps from eleven to seven', () => {
    expect(delay(0, 2 * HOUR_MS)).toBe(5 * HOUR_MS);
    expect(delay(0, 23.5 * HOUR_MS)).toBe(7.5 * HOUR_MS);
  });

  it('does nothing while away, and it in the time it takes after coming back', () => {
    expect(toDay - fromDay).toBe(10);
    const dueMs = noonOfDay(fromDay + 3) + delay(0, noonOfDay(fromDay + 3));
    expect(dueMs).toBeGreaterThanOrEqual(toDay * DAY_MS);
    expect(dueMs).toBeLessThan((toDay + 1) * DAY_MS);
  });

  it('goes away once a year, within the year', () => {
    for (let year = 0; year < 20; year++) {
      const away = awayIn(site, 9, year);
      expect(away.fromDay).toBeGreaterThanOrEqual(365 * year);
      expect(away.toDay).toBeLessThanOrEqual(365 * (year + 1));
    }
  });
});

describe('A spell', () => {
  it('counts how often, how long in all and how long at most', () => {
    const { pass, result } = spell();
    for (const [holds, hours] of [
      [true, 1],
      [true, 2],
      [false, 5],
      [true, 1],
      [false, 1],
    ] as const)
      pass(holds, hours * HOUR_MS);
    expect(result()).toEqual({ times: 2, hours: 4, longestHours: 3 });
  });
});

describe('Twelve simulated days', () => {
  const design = designWith();
  const passed: number[] = [];
  const done = simulateYear(design, 12, 1, (day) => passed.push(day));

  it('tell of their progress day by day', () => {
    expect(passed).toEqual(Array.from({ length: 12 }, (_, day) => day + 1));
    expect(done.daily).toHaveLength(12);
  });

  it('spill nothing, trip nothing and deliver nothing outside tolerance', () => {
    expect(done).toMatchObject({ spilledL: 0, offSpecL: 0, trips: {} });
  });

  it('deliver what is scheduled, and a step brings no less than it aims at', () => {
    expect(done.wantedL).toBeCloseTo(12 * 48, 6);
    expect(done.deliveredL).toBeGreaterThan(0.7 * done.wantedL);
    expect(done.deliveredL).toBeLessThan(1.25 * done.wantedL);
  });

  it('ask for the salt of each batch, by the mass balance of the plan', () => {
    expect(done.salt.times).toBeGreaterThanOrEqual(2);
    // From the low mark, not from empty: each batch takes a little more or less than the plan's 9.9 kg; the first fills
    // the vat from its low float.
    expect(done.salt.kg / done.salt.times).toBeGreaterThan(0.9 * design.batch.saltKg);
    expect(done.salt.kg / done.salt.times).toBeLessThan(1.25 * design.batch.saltKg);
  });

  it('purify what was mixed, drawn and is still there, at the rate of that winter', () => {
    expect(done.purifiedL).toBeGreaterThan(done.deliveredL * 0.9);
    expect(done.purifiedL).toBeLessThan(12 * design.worst.newLpm * 1440 * 1.2);
  });

  it('are short of the reserve when both vats are not full, by the true water', () => {
    expect(done.reserve.meanShare).toBeGreaterThan(0.08);
    expect(done.reserve.meanShare).toBeLessThan(0.22);
    expect(done.reserve.leastShare).toBeLessThanOrEqual(Math.min(...done.daily));
    expect(done.reserve.hours).toBeGreaterThan(0);
    expect(done.reserve.hours).toBeLessThanOrEqual(12 * 24 + 1);
    const byMonth = done.shortHoursByMonth.reduce((sum, hours) => sum + hours, 0);
    expect(byMonth).toBeCloseTo(done.reserve.hours, 3);
    // Twelve days of January, and not a step more than the last one.
    expect(done.reserve.hours).toBeLessThan(12 * 24 + 0.2);
  });

  it('are the same for the same seed, to the last digit, and others for another', () => {
    expect(JSON.stringify(simulateYear(design, 12, 1))).toBe(JSON.stringify(done));
    expect(simulateYear(design, 4, 2).salt).not.toEqual(simulateYear(design, 4, 1).salt);
  });
});

describe('A week of a site that changes its water once a week', () => {
  it('makes one change by request, and says how long the large one took', () => {
    const design = designWith((file) => {
      file.schedule.exchange = { share: '8 %', every: '4 d' };
      file.owner = { absence: '1 d', saltDelay: { usual: '1 h', longest: '3 h' } };
    });
    const done = simulateYear(design, 9, 1);
    expect(done.wantedL).toBeCloseTo(2 * 192, 6);
    expect(done.deliveredL).toBeGreaterThan(0.95 * 192);
    expect(done.trips).toEqual({});
  });
});
