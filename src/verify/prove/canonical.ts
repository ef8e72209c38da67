// The canonical form of a core state between two ticks: what can still make a difference, and nothing else.
//
// Everything here is exact: from a state and from its canonical form the core does the same for ever, as long as at least
// one tick passes before it looks again (a test walks both side by side). What is dead is set to one value: a duration that
// every comparison has passed, a wait that the next tick ends whatever it was, a number that only another stage reads.
// Pairs of clocks that are only compared with each other keep their order and lose their age. What is coarser than that
// stands in `abstraction.ts`, and is printed.

import { AGE_CAP_MS } from '../../control/guard/limits.ts';
import { reportsOnlyChanges } from '../../control/guard/quiet.ts';
import type { RouteState } from '../../control/guard/state.ts';
import { unmoved } from '../../control/process/exercise-state.ts';
import { NO_BATCH, NO_PROOFS } from '../../control/process/initial.ts';
import type { BatchState, Procedure, Stage, State, UnitState } from '../../control/process/state.ts';
import { message } from '../../language/message.ts';
import type { Plant } from '../../station/plant.ts';
import { TICK_MS } from './coarse-plant.ts';
import { canonicalVerdicts } from './verdicts.ts';

const upTo = (durationMs: number, mostMs: number): number => Math.min(durationMs, mostMs);
/** Older than every greatest age of the coarse plant. */
const OLD_MS = 2 * TICK_MS;
const CONSTANT_CLOCK = { minuteOfDay: 0, day: 0, trusted: false, ageMs: AGE_CAP_MS };

/** Brings a state, which nobody else holds, into its canonical form. */
export function canonical(plant: Plant, state: State): State {
  state.alarms = {};
  state.announced = [];
  state.upkeep = {};
  state.telling = { failing: [], coming: null };
  state.exercises = unmoved(plant);
  // Only alarms rest on promises; and in simulated water nobody asks what was commissioned.
  Object.assign(state, { promises: {}, commissioned: null });
  state.verdicts = canonicalVerdicts(plant, state.verdicts);
  canonicalGuard(plant, state);
  units(plant, state);
  for (const id in state.tasks) {
    const task = state.tasks[id];
    if (task) state.tasks[id] = { ...task, words: NOTHING };
  }
  return state;
}

/** The guard's part of it alone. */
export function canonicalGuard(plant: Plant, state: State): void {
  state.bypasses = {};
  state.proofs = { ...NO_PROOFS };
  const trips = Object.keys(state.trips);
  if (trips.length > 0) state.trips = Object.fromEntries(trips.sort().map((key) => [key, 0]));
  // The trip of row I-36 remembers it: every reset of that one forgets it.
  state.lost = [];
  restartCounters(plant, state);
  sensors(state);
  devices(plant, state);
  for (const id in state.routes) route(plant, id, state.routes[id] as RouteState);
  vessels(plant, state);
  if (state.water.hand === 'other') Object.assign(state.water, { before: null, beforeBy: '' });
  state.link.echoAgeMs = upTo(state.link.echoAgeMs, OLD_MS);
  state.link.tickAgeMs = 0;
  // Only an alarm asks for it.
  state.link.upMs = 0;
  // Every forgiveness ends within the next tick, unless that one is late itself.
  state.link.lateMs = 0;
  state.clock = CONSTANT_CLOCK;
}

function sensors(state: State): void {
  for (const id in state.sensors) {
    const seen = state.sensors[id];
    if (seen === undefined) continue;
    seen.ageMs = seen.live ? upTo(seen.ageMs, OLD_MS) : OLD_MS;
    // What stands has stood long enough at the next tick, whatever it stood for until now.
    seen.standsMs = 0;
    // It leaks six in a tick, and is clear below two.
    const restless = seen.fault === 'chatter' || seen.fault === 'jumped';
    if (seen.chatter <= LEAKS_IN_A_TICK && !restless) seen.chatter = 0;
  }
}

