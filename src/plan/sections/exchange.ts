// What the exchange does in eight weeks: by batches as scheduled, by a trickle of the same water, and without any.
import {
  courseOfBatches,
  courseOfTrickle,
  daysToConcentration,
  type Moment,
  type Reached,
} from '../../engineering/course.ts';
import {
  afterExchange,
  equalShare,
  settledPeakMgPerL,
  soluteRemainingBatch,
} from '../../engineering/exchange.ts';
import { caution } from '../cautions.ts';
import type { Design } from '../design.ts';
import { type Chart, type Figure, figure, type Section, section, type Table } from '../report.ts';
import type { Site, SoluteAim } from '../site.ts';
import { stepL } from '../station.ts';
import { days, litres, mgPerL, percent } from '../words.ts';

const WEEKS = 8;
const DAYS = 7 * WEEKS;
/** More lines than this nobody looks at. */
const MOST_CHARTS = 3;

interface Course {
  readonly solute: SoluteAim;
  readonly batches: readonly Moment[];
  readonly trickle: readonly Moment[];
  readonly none: readonly Moment[];
  readonly reached: Reached;
  readonly peak: number;
  /** Right after one large change today, in the steps of the station. */
  readonly afterLarge: number;
}

export function exchange(design: Design): Section {
  const { schedule } = design.site;
  const { share, intervalDays, largeShare } = schedule;
  const stepShare = Math.min(largeShare, stepL(design) / design.site.system.volumeL);
  const courses = design.site.solutes.map((solute) => courseOf(solute, schedule, stepShare));
  const weekly = equalShare(Math.min(share, 0.999), intervalDays, 7);
  return section({
    id: 'exchange',
    title: `Exchange over ${WEEKS} weeks`,
    says: [
      `${percent(share)} every ${days(intervalDays)}: of what is in the water today ${percent(soluteRemainingBatch(DAYS / intervalDays, share))} are left after ${WEEKS} weeks, if nothing is added. One change of ${percent(weekly)} a week does the same.`,
      ...courses.map(wordsOf),
      `A large change of ${percent(largeShare)} goes out and in by steps of ${litres(stepShare * design.site.system.volumeL)}, each of which takes a little of the new water with it: ${percent(1 - soluteRemainingBatch(largeShare / stepShare, stepShare))} of the old water are gone after it.`,
      'The same litres in batches remove a little more than a trickle; in a system that does not mix well both remove less. New water that ends beside the drain goes straight out again.',
    ],
    figures: courses.flatMap(figuresOf),
    tables: courses.length === 0 ? [] : [table(courses)],
    charts: courses.slice(0, MOST_CHARTS).map(chart),
    cautions: courses.flatMap(({ solute, reached, peak }) =>
      reached.kind === 'never'
        ? [
            caution(
              'P-15',
              `${solute.name} never falls to ${mgPerL(solute.targetMgPerL)}: it settles at ${mgPerL(peak)}, where the exchange takes away what the system makes.`,
            ),
          ]
        : [],
    ),
    sources: [
      'Mass balance of a stirred vessel: (1 - share)^n for batches, exp(-volumes) for a trickle (Danckwerts 1953; Levenspiel, Chemical Reaction Engineering).',
      'The production is what the site states; measure it as the rise over some days without a change.',
    ],
  });
}

function courseOf(
  solute: SoluteAim,
  { share, intervalDays, largeShare }: Site['schedule'],
  stepShare: number,
): Course {
  const { presentMgPerL, incomingMgPerL, productionMgPerLPerDay, targetMgPerL } = solute;
  const turnover = share / intervalDays;
  return {
    solute,
    batches: courseOfBatches(
      presentMgPerL,
      incomingMgPerL,
      productionMgPerLPerDay,
      share,
      intervalDays,
      DAYS,
    ),
    trickle: courseOfTrickle(presentMgPerL, incomingMgPerL, productionMgPerLPerDay, turnover, DAYS),
    none: courseOfTrickle(presentMgPerL, incomingMgPerL, productionMgPerLPerDay, 0, DAYS),
    reached: daysToConcentration(
      presentMgPerL,
      targetMgPerL,
      incomingMgPerL,
      productionMgPerLPerDay,
      turnover,
    ),
    peak: settledPeakMgPerL(incomingMgPerL, productionMgPerLPerDay, share, intervalDays),
    afterLarge: afterExchange(
      presentMgPerL,
      incomingMgPerL,
      soluteRemainingBatch(largeShare / stepShare, stepShare),
    ),
  };
}

