// What a kilogram of salt makes, by what is known of it.
import { YIELD } from '../../engineering/range.ts';
import { learnedYield } from '../../engineering/yield.ts';
import type { Plant } from '../../station/plant.ts';
import type { GuardState } from './state.ts';

/**
 * The salt's yield: stated by the file; of the last batch that a second instrument confirmed; learned from finished batches
 * as soon as they are three. All by the middle of the contents: what the marks of a vat are wrong by is part of it.
 */
export function expectedYield(plant: Plant, { batch, water }: GuardState): number {
  const learned = learnedYield(batch.yields);
  const by =
    learned.kind === 'learned' ? learned.yieldKgPerKg : (water.provenYield ?? plant.process.saltYield);
  return Math.min(YIELD.most, Math.max(YIELD.least, by));
}

/** A second instrument, or three batches, have said what this salt yields; until then it is the file's word. */
export const yieldIsMeasured = ({ batch, water }: GuardState): boolean =>
  water.provenYield !== null || learnedYield(batch.yields).kind === 'learned';