/** A counter's absolute value means nothing: it starts again after each tick, and so does the water's side of it. */
export function restartCounters(plant: Plant, state: State): State {
  for (const id in state.sensors) {
    const seen = state.sensors[id];
    if (seen && seen.value !== null && plant.sensors[id]?.measures === 'total') seen.value = 0;
  }
  for (const id in state.routes) {
    const pipe = state.routes[id];
    if (pipe && pipe.lastTotalL !== null) pipe.lastTotalL = 0;
  }
  return state;
}
const LEAKS_IN_A_TICK = 6;

function devices(plant: Plant, state: State): void {
  for (const id in state.devices) {
    const device = state.devices[id];
    const actuator = plant.actuators[id];
    if (device === undefined || actuator === undefined) continue;
    device.sinceSentMs = 0;
    // Proven anew at every step, before anybody asks.
    device.provenOff = false;
    device.offsSent = Math.min(device.offsSent, 1);
    device.foreignMs = 0;
    device.foreignOn = false;
    // What disagrees for one tick more is past any wait below a tick: whether it did already is all that counts.
    const forgivenMs = actuator.feedback?.withinMs ?? 0;
    device.disagreesMs =
      forgivenMs < TICK_MS ? upTo(device.disagreesMs, 1) : upTo(device.disagreesMs, forgivenMs + TICK_MS);
    const leaseCounts = actuator.offProvenBy === 'lease' || reportsOnlyChanges(actuator);
    device.leaseLeftMs =
      // That a lamp or an inhibit is off is proven to nobody.
      leaseCounts && actuator.kind !== 'signal' ? upTo(device.leaseLeftMs, actuator.longestMs) : AGE_CAP_MS;
    const dead = !device.feedbackLive || device.feedbackAgeMs > (actuator.feedback?.maxAgeMs ?? 0);
    const heardSince = !dead && device.feedbackAgeMs < device.sinceMs;
    device.feedbackAgeMs = dead ? OLD_MS : device.feedbackAgeMs;
    // The last word of what reports only changes counts for longer than its age.
    if (dead && !(device.feedbackLive && reportsOnlyChanges(actuator))) device.feedback = null;
    // Compared with the age of the feedback and with waits that are over at the next tick.
    device.sinceMs = heardSince ? device.feedbackAgeMs + TICK_MS : 0;
  }
}

function route(plant: Plant, id: string, pipe: RouteState): void {
  const sensor = plant.sensors[plant.routes[id]?.meter ?? ''];
  if (pipe.running === 'no') pipe.runBudgetMs = AGE_CAP_MS;
  // Waits within a run end with its first tick; then only what is left of its budget counts.
  const beyondMs = Math.max(0, pipe.runMs - TICK_MS);
  pipe.runMs -= beyondMs;
  if (pipe.runBudgetMs < AGE_CAP_MS) pipe.runBudgetMs = Math.max(pipe.runBudgetMs - beyondMs, -TICK_MS);
  pipe.lowFlowMs = 0;
  Object.assign(pipe, { movedLeastL: 0, movedMostL: 0, movedL: 0 });
  if (pipe.countL === 0) pipe.hasCounted = false;
  // Row I-14 asks, at the next step at the earliest, whether it has run down.
  const { restMs } = pipe;
  pipe.restMs = pipe.running === 'no' ? upTo(restMs, plant.routes[id]?.runDownMs ?? 0) : 0;
  if (sensor === undefined) {
    Object.assign(pipe, { sinceMeterMs: AGE_CAP_MS, windowMs: 0, windowL: 0, lastTotalL: null });
    pipe.startedSinceMeter = false;
    return;
  }
  // Else asked only whether it rests since before the meter last spoke.
  if (pipe.running === 'no' && restMs > pipe.sinceMeterMs)
    pipe.restMs = upTo(pipe.sinceMeterMs + TICK_MS, AGE_CAP_MS);
  if (sensor.measures !== 'total') Object.assign(pipe, { windowMs: 0, windowL: 0, lastTotalL: null });
  if (!('lostAtStartL' in sensor) || sensor.lostAtStartL === 0) pipe.startedSinceMeter = false;
}

