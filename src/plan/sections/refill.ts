// How long the fresh vat takes to fill, month by month, and whether the purifier keeps up with the schedule.
import { dutyShare } from '../../engineering/consumption.ts';
import { refillHours } from '../../engineering/purification.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import type { MonthOutput } from '../purifier.ts';
import { type Chart, figure, type Section, section, timeText } from '../report.ts';
import { degC, litres, percent, perDay } from '../words.ts';

/** A purifier that runs for more of its day than this has little left for a bad week. No source. */
const BUSY_SHARE = 0.7;

export function refill(design: Design): Section {
  const { freshL, worst, best, months, purifiedPerDayL, site } = design;
  const dry = months.filter(({ oldLpm }) => oldLpm <= 0);
  if (dry.length > 0) return noWater(dry);
  const hours = (lpm: number) => refillHours(freshL, lpm);
  const duty = dutyShare(purifiedPerDayL, worst.oldLpm);
  return section({
    id: 'refill',
    title: 'Refill through the year',
    says: [
      `From its low float to full the fresh vat takes ${litres(freshL)}. In ${worst.month}, when the inlet water has ${degC(worst.temperatureC)}, that is ${timeText(hours(worst.newLpm))} with a new membrane and ${timeText(hours(worst.oldLpm))} with one at the end of its life; in ${best.month} it is ${timeText(hours(best.newLpm))}.`,
      `The schedule takes ${perDay(purifiedPerDayL)} of purified water${site.system.freshUsePerDayL > 0 ? `, ${perDay(site.system.freshUsePerDayL)} of it drawn beside the batches` : ''}: in the worst month an old membrane runs for ${percent(duty, 0)} of its time.`,
    ],
    figures: [
      figure('volume', 'Low float to full', freshL, 'L'),
      figure('worstHours', `Worst month (${worst.month}), old membrane`, hours(worst.oldLpm), 'h', 1),
      figure('worstHoursNew', `Worst month (${worst.month}), new membrane`, hours(worst.newLpm), 'h', 1),
      figure('bestHours', `Best month (${best.month}), new membrane`, hours(best.newLpm), 'h', 1),
      figure('worstOutput', 'Output in the worst month, old membrane', worst.oldLpm * 1440, 'L/d'),
      figure('perDay', 'Purified water for the schedule', purifiedPerDayL, 'L/d'),
      figure('duty', 'Share of the day it must run then', 100 * duty, '%'),
    ],
    tables: [monthsTable(months, hours, purifiedPerDayL)],
    charts: [monthsChart(months, hours, worst, best)],
    cautions: [
      ...cautionIf(
        duty > 1,
        'P-10',
        () =>
          `The purifier is too slow for the schedule: in ${worst.month} an old membrane makes ${perDay(worst.oldLpm * 1440)}, and ${perDay(purifiedPerDayL)} are needed.`,
      ),
      ...cautionIf(
        duty > BUSY_SHARE && duty <= 1,
        'P-11',
        () => `In ${worst.month} an old membrane must run for ${percent(duty, 0)} of the day to keep up.`,
      ),
    ],
    sources: [
      'Temperature divisor exp(K (1/T - 1/298.15 K)), K of the membrane or 3020 K (2640 K above 25 degC): published membrane tables; they disagree by some per cent.',
      'Output in proportion to the net driving pressure: ASTM D4516-19a, section 6.1 (from memory).',
      'Loss of output with age and the life of a membrane: common practice; no source.',
    ],
  });
}

function noWater(dry: readonly MonthOutput[]): Section {
  const names = dry.map(({ month }) => month).join(', ');
  return section({
    id: 'refill',
    title: 'Refill through the year',
    says: ['The line pressure does not drive water through the membrane. See the warnings.'],
    figures: [figure('worstOutput', 'Output in the worst month, old membrane', 0, 'L/d')],
    cautions: cautionIf(
      true,
      'P-18',
      () =>
        `The purifier gives nothing (${names}): osmosis and the height of the vat use up the line pressure.`,
    ),
  });
}

function monthsTable(months: readonly MonthOutput[], hours: (lpm: number) => number, perDayL: number) {
  return {
    id: 'months',
    title: 'By month',
    columns: [
      { title: 'Month' },
      { title: 'Inlet', unit: 'degC', digits: 1 },
      { title: 'New membrane', unit: 'L/d', digits: 0 },
      { title: 'refill', unit: 'h', digits: 1 },
      { title: 'Old membrane', unit: 'L/d', digits: 0 },
      { title: 'refill', unit: 'h', digits: 1 },
      { title: 'must run', unit: '%', digits: 0 },
    ],
    rows: months.map(({ month, temperatureC, newLpm, oldLpm }) => [
      month,
      temperatureC,
      newLpm * 1440,
      hours(newLpm),
      oldLpm * 1440,
      hours(oldLpm),
      100 * dutyShare(perDayL, oldLpm),
    ]),
  };
}

function monthsChart(
  months: readonly MonthOutput[],
  hours: (lpm: number) => number,
  worst: MonthOutput,
  best: MonthOutput,
): Chart {
  const bars = (name: string, stroke: 'bars' | 'hollow bars', lpm: (month: MonthOutput) => number) => ({
    name,
    stroke,
    points: months.map((month, index) => [index, hours(lpm(month))] as const),
  });
  return {
    id: 'refill-by-month',
    title: 'Hours to refill the fresh vat, by month',
    words: `Bars for twelve months. Longest in ${worst.month}: ${hours(worst.newLpm).toFixed(0)} h with a new membrane, ${hours(worst.oldLpm).toFixed(0)} h with an old one. Shortest in ${best.month}: ${hours(best.newLpm).toFixed(0)} h and ${hours(best.oldLpm).toFixed(0)} h.`,
    x: { name: 'Month', unit: '', categories: months.map(({ month }) => month) },
    y: { name: 'Refill', unit: 'h', least: 0 },
    series: [
      bars('New membrane', 'hollow bars', ({ newLpm }) => newLpm),
      bars('Old membrane', 'bars', ({ oldLpm }) => oldLpm),
    ],
  };
}
