// A batch hour by hour: from empty vats, and from a full fresh vat. The bad day is the running core's (see `bad-day.ts`).
import { courseOfBatch, minutesToBatch, type Standing, type TwoVats } from '../../engineering/two-vats.ts';
import { coldestC, type Design, SALTING_MINUTES, STEADY_MINUTES, twoVats } from '../design.ts';
import type { MonthOutput } from '../purifier.ts';
import { type Chart, figure, type Section, section, type Table, timeText } from '../report.ts';
import { degC, litres } from '../words.ts';

export function batch(design: Design): Section {
  const { worst, best, freshL } = design;
  const title = 'Timetable of a batch';
  const slow = twoVats(design, worst.oldLpm);
  const quick = twoVats(design, best.newLpm);
  if (slow === null || quick === null) {
    return section({
      id: 'batch',
      title,
      says: ['There is no timetable: a pump or the purifier moves no water. See the warnings.'],
    });
  }
  const hours = (vats: TwoVats, fromL: number) => minutesToBatch(vats, fromL, 0) / 60;
  return section({
    id: 'batch',
    title,
    says: [
      `From two empty vats a batch of ${litres(design.mixedL)} is ready after ${timeText(hours(slow, 0))} in ${worst.month} (old membrane) and ${timeText(hours(quick, 0))} in ${best.month} (new). With the fresh vat full it takes ${timeText(hours(slow, freshL))}.`,
      'Somebody standing by is assumed throughout: the station waits for the salt as long as it must.',
    ],
    figures: [
      figure('emptyWorst', `Empty to ready, ${worst.month}, old membrane`, hours(slow, 0), 'h', 1),
      figure('emptyBest', `Empty to ready, ${best.month}, new membrane`, hours(quick, 0), 'h', 1),
      figure('fullFresh', 'Full fresh vat to ready', hours(slow, freshL), 'h', 1),
    ],
    tables: [normalTable(design, slow)],
    charts: [contentsChart(slow, worst)],
    sources: [
      'Mass balance of two vats in a row; pump times from the operating points; heating by lumped capacity.',
    ],
  });
}

function normalTable(design: Design, vats: TwoVats): Table {
  const { site, batch: made, worst } = design;
  const movedHours = (minutesToBatch(vats, 0, 0) - vats.preparationMinutes) / 60;
  const { heating } = made;
  const heat = heating?.kind === 'reached' ? heating.hours : 0;
  const parts: readonly (readonly [string, number, string])[] = [
    [
      'Purify and transfer',
      movedHours,
      `${litres(made.mixedL)} at ${(worst.oldLpm * 1440).toFixed(0)} L/d, moved in ${timeText(made.mixedL / vats.transferLpm / 60)}`,
    ],
    ['Add the salt', SALTING_MINUTES / 60, `${made.saltKg.toFixed(1)} kg, somebody being there (no source)`],
    ['Dissolve', site.mixing.dissolveMinutes / 60, 'circulation'],
    [
      'Settle and measure',
      (site.mixing.settleMinutes + STEADY_MINUTES) / 60,
      'until the reading stands still; a trim takes as long again',
    ],
    ...(heat > 0
      ? ([['Heat', heat, `${degC(coldestC(site))} to ${degC(site.system.temperatureC)}`]] as const)
      : []),
  ];
  let atHours = 0;
  const rows = parts.map(([name, lasts, words]) => {
    const row = [name, atHours, lasts, atHours + lasts, words];
    atHours += lasts;
    return row;
  });
  return {
    id: 'normal',
    title: `From empty to ready (${worst.month}, old membrane)`,
    columns: [
      { title: 'Step' },
      { title: 'begins', unit: 'h', digits: 1 },
      { title: 'lasts', unit: 'h', digits: 1 },
      { title: 'ends', unit: 'h', digits: 1 },
      { title: 'what' },
    ],
    rows,
  };
}

function contentsChart(vats: TwoVats, worst: MonthOutput): Chart {
  const course = courseOfBatch(vats, 0, 0);
  const line = (name: string, stroke: 'solid' | 'dashed', of: (at: Standing) => number) => ({
    name,
    stroke,
    points: course.map((at) => [at.minutes / 60, of(at)] as const),
  });
  const ready = minutesToBatch(vats, 0, 0) / 60;
  return {
    id: 'contents',
    title: `Usable contents of both vats through a batch (${worst.month}, old membrane)`,
    words: `Two lines over ${((course.at(-1)?.minutes ?? 0) / 60).toFixed(0)} hours. The fresh vat fills from empty, gives a batch's worth to the mixing vat, and fills again. The batch is ready after ${ready.toFixed(1)} h.`,
    x: { name: 'Time', unit: 'h', least: 0 },
    y: { name: 'Usable contents', unit: 'L', least: 0 },
    series: [
      line('Fresh vat', 'solid', ({ freshL }) => freshL),
      line('Mixing vat', 'dashed', ({ mixedL }) => mixedL),
      { name: 'Batch ready', stroke: 'points', points: [[ready, vats.mixedL]] },
    ],
  };
}
