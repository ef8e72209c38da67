// What there is to work with: litres that the vats can give for certain, and the reserve that follows.
import type { Plant, Route } from '../../station/plant.ts';
import { known } from '../guard/invariant.ts';
import { perPlant } from '../guard/per-plant.ts';
import type { State } from './state.ts';

export const transferRoute = perPlant((plant): Route | undefined =>
  Object.values(plant.routes).find((r) => r.purpose === 'transfer'),
);

/** What the source of the transfer can give now, for certain. */
export function availableL(plant: Plant, draft: State): number {
  const route = transferRoute(plant);
  if (route === undefined) return 0;
  return Number.isFinite(known(plant.vessels, route.from).capacityL)
    ? usableL(plant, draft, route.from)
    : Infinity;
}

/** What a vessel can give, for certain, before its low float or its least contents stop the pump. */
function usableL(plant: Plant, draft: State, vesselId: string): number {
  const vessel = known(plant.vessels, vesselId);
  const low = vessel.floats.low === undefined ? null : known(plant.sensors, vessel.floats.low);
  const floorL = Math.max(vessel.minimumL, low?.measures === 'float' ? low.markL + low.toleranceL : 0);
  return Math.max(0, known(draft.vessels, vesselId).leastL - floorL);
}

/** What can still be delivered from the mixing vat, for certain. */
export const deliverableL = (plant: Plant, draft: State): number => usableL(plant, draft, plant.mixingId);

/** Water on hand, as a share of all systems: fresh that can be pumped, and mixed. */
export function reserveShareOf(plant: Plant, draft: State): number {
  const systemsL = plant.systemIds.reduce((sum, id) => sum + known(plant.vessels, id).volumeL, 0);
  if (systemsL <= 0) return 1;
  const freshL = plant.freshId === null ? 0 : availableL(plant, draft);
  return (deliverableL(plant, draft) + freshL) / systemsL;
}
