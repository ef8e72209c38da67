// What a batch says of its salt: the salinity that its dose should make, and what is learned of the yield once it is accepted.
import { BRINE_SALINITY, brineDensity } from '../../engineering/properties.ts';
import { isWithin, YIELD } from '../../engineering/range.ts';
import { GRAMS_PER_SALINITY } from '../../engineering/seawater.ts';
import { batchYield, MEASURED_YIELD } from '../../engineering/yield.ts';
import type { Plant } from '../../station/plant.ts';
import { YIELDS_KEPT } from '../guard/limits.ts';
import { expectedYield } from '../guard/salt-yield.ts';
import type { State } from './state.ts';

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
