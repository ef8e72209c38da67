// The reserve as the running core keeps it over a month: mean, least, share of the time, and how it goes up and down.
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { type Chart, figure, type Section, section } from '../report.ts';
import { counted, percent } from '../words.ts';
import type { Year } from '../year/tally.ts';

export function promises({ site }: Design, weeks: Year): Section {
  const { schedule } = site;
  // The last step may go a little past midnight.
  const shortShare = Math.min(1, weeks.reserve.hours / (24 * weeks.days));
  return section({
    id: 'promises',
    title: 'Reserve over a month, by the running station',
    says: [
      `The real control program ran the drafted station with simulated water through the first ${counted(weeks.days, 'day')} of a year: on hand were ${percent(weeks.reserve.meanShare)} of the system on average and ${percent(weeks.reserve.leastShare)} at the least. The reserve of ${percent(schedule.reserveShare, 0)} was there for ${percent(1 - shortShare)} of the time.`,
    ],
    figures: [
      figure('mean', 'On hand on average', 100 * weeks.reserve.meanShare, '%', 1),
      figure('least', 'On hand at the least', 100 * weeks.reserve.leastShare, '%', 1),
      figure('covered', 'Share of the time in which the reserve is there', 100 * (1 - shortShare), '%', 1),
    ],
    charts: [sawtoothChart(schedule.reserveShare, weeks)],
    cautions: cautionIf(
      shortShare > 0.5,
      'P-23',
      () =>
        `The reserve was short for ${percent(shortShare, 0)} of the time, ${percent(weeks.reserve.leastShare)} at the least: it is there only while both vats are full.`,
    ),
    sources: [
      'The control core of this service against its simulated water, by the station that --station writes; the output of the purifier is a formula of this report.',
    ],
  });
}

function sawtoothChart(reserveShare: number, { sawtooth, days, reserve }: Year): Chart {
  const most = Math.max(...sawtooth.map(([, share]) => share));
  return {
    id: 'sawtooth',
    title: 'Water on hand, every two hours',
    words: `A line that rises while the fresh vat fills and falls with each exchange, between ${percent(reserve.leastShare)} and ${percent(most)} of the system. The reserve aimed at is ${percent(reserveShare, 0)}.`,
    x: { name: 'Day', unit: '', least: 0, most: days },
    y: { name: 'On hand', unit: '% of the system', least: 0 },
    series: [
      { name: 'On hand', stroke: 'solid', points: sawtooth.map(([day, share]) => [day, 100 * share]) },
      {
        name: 'Reserve aimed at',
        stroke: 'dashed',
        points: [
          [0, 100 * reserveShare],
          [days, 100 * reserveShare],
        ],
      },
    ],
  };
}
