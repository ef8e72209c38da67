// How fast the level of a system may drift that neither a float nor a level sensor watches: what a step drains and delivers
// is known within the error of the meters, or within the least and the most flow of the two routes.
import type { Plant, Route, Vessel } from './plant.ts';

export interface LevelDoubt {
  readonly systemId: string;
  /** By how much one step widens the doubt, L. */
  readonly stepErrorL: number;
  /** The most that the level may be off, L, either way. */
  readonly boundL: number;
  /** Days from one look at the level to the next; null where nothing is exchanged by the day. */
  readonly daysPerLook: number | null;
}

const hasHigh = ({ floats, level }: Vessel): boolean =>
  level !== null || floats.high !== undefined || floats.overflow !== undefined;
const hasLow = ({ floats, level }: Vessel): boolean => level !== null || floats.low !== undefined;

/** Null where level evidence stops both the delivery before the floor is wet and the drain before the system is low. */
export function levelDoubtOf(plant: Plant, systemId: string): LevelDoubt | null {
  const system = plant.vessels[systemId];
  const aims = plant.process.exchange[systemId];
  const routes = Object.values(plant.routes);
  const drain = routes.find(({ purpose, from }) => purpose === 'drain' && from === systemId);
  const supply = routes.find(({ purpose, to }) => purpose === 'supply' && to === systemId);
  if (system === undefined || aims === undefined || drain === undefined || supply === undefined) return null;
  if (hasHigh(system) && hasLow(system)) return null;
  // Delivered on the file's word alone: never more than there is room for above the normal level.
  const roomL = Math.max(0, system.capacityL - system.marginL - system.volumeL);
  const boundL = hasHigh(system) ? aims.errorBoundL : Math.min(aims.errorBoundL, roomL);
  const stepErrorL = errorOf(plant, drain, aims.stepL) + errorOf(plant, supply, aims.stepL);
  const stepsPerDay = (aims.perDayShare * system.volumeL) / aims.stepL;
  const steps = Math.floor(boundL / stepErrorL);
  return { systemId, stepErrorL, boundL, daysPerLook: stepsPerDay > 0 ? steps / stepsPerDay : null };
}

/** Half the width of what so many litres may really be, by the meter or by the flows that the file states. */
function errorOf(plant: Plant, route: Route, litres: number): number {
  const meter = route.meter === null ? undefined : plant.sensors[route.meter];
  if (meter?.measures === 'total') return litres * meter.uncertainty + meter.lostAtStartL / 2;
  if (meter?.measures === 'flow') return litres * meter.uncertainty;
  const { flowLeastLpm, flowMostLpm, primingMs, runDownMs } = route;
  const spread = (flowMostLpm - flowLeastLpm) / (flowMostLpm + flowLeastLpm);
  return litres * spread + (flowMostLpm * (primingMs + runDownMs)) / 60_000 / 2;
}
