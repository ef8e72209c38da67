// What a kilogram of salt makes: the yield that is expected, and what a batch says of it.
import { BRINE_SALINITY, brineDensity } from '../../engineering/properties.ts';
import { isWithin, YIELD } from '../../engineering/range.ts';
import { GRAMS_PER_SALINITY } from '../../engineering/seawater.ts';
import { batchYield, learnedYield, MEASURED_YIELD } from '../../engineering/yield.ts';
import type { Plant } from '../../station/plant.ts';
import { YIELDS_KEPT } from './limits.ts';
import type { State } from './state.ts';

/**
 * The salt's yield: stated by the file; of the last batch that a second instrument confirmed; learned from finished batches
 * as soon as they are three. All by the middle of the contents: what the marks of a vat are wrong by is part of it.
 */
export function expectedYield(plant: Plant, { batch, water }: State): number {
  const learned = learnedYield(batch.yields);
  const by =
    learned.kind === 'learned' ? learned.yieldKgPerKg : (water.provenYield ?? plant.process.saltYield);
  return Math.min(YIELD.most, Math.max(YIELD.least, by));
}

/** A second instrument, or three batches, have said what this salt yields; until then it is the file's word. */
export const yieldIsMeasured = ({ batch, water }: State): boolean =>
  water.provenYield !== null || learnedYield(batch.yields).kind === 'learned';

/** Salinity that this batch's salt makes at the middle of the contents; null: nothing but salt went in, or it says nothing. */
export function saltedTo(plant: Plant, state: State, celsius: number): number | null {
  const { salted, saltAddedKg, salinityBefore } = state.batch;
  if (salted === null || saltAddedKg <= 0) return null;
  return saltiness(middleOf(salted), salinityBefore, saltAddedKg, celsius, expectedYield(plant, state));
}

const middleOf = ({ leastL, mostL }: { leastL: number; mostL: number }): number => (leastL + mostL) / 2;

/** As practicalSalinityAfterSalting, and beyond 42 as well: it is only compared with. */
function saltiness(litres: number, before: number, kg: number, celsius: number, by: number): number {
  const waterKg = (litres * brineDensity(Math.min(before, BRINE_SALINITY.most), celsius)) / 1000;
  return (waterKg * before + (1000 * by * kg) / GRAMS_PER_SALINITY) / (waterKg + kg);
}

/** A batch was accepted: what its salt yielded is learned, and kept apart where a second instrument confirmed it. */
export function learnYield(plant: Plant, draft: State, salinity: number, celsius: number): void {
  const { batch, water } = draft;
  const { salted, salinityBefore, saltAddedKg } = batch;
  // A small trim of a salted leftover says nothing: the measurement's own error is larger.
  if (salted === null || saltAddedKg <= 0 || salinity - salinityBefore < plant.process.salinity.target / 2)
    return;
  const seen = batchYield(middleOf(salted), salinityBefore, salinity, saltAddedKg, celsius);
  if (!isWithin(seen, MEASURED_YIELD)) return;
  if (batch.confirmed) water.provenYield = Math.min(seen, YIELD.most);
  batch.yields = [...batch.yields, seen].slice(-YIELDS_KEPT);
}
