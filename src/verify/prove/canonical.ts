// The canonical form of a core state between two ticks: what can still make a difference, and nothing else. Durations stop
// counting once every comparison with them has been passed, amounts are rounded to the grid, and what feeds no decision is
// left out. The explorer goes on FROM the canonical state, so what is abstracted here is abstracted from the proof.
//
// Each entry of ABSTRACTED is a promise about what the proof does not say; `prove` prints them.

import { unmoved } from '../../control/exercise-state.ts';
import { AGE_CAP_MS } from '../../control/limits.ts';
import type { Stage, State } from '../../control/state.ts';
import type { Plant } from '../../station/plant.ts';
import { SERVES_TICKS, TICK_MS } from './coarse-plant.ts';

export const ABSTRACTED: readonly { readonly what: string; readonly how: string }[] = [
  { what: 'alarm records', how: 'left out: no stage of the core reads them (a test holds that)' },
  { what: 'words, and counters that are only shown', how: 'left out: they decide nothing' },
  { what: 'learned yield of the salt', how: 'never learned: the stated yield serves' },
  { what: 'age of a batch', how: 'never past its limit' },
  { what: 'hours that a person may take', how: "never past the core's patience of four hours" },
  {
    what: 'the hour after which a level book is opened anew',
    how: 'never passes; noise of the level is rounded away',
  },
  { what: 'credit for starts in an hour', how: 'never used up (the rest between two runs is explored)' },
  { what: 'credit for restarts in a day', how: 'whole restarts, never earned back' },
  { what: 'forgetting of stray litres', how: "never forgotten; a person's reset clears them" },
  { what: 'time of day and quiet hours', how: 'the clock never counts' },
  { what: 'proof tests and bypasses', how: 'none is under way, none is overdue: nobody switches a row off' },
  {
    what: 'exercise of valves that stood still for weeks',
    how: 'none is due (its rows forbid it while water could move)',
  },
  { what: 'exchange that is due', how: 'counted up to two steps' },
];

const QUARTER = 4;
const grid = (value: number): number => Math.round(value * QUARTER) / QUARTER;
const gridOrNull = (value: number | null): number | null => (value === null ? null : grid(value));
const fine = (value: number): number => Math.round(value * 1000) / 1000;
const fineOrNull = (value: number | null): number | null => (value === null ? null : fine(value));
const upTo = (durationMs: number, mostMs: number): number => Math.min(durationMs, mostMs);
/** In how many ticks of a stage, and of circulation within it, anything can still change; everywhere else two are enough. */
const STAGE_TICKS: Readonly<Partial<Record<Stage, number>>> = {
  'mix/assess': SERVES_TICKS + 1,
  'mix/measure': SERVES_TICKS + 1,
  heat: 10,
  ready: SERVES_TICKS + 1,
};
/** Far more than three doses: a sum that nobody compares. */
const MOST_SALT_KG = 1;
const MOST_PENDING = 16;
const ASKS_FOR_SALT: readonly Stage[] = ['mix/salt', 'mix/trim-salt'];
const CIRCULATED_TICKS: Readonly<Partial<Record<Stage, number>>> = { 'mix/measure': 5 };

/** Brings a state, which nobody else holds, into its canonical form. */
export function canonical(plant: Plant, state: State): State {
  state.alarms = {};
  state.announced = [];
  state.bypasses = {};
  state.proofs = {
    pendingMs: 0,
    sinceStartMs: 0,
    sinceMs: {},
    dueSoon: 0,
    overdue: 0,
    beyondGrace: 0,
    test: null,
  };
  state.exercises = unmoved(plant);
  const trips = Object.keys(state.trips).sort();
  state.trips = Object.fromEntries(trips.map((key) => [key, 0]));
  sensors(plant, state);
  devices(plant, state);
  routes(plant, state);
  vessels(plant, state);
  units(plant, state);
  state.link.echoAgeMs = upTo(state.link.echoAgeMs, 2 * TICK_MS);
  state.link.tickAgeMs = upTo(state.link.tickAgeMs, 2 * TICK_MS);
  state.clock = { minuteOfDay: 0, day: 0, trusted: false, ageMs: AGE_CAP_MS };
  return state;
}

