// What the plan promises, as the running core keeps it: the reserve over weeks, and the bad day by the clock.
import { soluteRemainingBatch } from '../../engineering/exchange.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { type Figure, figure, type Section, section, type Table, timeText } from '../report.ts';
import { stepL } from '../station.ts';
import { counted, litres, percent } from '../words.ts';
import type { Emergency } from '../year/emergency.ts';
import type { Year } from '../year/tally.ts';

/** A delivery that brings less of the system than this and keeps people for longer than that is worth a thought. No source. */
const LITTLE_SHARE = 0.02;
const LONG_HOURS = 2;

export function promises(design: Design, weeks: Year, emergency: Emergency | null): Section {
  const { schedule } = design.site;
  // The last step may go a little past midnight.
  const shortShare = Math.min(1, weeks.reserve.hours / (24 * weeks.days));
  return section({
    id: 'promises',
    title: 'Reserve and bad day, by the running station',
    says: [
      `The real control program ran the drafted station with simulated water through the first ${counted(weeks.days, 'day')} of a year: on hand were ${percent(weeks.reserve.meanShare)} of the system on average and ${percent(weeks.reserve.leastShare)} at the least. The reserve of ${percent(schedule.reserveShare, 0)} was there for ${percent(1 - shortShare)} of the time.`,
      ...emergencyWords(design, emergency),
    ],
    figures: [
      figure('mean', 'On hand on average', 100 * weeks.reserve.meanShare, '%', 1),
      figure('least', 'On hand at the least', 100 * weeks.reserve.leastShare, '%', 1),
      figure('covered', 'Share of the time in which the reserve is there', 100 * (1 - shortShare), '%', 1),
      ...emergencyFigures(emergency),
    ],
    tables: emergency === null ? [] : [deliveriesTable(design, emergency)],
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

function emergencyWords(design: Design, emergency: Emergency | null): string[] {
  if (emergency === null)
    return ['The two vats never came to be full together, so there is no bad day to reckon from.'];
  const { askedL, hours, deliveries, saltKg } = emergency;
  const [first] = deliveries;
  const stepShare = stepL(design) / design.site.system.volumeL;
  const left = soluteRemainingBatch(askedL / stepL(design), Math.min(1, stepShare));
  return [
    `On the bad day, both vats full and somebody there with the salt, ${litres(first?.volumeL ?? 0)} are in the system after ${timeText(first?.toHours ?? 0)}. A change of ${litres(askedL)} ${hours === null ? 'is not done within weeks' : `takes ${timeText(hours)}`}, with ${saltKg.toFixed(1)} kg of salt poured meanwhile. It goes by steps, so ${percent(left)} of the old water remain.`,
    ...stopWords(design, emergency),
  ];
}

/** Where the last of it costs hours and changes hardly anything. */
function stopWords({ site }: Design, { deliveries }: Emergency): string[] {
  const last = deliveries.at(-1);
  const before = deliveries.at(-2);
  if (last === undefined || before === undefined) return [];
  const share = last.volumeL / site.system.volumeL;
  const lasts = last.toHours - before.toHours;
  return share < LITTLE_SHARE && lasts > LONG_HOURS
    ? [
        `Stop before the last batch if nothing else speaks for it: ${litres(last.volumeL)}, ${percent(share)} of the system, cost ${timeText(lasts)}.`,
      ]
    : [];
}

function emergencyFigures(emergency: Emergency | null): Figure[] {
  const first = emergency?.deliveries[0];
  return [
    figure('firstVolume', 'On the bad day, at once', first?.volumeL ?? null, 'L', 0, 'never full'),
    figure('firstHours', 'In the system after', first?.toHours ?? null, 'h', 1, 'never full'),
    figure('hours', 'The large change is done after', emergency?.hours ?? null, 'h', 1, 'not done'),
  ];
}

function deliveriesTable({ site }: Design, { deliveries }: Emergency): Table {
  let allL = 0;
  return {
    id: 'deliveries',
    title: 'The bad day, batch by batch, as the core does it',
    columns: [
      { title: 'Delivery' },
      { title: 'begins', unit: 'h', digits: 1 },
      { title: 'ends', unit: 'h', digits: 1 },
      { title: 'volume', unit: 'L', digits: 0 },
      { title: 'in all', unit: 'L', digits: 0 },
      { title: 'of the system', unit: '%', digits: 1 },
    ],
    rows: deliveries.slice(0, 12).map(({ fromHours, toHours, volumeL }, index) => {
      allL += volumeL;
      return [`Batch ${index + 1}`, fromHours, toHours, volumeL, allL, (100 * allL) / site.system.volumeL];
    }),
  };
}
