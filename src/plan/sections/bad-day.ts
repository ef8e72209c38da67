// The bad day by the clock: both vats full, one large change asked for, somebody there with the salt. The running core does
// it, as drafted and otherwise, so that whoever stands there can weigh the ways.
import { soluteRemainingBatch } from '../../engineering/exchange.ts';
import type { Design } from '../design.ts';
import { type Figure, figure, type Section, section, type Table, timeText } from '../report.ts';
import { stepL } from '../station.ts';
import { systemMarksOf } from '../system-marks.ts';
import { counted, kilograms, litres, percent } from '../words.ts';
import { type Emergency, emergencyOf, type Otherwise } from '../year/emergency.ts';

/** A delivery that brings less of the system than this and keeps people for longer than that is worth a thought. No source. */
const LITTLE_SHARE = 0.02;
const LONG_HOURS = 2;
/** So much larger steps, where the system can lack them. */
const LARGER = 4;

/** @param weighs also the other ways to do it: each costs a simulated day or two */
export function badDay(design: Design, weighs: boolean): Section {
  const emergency = emergencyOf(design);
  const title = 'The bad day, by the running station';
  if (emergency === null)
    return section({
      id: 'bad-day',
      title,
      says: ['The two vats never came to be full together, so there is no bad day to reckon from.'],
    });
  return section({
    id: 'bad-day',
    title,
    says: [says(design, emergency), people(design, emergency), ...stopWords(design, emergency)],
    figures: figures(emergency),
    tables: [deliveriesTable(design, emergency), ...(weighs ? [waysTable(design, emergency)] : [])],
    sources: [
      'The control core of this service against its simulated water, by the station that --station writes, in the worst month with an old membrane. It begins with both vats full and with a batch that has waited for days; if it is too cold by then it is warmed before it goes.',
    ],
  });
}

/** What is left of the old water after steps that each take a little of the new with them. */
const leftAfter = (askedL: number, eachL: number, systemL: number): number =>
  soluteRemainingBatch(askedL / eachL, Math.min(1, eachL / systemL));

function says(design: Design, { askedL, hours, deliveries }: Emergency): string {
  const [first] = deliveries;
  const { volumeL } = design.site.system;
  const left = leftAfter(askedL, stepL(design), volumeL);
  return `Both vats full and somebody there with the salt: ${litres(first?.volumeL ?? 0)} (${percent((first?.volumeL ?? 0) / volumeL)}) are in the system after ${timeText(first?.toHours ?? 0)}. A change of ${litres(askedL)} ${hours === null ? 'is not done within weeks' : `takes ${timeText(hours)} with ${counted(deliveries.length, 'batch', 'batches')}`}. It goes by steps of ${litres(stepL(design))}, so ${percent(left)} of the old water remain; drained once, the system's own pumps off, it would be ${percent(Math.max(0, 1 - askedL / volumeL))}.`;
}

function people({ site }: Design, { saltKg, saltAtHours }: Emergency): string {
  const bags = Math.ceil(saltKg / site.salt.bagKg - 1e-9);
  return saltAtHours.length === 0
    ? 'No salt is needed for it.'
    : `On the shelf: ${kilograms(saltKg)} of salt, ${counted(bags, 'bag')} of ${kilograms(site.salt.bagKg)}. One person, there with the salt after ${saltAtHours.map(timeText).join(' and ')}; each hour later is an hour more.`;
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

function figures({ deliveries, hours, saltKg }: Emergency): Figure[] {
  const first = deliveries[0];
  return [
    figure('firstVolume', 'At once', first?.volumeL ?? null, 'L', 0, 'never full'),
    figure('firstHours', 'In the system after', first?.toHours ?? null, 'h', 1, 'never full'),
    figure('hours', 'The large change is done after', hours, 'h', 1, 'not done'),
    figure('batches', 'Batches for it', deliveries.length, ''),
    figure('saltKg', 'Salt for it', saltKg, 'kg', 1),
  ];
}

function deliveriesTable({ site }: Design, { deliveries }: Emergency): Table {
  let allL = 0;
  return {
    id: 'deliveries',
    title: 'Batch by batch, as the core does it',
    columns: [
      { title: 'Delivery' },
      { title: 'begins', unit: 'h', digits: 1 },
      { title: 'ends', unit: 'h', digits: 1 },
      { title: 'volume', unit: 'L', digits: 0 },
      { title: 'in all', unit: 'L', digits: 0 },
      { title: 'of the system', unit: '%', digits: 1 },
    ],
    // A list that nobody reads to its end is cut; the figures above have the sum.
    rows: deliveries.slice(0, 12).map(({ fromHours, toHours, volumeL }, index) => {
      allL += volumeL;
      return [`Batch ${index + 1}`, fromHours, toHours, volumeL, allL, (100 * allL) / site.system.volumeL];
    }),
  };
}

function waysTable(design: Design, asDrafted: Emergency): Table {
  const { site } = design;
  const { temperatureC, volumeL } = site.system;
  const usualL = stepL(design);
  // The system's low float says when it has to be filled again.
  const largerL = Math.min(LARGER * usualL, (volumeL - systemMarksOf(site).lowL) / 2);
  const way = (name: string, otherwise: Otherwise, done = emergencyOf(design, otherwise)) => {
    const left = leftAfter(asDrafted.askedL, otherwise.stepL ?? usualL, volumeL);
    const colderK = otherwise.unheated ? (1 - left) * Math.max(0, temperatureC - site.room.temperatureC) : 0;
    const [first] = done?.deliveries ?? [];
    return [name, first?.toHours ?? null, done?.hours ?? null, 100 * left, colderK, done?.saltKg ?? null];
  };
  return {
    id: 'ways',
    title: 'The same change done otherwise',
    columns: [
      { title: 'Way' },
      { title: 'first batch in after', unit: 'h', digits: 1 },
      { title: 'done after', unit: 'h', digits: 1 },
      { title: 'old water left', unit: '%', digits: 1 },
      { title: 'system colder by', unit: 'K', digits: 1 },
      { title: 'salt', unit: 'kg', digits: 1 },
    ],
    rows: [
      way('As drafted', {}, asDrafted),
      ...(site.heater === null ? [] : [way('Unheated, as warm as the room', { unheated: true })]),
      ...(largerL > 1.2 * usualL
        ? [way(`Steps of ${litres(largerL)}`, { stepL: Number(largerL.toFixed(1)) })]
        : []),
    ],
  };
}