function sensors(plant: Plant, state: State): void {
  for (const id in state.sensors) {
    const seen = state.sensors[id];
    const sensor = plant.sensors[id];
    if (seen === undefined || sensor === undefined) continue;
    seen.ageMs = upTo(seen.ageMs, 2 * TICK_MS);
    seen.standsMs = 'believeStartMs' in sensor ? upTo(seen.standsMs, TICK_MS) : 0;
    // It leaks six in a tick: what is above two ticks' worth is believed again no later for being more.
    seen.chatter = Math.min(grid(seen.chatter), 12);
    if (sensor.measures === 'total') seen.value = 0;
  }
}

function devices(plant: Plant, state: State): void {
  for (const id in state.devices) {
    const device = state.devices[id];
    if (device === undefined) continue;
    device.sinceMs = upTo(device.sinceMs, 2 * TICK_MS);
    device.sinceSentMs = 0;
    device.offsSent = Math.min(device.offsSent, 1);
    device.feedbackAgeMs = upTo(device.feedbackAgeMs, 2 * TICK_MS);
    device.disagreesMs = upTo(device.disagreesMs, 2 * TICK_MS);
    const actuator = plant.actuators[id];
    device.leaseLeftMs =
      actuator?.offProvenBy === 'lease' ? upTo(device.leaseLeftMs, actuator.leaseMs) : AGE_CAP_MS;
  }
}

function routes(plant: Plant, state: State): void {
  for (const id in state.routes) {
    const pipe = state.routes[id];
    if (pipe === undefined) continue;
    const bounded = pipe.runBudgetMs < AGE_CAP_MS;
    if (pipe.running === 'no') pipe.runBudgetMs = AGE_CAP_MS;
    else pipe.runBudgetMs = bounded ? Math.ceil(pipe.runBudgetMs / TICK_MS) * TICK_MS : AGE_CAP_MS;
    pipe.runMs = upTo(pipe.runMs, bounded ? pipe.runBudgetMs + TICK_MS : 2 * TICK_MS);
    pipe.restMs = upTo(pipe.restMs, 2 * TICK_MS);
    // More than any vat holds is no more doubt than that.
    pipe.pendingLeastL = Math.min(grid(pipe.pendingLeastL), MOST_PENDING);
    pipe.pendingMostL = Math.min(grid(pipe.pendingMostL), MOST_PENDING);
    pipe.movedLeastL = 0;
    pipe.movedMostL = 0;
    if (pipe.lastTotalL !== null) pipe.lastTotalL = 0;
    pipe.sinceMeterMs = upTo(pipe.sinceMeterMs, 4 * TICK_MS);
    const metered = plant.routes[id]?.meter !== null;
    pipe.windowMs = metered ? upTo(pipe.windowMs, 4 * TICK_MS) : 0;
    pipe.windowL = grid(pipe.windowL);
    pipe.flowLpm = fineOrNull(pipe.flowLpm);
    pipe.lowFlowMs = upTo(pipe.lowFlowMs, TICK_MS);
    pipe.strayL = Math.min(grid(pipe.strayL), 2);
    pipe.starts = plant.routes[id]?.startsPerHour ?? 0;
  }
}

