// Is the water of the mixing vat right for the system that a route delivers to? Row I-20 asks; so does the batch, before it heats.
import { afterExchange } from '../../engineering/exchange.ts';
import type { Plant, Route } from '../../station/plant.ts';
import { fresh, salinityOf } from './evidence.ts';
import { known } from './invariant.ts';
import type { GuardState } from './state.ts';

/** May this water not be delivered: by acceptance, age, salinity, or temperature? */
export function wrongWater(plant: Plant, state: GuardState, route: Route): boolean {
  const { batch } = state;
  const { salinity, temperature } = plant.process;
  const measured = salinityOf(plant, state, route.from);
  if (!batch.accepted || measured === null || batch.ageMs > plant.process.batch.ageLimitMs) return true;
  if (Math.abs(measured - salinity.target) > salinity.tolerance) return true;
  const sourceC = fresh(plant, state, known(plant.vessels, route.from).temperature);
  if (temperature === null || sourceC === null) return false;
  if (sourceC < temperature.leastC || sourceC > temperature.mostC) return true;
  // Water on target may always go: it moves a system that is off its target towards it.
  if (Math.abs(sourceC - temperature.targetC) <= temperature.toleranceK) return false;
  return Math.abs(systemShiftK(plant, state, route.to, sourceC)) > temperature.systemMayMoveK;
}

/** By how much a day's exchange, or what is left of a request if that is more, moves the system's temperature, K. */
export function systemShiftK(plant: Plant, state: GuardState, systemId: string, sourceC: number): number {
  const system = known(plant.vessels, systemId);
  const aims = plant.process.exchange[systemId];
  const work = state.exchange[systemId];
  if (aims === undefined || work === undefined || system.volumeL <= 0) return 0;
  const dayL = Math.max(aims.perDayShare * system.volumeL, aims.stepL, work.requestedL);
  const systemC = fresh(plant, state, system.temperature) ?? plant.process.temperature?.targetC ?? sourceC;
  return afterExchange(systemC, sourceC, Math.exp(-dayL / system.volumeL)) - systemC;
}
