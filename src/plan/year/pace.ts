// How long the next step of the simulated time may be. At rest nothing is decided before the next exchange is due, and a
// step ends there. A batch that is made takes minutes for each stage. While a pump moves a measured volume, a step never
// goes past the moment at which the core would stop it; the last second is taken second by second, because a pump that is
// stopped late delivers more than the real one.
import type { State } from '../../control/process/state.ts';
import { plantOf } from '../../station/compile.ts';
import type { StationFile } from '../../station/file/station.ts';
import type { Plant } from '../../station/plant.ts';
import type { Pace } from '../station-parts.ts';

const RESTING_S = 1800;
/** While a batch is made or turned over. */
const MAKING_MS = 600_000;
/** The same while somebody waits for water. */
const ASKED_MS = 60_000;
const DAY_MS = 86_400_000;
const LEAST_MS = 1000;
/** A pump's lease is renewed well before it ends, and no step skips what a float would say. */
const MOST_PUMPING_MS = 20_000;
/** Of the time that the rest of a volume takes at the greatest flow. */
const CLOSER = 0.8;

/** Devices speak every half an hour, and leases outlast a step: a year of a station that is mostly at rest. */
const YEAR_PACE: Pace = {
  republishesS: RESTING_S,
  leaseS: 5 * RESTING_S,
  withinS: 1.5 * RESTING_S,
  provenWithinS: 3 * RESTING_S,
  tickWithinS: 3 * RESTING_S,
};

/**
 * The drafted station at that pace. Its owner does the proof tests in time: a year of untried floats would be another
 * question than how much water there is. Devices get leases that outlast a step; what the rows reckon with stays as it is.
 */
function pacedPlant(file: StationFile): Plant {
  const plant = plantOf(file);
  const leaseMs = 1000 * YEAR_PACE.leaseS;
  return {
    ...plant,
    actuators: Object.fromEntries(
      Object.entries(plant.actuators).map(([id, actuator]) => [
        id,
        { ...actuator, leaseMs, longestMs: leaseMs },
      ]),
    ),
    policy: { ...plant.policy, proofTests: { everyMs: Number.MAX_SAFE_INTEGER, graceMs: 0 } },
  };
}

/** What takes minutes is stepped through in seconds: water that a pump or a fall moves, and whatever begins or ends. */
export function stepsOf(plant: Plant): (state: State) => number {
  const routes = Object.values(plant.routes).filter(({ purpose }) => purpose !== 'refill');
  const moving = routes.filter(({ loop }) => !loop);
  const switches = [...new Set(routes.flatMap(({ through }) => through))];
  return (state) => {
    const isOn = (id: string) => state.devices[id]?.on === true;
    const running = moving.filter(({ through }) => through.every(isOn));
    if (running.length > 0) {
      const leftMs = running.map(({ id, flowMostLpm }) => (leftL(plant, state, id) / flowMostLpm) * 60_000);
      return Math.max(LEAST_MS, Math.min(MOST_PUMPING_MS, Math.floor(CLOSER * Math.min(...leftMs))));
    }
    const stirring = routes.filter(({ loop, through }) => loop && through.every(isOn));
    // Valves open before their pump starts, and a pump is heard to have stopped before anything else begins.
    const isChanging = switches.some(
      (id) =>
        (isOn(id) || state.devices[id]?.provenOff !== true) &&
        !stirring.some(({ through }) => through.includes(id)),
    );
    const inStep = Object.values(state.exchange).some(({ step }) => step !== 'rest');
    if (isChanging || inStep) return 2 * LEAST_MS;
    // A request goes on as soon as it can: a long step would only be a long wait, and somebody counts the hours.
    const isAsked = Object.values(state.exchange).some(({ requestedL }) => requestedL > 0);
    if (isAsked) return state.batch.stage === 'ready' ? MOST_PUMPING_MS / 2 : ASKED_MS;
    return state.batch.stage !== 'ready' || stirring.length > 0 ? MAKING_MS : untilDueMs(plant, state);
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

/** How a planned station is run: by which file, and in which steps. */
export interface Running {
  readonly pace: Pace;
  readonly plantOf: (file: StationFile) => Plant;
  readonly stepsOf: (plant: Plant) => (state: State) => number;
}

/** In seconds for a year. A test runs the same in the short steps of a real service. */
export const PACED: Running = { pace: YEAR_PACE, plantOf: pacedPlant, stepsOf };