function vessels(plant: Plant, state: State): void {
  for (const id in state.vessels) {
    const held = state.vessels[id];
    if (held === undefined) continue;
    // A contradiction trips at once; the trip remembers it, and a reset forgets it.
    held.contradiction = null;
    held.contradictionMs = 0;
    held.handDrawnL = 0;
    // A second reading comes with the next tick, which is long enough.
    if (held.doubtMs !== null) held.doubtMs = upTo(held.doubtMs, TICK_MS);
    if (plant.vessels[id]?.level === null) held.bookRan = false;
    if (plant.vessels[id]?.handDrawn === null) Object.assign(held, { handBudgetL: 0, handAssumedL: 0 });
    const water = state.salinity[id];
    if (water === undefined) continue;
    // Steady, or beyond, for one tick is for long enough.
    water.steadyMs = 0;
    water.beyondMs = 0;
    if (water.measured === null) water.instrument = '';
    const servesMs = plant.process.batch.measurementServesMs;
    if (water.measuredAgeMs > servesMs)
      Object.assign(water, { measured: null, measuredAgeMs: AGE_CAP_MS, instrument: '' });
    if (water.probeAgeMs > servesMs) Object.assign(water, { probe: null, probeAgeMs: AGE_CAP_MS });
  }
  for (const id in state.heaters) {
    const seen = state.heaters[id];
    if (seen === undefined) continue;
    seen.onMs = Math.min(seen.onMs, 1);
    seen.offMs = upTo(seen.offMs, plant.heaters[id]?.lagMs ?? 0);
  }
}

function units(plant: Plant, state: State): void {
  const { refill, batch, exchange } = state;
  for (const unit of [refill, batch, ...Object.values(exchange)]) clearWords(unit);
  if (refill.flushed) refill.flushMs = 0;
  batchOf(plant, state, batch);
  for (const id in exchange) {
    const work = exchange[id];
    if (work === undefined) continue;
    Object.assign(work, { stepDrainedL: 0, differenceErrorL: 0, restMs: 0, steps: 0 });
    Object.assign(work, { day: 0, todayL: 0, yesterdayL: 0 });
  }
}

const NOTHING = message('nothing');

/** Evidence that has stood since before this tick stands long enough at the next. */
function clearWords(unit: UnitState): void {
  unit.words = NOTHING;
  unit.forMs = 0;
  unit.freshMs = 0;
}

interface Reads {
  /** With what proven circulation is compared: nothing, the waits that one tick ends, a probe's patience, a stirring. */
  readonly circulation: 'no' | 'tick' | 'patience' | 'stirring';
  /** The salt that is asked for, and from which salinity. */
  readonly salt: boolean;
  /** The fresh water that is asked for, and what of it has gone over. */
  readonly water: boolean;
  /** Trims, and what went in so far. */
  readonly past: boolean;
}

/**
 * What of the batch is read in a stage, or in one that follows, before it is written again. A stage that reads what its
 * row denies would be explored as if it did not: the exploration would claim too much.
 */
// biome-ignore format: a table reads as a table
const READS: Readonly<Record<Stage, Reads>> = {
  idle:             { circulation: 'no',       salt: false, water: false, past: false },
  transfer:         { circulation: 'no',       salt: false, water: false, past: false },
  'mix/assess':     { circulation: 'patience', salt: false, water: false, past: true },
  'mix/salt':       { circulation: 'no',       salt: true,  water: false, past: true },
  'mix/dissolve':   { circulation: 'tick',     salt: false, water: false, past: true },
  'mix/measure':    { circulation: 'patience', salt: false, water: false, past: true },
  'mix/trim-salt':  { circulation: 'no',       salt: true,  water: false, past: true },
  'mix/trim-water': { circulation: 'no',       salt: false, water: true,  past: true },
  heat:             { circulation: 'no',       salt: false, water: false, past: true },
  ready:            { circulation: 'stirring', salt: false, water: false, past: true },
};

