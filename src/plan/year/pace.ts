// How long the next step of the simulated time may be. At rest nothing is decided before the next exchange is due, and a
// step ends there. A batch that is made takes minutes for each stage. While a pump moves a measured volume, a step never
// goes past the moment at which the core would stop it; the last second is taken second by second, because a pump that is
// stopped late delivers more than the real one.
import type { State } from '../../control/process/state.ts';
import type { Plant } from '../../station/plant.ts';
import type { Pace } from '../station-parts.ts';

const RESTING_S = 1800;
/** While a batch is made or turned over. */
const MAKING_MS = 600_000;
const DAY_MS = 86_400_000;
const LEAST_MS = 1000;
/** A pump's lease is renewed well before it ends, and no step skips what a float would say. */
const MOST_PUMPING_MS = 20_000;
/** Of the time that the rest of a volume takes at the greatest flow. */
const CLOSER = 0.8;

/** Devices speak every half an hour, and leases outlast a step: a year of a station that is mostly at rest. */
export const YEAR_PACE: Pace = {
  republishesS: RESTING_S,
  leaseS: 5 * RESTING_S,
  withinS: 1.5 * RESTING_S,
  provenWithinS: 3 * RESTING_S,
  tickWithinS: 3 * RESTING_S,
};

/** Pumps that move water from one vessel to another, by route. Circulation goes round and can wait. */
export function stepsOf(plant: Plant): (state: State) => number {
  const shortestLeaseMs = Math.min(...Object.values(plant.actuators).map(({ leaseMs }) => leaseMs));
  // A lease is renewed when two thirds of it are over.
  const mostMs = Math.min(MOST_PUMPING_MS, Math.floor((2 * shortestLeaseMs) / 3));
  const moving = Object.values(plant.routes).filter(({ pumped, loop }) => pumped && !loop);
  const stirrers = [
    ...new Set(
      Object.values(plant.routes).flatMap(({ loop, through }) =>
        loop ? through.filter((id) => plant.actuators[id]?.kind === 'pump') : [],
      ),
    ),
  ];
  const switches = [
    ...new Set(moving.flatMap(({ through }) => through.filter((id) => plant.actuators[id]?.kind === 'pump'))),
  ];
  return (state) => {
    const on = switches.filter((id) => state.devices[id]?.on);
    if (on.length === 0) {
      const isStopping = switches.some((id) => !state.devices[id]?.provenOff);
      const inStep = Object.values(state.exchange).some(({ step }) => step !== 'rest');
      if (isStopping || inStep) return 2 * LEAST_MS;
      // A request goes on as soon as the system has settled: a long step would only be a long wait.
      const isAsked = Object.values(state.exchange).some(({ requestedL }) => requestedL > 0);
      if (isAsked && state.batch.stage === 'ready') return MOST_PUMPING_MS / 2;
      const isMaking = state.batch.stage !== 'ready' || stirrers.some((id) => state.devices[id]?.on);
      return isMaking ? MAKING_MS : untilDueMs(plant, state);
    }
    const leftMs = moving
      .filter(({ through }) => through.some((id) => on.includes(id)))
      .map(({ id, flowMostLpm }) => (leftL(plant, state, id) / flowMostLpm) * 60_000);
    const closer = Math.floor(CLOSER * Math.min(...leftMs));
    return Math.max(LEAST_MS, Math.min(mostMs, closer));
  };
}

/** Until the first system wants a step, if nothing holds it back; a step that is held back is looked for now and then. */
function untilDueMs(plant: Plant, state: State): number {
  const waits = Object.entries(state.exchange).map(([id, { dueL }]) => {
    const aims = plant.process.exchange[id];
    const dayL = (aims?.perDayShare ?? 0) * (plant.vessels[id]?.volumeL ?? 0);
    if (aims === undefined || dayL <= 0) return 1000 * RESTING_S;
    const waitMs = ((aims.stepL - dueL) / dayL) * DAY_MS;
    return waitMs > 0 ? Math.max(LEAST_MS, Math.ceil(waitMs)) : MAKING_MS;
  });
  return Math.min(1000 * RESTING_S, ...waits);
}

/** What a route that runs still has to move. */
function leftL(plant: Plant, state: State, routeId: string): number {
  const route = plant.routes[routeId];
  if (route === undefined) return 0;
  const system = state.exchange[route.purpose === 'drain' ? route.from : route.to];
  if (system !== undefined)
    return route.purpose === 'drain' ? system.stepL - system.differenceL : system.differenceL;
  const target = state.vessels[route.to];
  return target === undefined ? 0 : plant.process.batch.contentsL - target.mostL;
}