function vessels(plant: Plant, state: State): void {
  for (const id in state.vessels) {
    const held = state.vessels[id];
    if (held === undefined) continue;
    held.settledLeastL = grid(held.settledLeastL);
    held.settledMostL = grid(held.settledMostL);
    held.leastL = grid(held.leastL);
    held.mostL = grid(held.mostL);
    held.bookLeastL = gridOrNull(held.bookLeastL);
    held.bookMostL = gridOrNull(held.bookMostL);
    held.bookMs = 0;
    held.mismatchL = grid(held.mismatchL);
    held.handBudgetL = grid(held.handBudgetL);
    held.handAssumedL = grid(held.handAssumedL);
    held.handDrawnL = 0;
    const water = state.salinity[id];
    if (water === undefined) continue;
    water.probe = fineOrNull(water.probe);
    water.anchor = fineOrNull(water.anchor);
    const servesMs = plant.process.batch.measurementServesMs + TICK_MS;
    water.probeAgeMs = upTo(water.probeAgeMs, servesMs);
    water.measuredAgeMs = upTo(water.measuredAgeMs, servesMs);
    // What is too old to serve might as well never have been said.
    if (water.measuredAgeMs > plant.process.batch.measurementServesMs) water.measured = null;
    if (water.probeAgeMs > plant.process.batch.measurementServesMs) water.probe = null;
    water.beyondMs = upTo(water.beyondMs, TICK_MS);
    water.steadyMs = upTo(water.steadyMs, plant.process.batch.steadyOverMs + TICK_MS);
    water.instrument = '';
  }
  for (const id in state.heaters) {
    const seen = state.heaters[id];
    if (seen === undefined) continue;
    seen.onMs = Math.min(seen.onMs, 1);
    seen.offMs = upTo(seen.offMs, 2 * TICK_MS);
  }
}

function units(plant: Plant, state: State): void {
  const { refill, batch, exchange } = state;
  for (const unit of [refill, batch, ...Object.values(exchange)]) {
    unit.words = '';
    unit.forMs = 0;
    unit.freshMs = upTo(unit.freshMs, 2 * TICK_MS);
    unit.restarts = Math.floor(unit.restarts);
  }
  const probed = plant.vessels[plant.mixingId]?.conductivity !== null;
  Object.assign(batch, {
    stageMs: upTo(batch.stageMs, (STAGE_TICKS[batch.stage] ?? 1) * TICK_MS),
    circulatedMs: upTo(batch.circulatedMs, (CIRCULATED_TICKS[batch.stage] ?? 2) * TICK_MS),
    movedL: batch.stage === 'mix/trim-water' ? grid(batch.movedL) : 0,
    askedKg: ASKS_FOR_SALT.includes(batch.stage) ? fine(batch.askedKg) : 0,
    askedL: batch.stage === 'mix/trim-water' ? grid(batch.askedL) : 0,
    // Only where no probe says what is in the vat.
    askedAt: ASKS_FOR_SALT.includes(batch.stage) ? fine(batch.askedAt) : 0,
    doubted: batch.doubted === null ? null : 0,
    leftoverL: probed ? 0 : grid(batch.leftoverL),
    leftoverSalinity: probed ? null : fineOrNull(batch.leftoverSalinity),
    acceptedSalinity: fineOrNull(batch.acceptedSalinity),
    salinityBefore: fine(batch.salinityBefore),
    saltAddedKg: Math.min(fine(batch.saltAddedKg), MOST_SALT_KG),
    saltAddedNowKg: fine(batch.saltAddedNowKg),
    ageMs: 0,
    sinceCirculatedMs: upTo(batch.sinceCirculatedMs, plant.process.batch.circulateEveryMs),
    heatBudgetMs: Math.ceil(batch.heatBudgetMs / TICK_MS) * TICK_MS,
    systemShiftK: null,
    yields: [],
    number: 0,
  });
  for (const id in exchange) {
    const work = exchange[id];
    if (work === undefined) continue;
    const step = plant.process.exchange[id]?.stepL ?? 1;
    Object.assign(work, {
      dueL: Math.min(grid(work.dueL), 2 * step),
      requestedL: grid(work.requestedL),
      stepL: grid(work.stepL),
      stepDrainedL: 0,
      differenceL: grid(work.differenceL),
      differenceErrorL: 0,
      restMs: upTo(work.restMs, 2 * TICK_MS),
      day: 0,
      todayL: 0,
      yesterdayL: 0,
      steps: 0,
    });
  }
  for (const id in state.tasks) {
    const task = state.tasks[id];
    if (task) state.tasks[id] = { ...task, words: '', massKg: fineOrNull(task.massKg) };
  }
}