function batchOf(plant: Plant, state: State, batch: BatchState): void {
  const reads = READS[batch.stage];
  const probed = (plant.vessels[plant.mixingId]?.conductivity ?? null) !== null;
  batch.circulatedMs = circulatedMs(plant, reads, batch, probed);
  clocks(state, batch);
  batch.movedL = reads.water ? batch.movedL : 0;
  batch.askedL = reads.water ? batch.askedL : 0;
  batch.askedKg = reads.salt ? batch.askedKg : 0;
  batch.askedAt = reads.salt && probed ? batch.askedAt : 0;
  if (!reads.past) batch.trims = 0;
  if (!reads.past) Object.assign(batch, { salted: null, salinityBefore: 0, saltAddedKg: 0 });
  // Only the journal reads these.
  Object.assign(batch, { leftoverL: 0, leftoverSalinity: null });
  Object.assign(batch, { systemShiftK: null, number: 0 });
  batch.sinceCirculatedMs = upTo(batch.sinceCirculatedMs, plant.process.batch.circulateEveryMs);
  if (ENDED.includes(batch.procedure)) Object.assign(batch, FORGOTTEN);
}
const ENDED: readonly Procedure[] = ['stopping', 'stopped', 'aborting', 'aborted'];
/** Of a batch that is given up: nobody resumes it, and the next one begins with all this anew. */
// biome-ignore format: a list reads as a list
const FORGOTTEN: Partial<BatchState> = Object.fromEntries(
  ([
    'circulatedMs', 'moving', 'movedL', 'askedKg', 'askedAt', 'askedL', 'trims', 'salted', 'salinityBefore',
    'saltAddedKg', 'saltAddedNowKg', 'confirmed', 'doubted', 'doubtedBy',
  ] as const).map((field) => [field, NO_BATCH[field]]),
);

function circulatedMs(plant: Plant, reads: Reads, batch: BatchState, probed: boolean): number {
  const { moving, circulatedMs: ms } = batch;
  if (reads.circulation === 'stirring') return moving ? upTo(ms, plant.process.batch.circulateForMs) : 0;
  if (reads.circulation === 'patience') return upTo(ms, probed ? PATIENCE_TICKS * TICK_MS : TICK_MS);
  return reads.circulation === 'tick' ? upTo(ms, TICK_MS) : 0;
}
/** More than the core's patience with a probe that does not become steady, or gives no valid reading. */
export const PATIENCE_TICKS = 7;

/**
 * The age of a stage is compared with the budget of heating, with circulation within it, and with the age of what a person
 * measured: a measurement older than its stage does not count.
 */
function clocks(state: State, batch: BatchState): void {
  if (batch.stage === 'heat') {
    const beyondMs = batch.heatBudgetMs > 0 ? Math.max(0, batch.stageMs - TICK_MS) : 0;
    batch.stageMs = batch.heatBudgetMs > 0 ? batch.stageMs - beyondMs : 0;
    // Never none, which would mean that it was not worked out yet.
    if (beyondMs > 0) batch.heatBudgetMs = Math.max(batch.heatBudgetMs - beyondMs, 1);
    return;
  }
  if (batch.stage !== 'ready') batch.heatBudgetMs = 0;
  // A person who lets a stuck measurement go on begins its stage anew, and not its circulation.
  let leastMs = batch.stage === 'mix/measure' ? Math.min(batch.circulatedMs, batch.stageMs) : 0;
  for (const id in state.salinity) {
    const water = state.salinity[id];
    if (water !== undefined && water.measured !== null && water.measuredAgeMs < batch.stageMs)
      leastMs = Math.max(leastMs, water.measuredAgeMs + TICK_MS);
  }
  batch.stageMs = leastMs;
}
