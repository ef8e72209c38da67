// A simulated year in the words of a report.
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { MONTHS } from '../purifier.ts';
import { type Chart, figure, type Section, section, timeText } from '../report.ts';
import { counted, days, litres, percent } from '../words.ts';
import type { Year } from '../year/tally.ts';

/** Short for more of the time than this, a reserve is a hope. No source. */
const OFTEN_SHORT_SHARE = 0.5;

export function year(design: Design, done: Year): Section {
  const { site } = design;
  const { reserve, late, salt, wantedL, deliveredL, large, trips } = done;
  const wanted = site.schedule.reserveShare;
  const shortShare = reserve.hours / (24 * done.days);
  const tripped = Object.entries(trips);
  return section({
    id: 'year',
    title: `${done.days} simulated days`,
    says: [
      `The real control program ran the planned station through ${counted(done.days, 'day')} of this site's weather, with a membrane ${days(done.membraneDays)} old at the start and an owner who takes ${timeText(salt.meanHours)} on average to bring the salt. Repeat it with --simulate ${done.days} --seed ${done.seed}.`,
      `The reserve of ${percent(wanted, 0)} was short ${counted(reserve.times, 'time')}, ${percent(shortShare)} of the time, ${timeText(reserve.longestHours)} at the longest. On hand were ${percent(reserve.meanShare)} on average and ${percent(reserve.leastShare)} at the least. Between two batches a vat is never full: a reserve that both vats hold only when full is there only when both are full.`,
      late.times === 0
        ? 'No exchange was late.'
        : `An exchange was late ${counted(late.times, 'time')}, ${timeText(late.hours)} in all, ${timeText(late.longestHours)} at the longest: half a day's water was owed, or a change asked for was not done after a day.`,
      `Asked for were ${litres(wantedL)}, delivered ${litres(deliveredL)}. Each step brings a little more than it aims at, because a pump runs down.`,
      ...large.map(({ day, volumeL, hours }) =>
        hours === null
          ? `A change of ${litres(volumeL)} on day ${day + 1} was not done by the end.`
          : `A change of ${litres(volumeL)} on day ${day + 1} took ${timeText(hours)}, the owner's delays included.`,
      ),
      tripped.length === 0 && done.spilledL === 0
        ? 'Nothing tripped and nothing was spilled.'
        : `Tripped: ${tripped.length === 0 ? 'nothing' : tripped.map(([key, times]) => `${key} ${counted(times, 'time')}`).join(', ')}. Spilled: ${litres(done.spilledL)}.`,
    ],
    figures: [
      figure('seed', 'Seed', done.seed, ''),
      figure('reserveTimes', 'Reserve fell short', reserve.times, 'times'),
      figure('reserveShare', 'Share of the time short of the reserve', 100 * shortShare, '%', 1),
      figure('reserveLongest', 'Longest time short', reserve.longestHours / 24, 'd', 1),
      figure('onHandMean', 'On hand on average', 100 * reserve.meanShare, '%', 1),
      figure('onHandLeast', 'On hand at the least', 100 * reserve.leastShare, '%', 1),
      figure('lateTimes', 'Exchange was late', late.times, 'times'),
      figure('lateHours', 'Late in all', late.hours, 'h', 0),
      figure('lateLongest', 'Latest', late.longestHours, 'h', 0),
      figure('saltTimes', 'Salt was asked for', salt.times, 'times'),
      figure('saltKg', 'Salt', salt.kg, 'kg'),
      figure('saltLongest', 'Longest wait for salt', salt.longestHours / 24, 'd', 1),
      figure('purified', 'Purified water', done.purifiedL, 'L'),
      figure('delivered', 'Delivered', deliveredL, 'L'),
      figure('offSpec', 'Delivered outside tolerance', done.offSpecL, 'L', 1),
      figure(
        'trips',
        'Trips',
        tripped.reduce((sum, [, times]) => sum + times, 0),
        '',
      ),
      figure('spilled', 'Spilled', done.spilledL, 'L', 1),
    ],
    tables: [
      {
        id: 'short-by-month',
        title: 'Hours short of the reserve',
        columns: [{ title: 'Month' }, { title: 'short', unit: 'h', digits: 0 }],
        rows: done.shortHoursByMonth.map((hours, month) => [MONTHS[month] ?? '', hours]),
      },
    ],
    charts: [onHandChart(design, done)],
    cautions: [
      ...cautionIf(
        shortShare > OFTEN_SHORT_SHARE,
        'P-23',
        () =>
          `In the simulated time the reserve was short for ${percent(shortShare, 0)} of the time: it is there only while both vats are full.`,
      ),
      ...cautionIf(
        late.times > 0,
        'P-24',
        () =>
          `In the simulated time an exchange was late ${counted(late.times, 'time')}, ${timeText(late.longestHours)} at the longest.`,
      ),
    ],
    sources: [
      'The control core of this service against its simulated water; no formula of this report is in it but the output of the purifier.',
      `Weather: spells of 5 d and up to 1.5 K about the monthly means; owner: exponential delays, asleep from 23:00 to 07:00, away ${counted(done.away.length, 'time')}; no source.`,
    ],
  });
}

function onHandChart({ site }: Design, done: Year): Chart {
  const { daily } = done;
  const wanted = 100 * site.schedule.reserveShare;
  const most = Math.max(...daily, 0);
  const least = Math.min(...daily, 1);
  return {
    id: 'on-hand',
    title: 'Water on hand, day by day',
    words: `Daily means over ${counted(done.days, 'day')}, between ${percent(least)} and ${percent(most)} of the system. The reserve aimed at is ${wanted.toFixed(0)} %.`,
    x: { name: 'Day', unit: '', least: 0 },
    y: { name: 'On hand', unit: '% of the system', least: 0 },
    series: [
      {
        name: 'On hand',
        stroke: 'solid',
        points: daily.map((share, day) => [day + 0.5, 100 * share] as const),
      },
      {
        name: 'Reserve aimed at',
        stroke: 'dashed',
        points: [
          [0, wanted],
          [done.days, wanted],
        ],
      },
    ],
  };
}