const last = (course: readonly Moment[]): number => course.at(-1)?.mgPerL ?? 0;

function wordsOf({ solute, batches, reached, peak }: Course): string {
  const { name, presentMgPerL, targetMgPerL } = solute;
  const after = `${name}: ${mgPerL(presentMgPerL)} today, ${mgPerL(last(batches))} after ${WEEKS} weeks; in the long run it swings up to ${mgPerL(peak)}.`;
  if (reached.kind === 'never') return `${after} The target of ${mgPerL(targetMgPerL)} is not reached.`;
  return reached.days <= 0
    ? `${after} The target of ${mgPerL(targetMgPerL)} is kept already.`
    : `${after} The target of ${mgPerL(targetMgPerL)} is reached after about ${days(reached.days)}.`;
}

/** An id from a name that a person typed. */
function slug(name: string): string {
  return name
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/gu, '-')
    .replaceAll(/^-|-$/gu, '');
}

function figuresOf({ solute, batches, trickle, reached, peak }: Course): Figure[] {
  const id = slug(solute.name);
  const of = (what: string) => `${solute.name}, ${what}`;
  return [
    figure(`${id}-batches`, of(`after ${WEEKS} weeks of batches`), last(batches), 'mg/L', 3),
    figure(`${id}-trickle`, of(`after ${WEEKS} weeks of trickle`), last(trickle), 'mg/L', 3),
    figure(`${id}-settles`, of('highest in the long run'), peak, 'mg/L', 3),
    figure(
      `${id}-target`,
      of('days to the target'),
      reached.kind === 'reached' ? reached.days : null,
      'd',
      0,
      'never',
    ),
  ];
}

function table(courses: readonly Course[]): Table {
  return {
    id: 'solutes',
    title: `After ${WEEKS} weeks`,
    columns: [
      { title: 'Substance' },
      { title: 'today', unit: 'mg/L', digits: 3 },
      { title: 'target', unit: 'mg/L', digits: 3 },
      { title: 'batches', unit: 'mg/L', digits: 3 },
      { title: 'trickle', unit: 'mg/L', digits: 3 },
      { title: 'no exchange', unit: 'mg/L', digits: 3 },
      { title: 'one large change today, in steps', unit: 'mg/L', digits: 3 },
    ],
    rows: courses.map(({ solute, batches, trickle, none, afterLarge }) => [
      solute.name,
      solute.presentMgPerL,
      solute.targetMgPerL,
      last(batches),
      last(trickle),
      last(none),
      afterLarge,
    ]),
  };
}

function chart({ solute, batches, trickle, none, peak }: Course): Chart {
  const points = (course: readonly Moment[]) =>
    course.map((moment) => [moment.days / 7, moment.mgPerL] as const);
  return {
    id: `solute-${slug(solute.name)}`,
    title: `${solute.name} over ${WEEKS} weeks`,
    words: `From ${mgPerL(solute.presentMgPerL)} ${solute.name} goes to ${mgPerL(last(batches))} by batches, ${mgPerL(last(trickle))} by a trickle of the same water and ${mgPerL(last(none))} without exchange. The target is ${mgPerL(solute.targetMgPerL)}; in the long run batches let it swing up to ${mgPerL(peak)}.`,
    x: { name: 'Time', unit: 'weeks', least: 0, most: WEEKS },
    y: { name: solute.name, unit: 'mg/L', least: 0 },
    series: [
      { name: 'Batches', stroke: 'solid', points: points(batches) },
      { name: 'Trickle', stroke: 'dashed', points: points(trickle) },
      { name: 'No exchange', stroke: 'dotted', points: points(none) },
      {
        name: 'Target',
        stroke: 'points',
        points: Array.from({ length: WEEKS + 1 }, (_, week) => [week, solute.targetMgPerL] as const),
      },
    ],
  };
}
