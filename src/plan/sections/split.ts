// Equal or unequal vats, and what unequal costs in days.
import { largeChange, minutesToBatch, mostChangeL, type TwoVats } from '../../engineering/two-vats.ts';
import { cautionIf } from '../cautions.ts';
import { type Design, twoVats } from '../design.ts';
import { marksOf, RESTFUL, usableFreshL, usableMixedL } from '../marks.ts';
import { figure, type Section, section, type Table, timeText } from '../report.ts';
import { resized } from '../vat-level.ts';
import { days, litres } from '../words.ts';

/** More than a day more than equal vats would take is worth a sentence. */
const WORTH_HOURS = 24;

interface Outcome {
  readonly name: string;
  readonly freshL: number;
  readonly mixedL: number;
  readonly nextHours: number;
  readonly changeHours: number;
}

export function split(design: Design): Section {
  const { site, choice, worst } = design;
  const vats = twoVats(design, worst.oldLpm);
  const title = 'Equal or unequal vats';
  if (vats === null) {
    return section({
      id: 'split',
      title,
      says: ['Nothing can be said of waits: a pump or the purifier moves no water. See the warnings.'],
    });
  }
  const changeL = site.schedule.largeShare * site.system.volumeL;
  const [own, equal, ...others] = outcomes(design, vats, changeL) as [Outcome, Outcome, ...Outcome[]];
  const costHours = Math.max(0, own.nextHours - equal.nextHours);
  const changeCostHours = own.changeHours - equal.changeHours;
  return section({
    id: 'split',
    title,
    says: [
      choice.equal
        ? 'Both vats are equal: one full fresh vat makes one batch, and nothing waits for the rest.'
        : own.mixedL > own.freshL
          ? `The mixing vat takes ${litres(own.mixedL - own.freshL)} more than a full fresh vat gives: a whole batch waits for the purifier.`
          : `The fresh vat holds ${litres(own.freshL - own.mixedL)} more than a batch takes: batches are smaller, and there are more of them.`,
      `In the worst month, with an old membrane, the next batch is ready ${timeText(own.nextHours)} after the last was delivered, the fresh vat full by then. Two equal vats of the same volume together: ${timeText(equal.nextHours)}.`,
      `By pumps, purifier and preparation alone, no waiting batch to be warmed, a change of ${litres(changeL)} takes ${timeText(own.changeHours)} from two full vats; with equal vats ${timeText(equal.changeHours)}.`,
    ],
    figures: [
      figure('next', 'From an empty mixing vat to a ready batch', own.nextHours, 'h', 1),
      figure('cost', 'Cost of unequal vats in each batch', costHours / 24, 'd', 1),
      figure('changeCost', 'Cost of unequal vats in the large change', changeCostHours / 24, 'd', 1),
    ],
    tables: [table(worst, [own, equal, ...others])],
    cautions: cautionIf(
      costHours > WORTH_HOURS,
      'P-17',
      () =>
        `The vats are unequal: every whole batch waits ${days(costHours / 24)} longer than with equal ones.`,
    ),
    sources: ['Mass balance of two vats in a row, in litres.'],
  });
}

function table({ month }: Design['worst'], all: readonly Outcome[]): Table {
  return {
    id: 'splits',
    title: `The same volume split otherwise (${month}, old membrane)`,
    columns: [
      { title: 'Split' },
      { title: 'Fresh on hand', unit: 'L', digits: 0 },
      { title: 'Mixed on hand', unit: 'L', digits: 0 },
      { title: 'Next batch', unit: 'h', digits: 1 },
      { title: 'Large change', unit: 'h', digits: 1 },
    ],
    rows: all.map((each) => [each.name, each.freshL, each.mixedL, each.nextHours, each.changeHours]),
  };
}

/** This pair first, then the equal one, then two lopsided ones. */
function outcomes(design: Design, vats: TwoVats, changeL: number): Outcome[] {
  const totalL = design.fresh.capacityL + design.mixing.capacityL;
  const splits: readonly (readonly [string, number])[] = [
    ['Equal vats', 1 / 2],
    ['Fresh two fifths, mixing three', 2 / 5],
    ['Fresh three fifths, mixing two', 3 / 5],
  ];
  const outcome = (name: string, freshL: number, mixedL: number): Outcome => {
    const so = { ...vats, freshL, mixedL };
    return {
      name,
      freshL,
      mixedL,
      nextHours: minutesToBatch(so, freshL, 0) / 60,
      changeHours: largeChange(so, Math.min(changeL, mostChangeL(so))).minutes / 60,
    };
  };
  return [
    outcome('This plan', vats.freshL, vats.mixedL),
    ...splits.map(([name, freshShare]) =>
      outcome(
        name,
        usableFreshL(marksOf(resized(design.fresh, freshShare * totalL), RESTFUL)),
        usableMixedL(marksOf(resized(design.mixing, (1 - freshShare) * totalL), RESTFUL)),
      ),
    ),
  ];
}
