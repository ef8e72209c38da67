// Every wait of refill, batch and exchange, as one table: when a unit is in it, what ends it, the longest that it may last,
// and by which alarm a person is told then. `promises.ts` finds the first row that applies, counts, and raises the alarm.
// A unit that owes something and makes no headway is always in one of these: the last row of each unit takes what is left.

import type { Plant } from '../../station/plant.ts';
import { isAllowed } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { sidesOf } from '../guard/ledger.ts';
import {
  COME_TO_REST_MS,
  FLUSH_MOST_MS,
  PERSON_PATIENCE_MS,
  PROMISE_GRACE,
  STANDSTILL_MS,
  STEADY_PATIENCE,
} from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { checking, doing, inCase, respond, THEN_RESUME } from '../guard/response.ts';
import type { Priority } from '../guard/types.ts';
import { starterOf } from './commissioned.ts';
import { isInStep, isTooLittle, wantedL } from './demand.ts';
import { deliverableL } from './on-hand.ts';
import { isRunning } from './procedure.ts';
import { batchIsReady } from './stage-ready.ts';
import type { Stage, State, UnitState } from './state.ts';
import { isQuiet } from './units.ts';

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

/** `refill`, `batch`, or the id of a system. */
export type UnitId = string;

export interface Wait {
  readonly id: string;
  readonly of: 'any' | 'refill' | 'batch' | 'exchange';
  /** It is in this wait, unless an earlier row applies. */
  readonly is: (plant: Plant, state: State, unit: UnitId) => boolean;
  /** What ends it, for people who read this table. */
  readonly ends: string;
  readonly longestMs: (plant: Plant, state: State, unit: UnitId) => number;
  /** The alarm that tells a person: `A-10` is the watchdog's own; the others are raised elsewhere, for the same wait. */
  readonly told: 'A-10' | 'A-01' | 'A-02' | 'trip';
  readonly priority: Priority;
  /** Only a person ends it: what they have to do. Null: it goes on by itself once its cause is gone. */
  readonly person: Message | null;
  /** What stands in its way, where that is the same each time; absent: what is found then. */
  readonly why?: Message;
}

export const unitOf = (state: State, unit: UnitId): UnitState =>
  unit === 'refill' ? state.refill : unit === 'batch' ? state.batch : known(state.exchange, unit);

const constant = (ms: number) => (): number => ms;
const isProcedure =
  (...names: readonly UnitState['procedure'][]) =>
  (_: Plant, state: State, unit: UnitId): boolean =>
    names.includes(unitOf(state, unit).procedure);

/** How long quiet hours last, ms. */
function quietMs({ process }: Plant): number {
  const hours = process.quietHours;
  if (hours === null) return 0;
  const minutes = (hours.toMinute - hours.fromMinute + 1440) % 1440;
  return (minutes === 0 ? 1440 : minutes) * MINUTE_MS;
}

const flowOf = (plant: Plant, ...purposes: readonly string[]): number =>
  Math.min(
    ...Object.values(plant.routes)
      .filter(({ purpose }) => purposes.includes(purpose))
      .map(({ flowLeastLpm }) => flowLeastLpm),
  );
const fillMs = (litres: number, leastLpm: number): number =>
  Number.isFinite(leastLpm) ? (litres / leastLpm) * MINUTE_MS : 0;

/** The file's slowest, once over: the water of a batch purified, moved, salted, dissolved, measured and heated. */
const slowest = perPlant((plant) => {
  const { batch, refill } = plant.process;
  const { dissolveMs, settleMs, steadyOverMs, contentsL, trims } = batch;
  const waterMs =
    fillMs(contentsL, flowOf(plant, 'refill')) +
    fillMs(contentsL, flowOf(plant, 'transfer')) +
    quietMs(plant);
  const measureMs = STEADY_PATIENCE * (settleMs + steadyOverMs) + dissolveMs;
  const heatMs = plant.process.temperature === null ? 0 : HEATING_MS;
  const vatL = plant.freshId === null ? 0 : known(plant.vessels, plant.freshId).capacityL;
  return {
    waterMs,
    refillMs: refill === null ? 0 : fillMs(vatL, flowOf(plant, 'refill')),
    measureMs,
    batchMs: waterMs + (1 + trims) * (dissolveMs + measureMs) + heatMs + 2 * PERSON_PATIENCE_MS,
  };
});
/** A heater that needs longer is told by its own budget; the promise only asks whether a day has passed. */
const HEATING_MS = DAY_MS;

const fresh = (state: State, plant: Plant): number =>
  known(state.vessels, plant.freshId ?? plant.mixingId).leastL;
const isBelowMark = (plant: Plant, state: State): boolean =>
  plant.process.refill !== null && fresh(state, plant) < plant.process.refill.startBelowL;
const isWanted = (plant: Plant, state: State): boolean =>
  Object.keys(state.exchange).some(
    (id) => isRunning(known(state.exchange, id)) && wantedL(plant, state, id) > 0,
  );
const stage =
  (...stages: readonly Stage[]) =>
  (_: Plant, { batch }: State): boolean =>
    batch.procedure === 'running' && stages.includes(batch.stage);
const isMixing = stage('mix/assess', 'mix/salt', 'mix/dissolve', 'mix/measure', 'mix/trim-salt', 'heat');
const held = (state: State, plant: Plant) => known(state.vessels, plant.mixingId);
const circulateRoutes = perPlant((plant) =>
  Object.values(plant.routes)
    .filter(({ purpose }) => purpose === 'circulate')
    .map(({ id }) => id),
);
const hasTask = (plant: Plant, state: State): boolean => (state.tasks[plant.mixingId] ?? null) !== null;
const refillRoute = perPlant((plant) => Object.values(plant.routes).find((r) => r.purpose === 'refill'));
const stepMs = (plant: Plant, unit: UnitId): number => {
  const { stepL, settleMs } = known(plant.process.exchange, unit);
  const { drain, supply } = known(sidesOf(plant), unit);
  return settleMs + fillMs(stepL, drain?.flowLeastLpm ?? 1) + fillMs(stepL, supply?.flowLeastLpm ?? 1);
};
const someLonger = (plant: Plant): number =>
  Math.max(0, ...Object.keys(plant.process.exchange).map((id) => stepMs(plant, id)));

const RESUME = respond(checking(message('check-why-stopped')), THEN_RESUME);
const START = respond(doing(message('do-start')), inCase(message('if-it-should-start-by-itself')));
const LOST = respond(checking(message('check-where-batch-went')), doing(message('do-stop-and-reset-batch')));
const MEND = null;

// biome-ignore format: a table reads as a table
export const WAITS: readonly Wait[] = [
  { id: 'paused', of: 'any', ends: 'a person lets it go on', told: 'A-10', priority: 'notice', person: RESUME,
    why: message('person-holds'), is: (_, state, unit) => unitOf(state, unit).cause === 'person' && unitOf(state, unit).procedure === 'held',
    longestMs: constant(PERSON_PATIENCE_MS) },
  { id: 'stopped', of: 'any', ends: 'a person resets it', told: 'A-10', priority: 'notice', person: RESUME,
    why: message('person-stopped'), is: isProcedure('stopped', 'aborted'), longestMs: constant(PERSON_PATIENCE_MS) },
  { id: 'coming-to-rest', of: 'any', ends: 'its outputs are proven off', told: 'A-10', priority: 'soon', person: MEND,
    why: message('outputs-not-proven-off'), is: isProcedure('holding', 'stopping', 'aborting'), longestMs: constant(COME_TO_REST_MS) },
  { id: 'tripped', of: 'any', ends: 'a person resets the trip', told: 'trip', priority: 'soon', person: RESUME,
    is: (_, state, unit) => unitOf(state, unit).cause === 'trip' && Object.keys(state.trips).length > 0, longestMs: constant(COME_TO_REST_MS) },
  { id: 'held', of: 'any', ends: 'the policy lets it go on, or a person does', told: 'A-01', priority: 'soon', person: RESUME,
    is: isProcedure('held'), longestMs: constant(COME_TO_REST_MS) },
  { id: 'restarting', of: 'any', ends: 'what it needs is fresh', told: 'A-10', priority: 'soon', person: MEND,
    is: isProcedure('restarting'), longestMs: constant(STANDSTILL_MS) },

  { id: 'refill-by-a-person', of: 'refill', ends: 'a person starts the refill', told: 'A-10', priority: 'notice', person: START,
    why: message('only-person-starts'), is: (plant, state) => !isRunning(state.refill) && starterOf(plant, state, 'refill') === 'person' && isBelowMark(plant, state),
    longestMs: constant(PERSON_PATIENCE_MS) },
  { id: 'quiet-hours', of: 'refill', ends: 'quiet hours are over', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state) => !isRunning(state.refill) && isBelowMark(plant, state) && isQuiet(plant, state, 'refill') !== 'no',
    longestMs: (plant) => quietMs(plant) + STANDSTILL_MS },
  { id: 'flush', of: 'refill', ends: 'the purifier is rinsed', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, { refill }) => isRunning(refill) && !refill.flushed && Object.values(plant.routes).some((r) => r.purpose === 'flush'),
    longestMs: constant(FLUSH_MOST_MS + STANDSTILL_MS) },
  { id: 'no-way-to-fill', of: 'refill', ends: 'no row forbids the refill', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state) => isRunning(state.refill) && !isAllowed(state, refillRoute(plant)?.id ?? ''),
    longestMs: constant(STANDSTILL_MS) },
  { id: 'filling', of: 'refill', ends: 'the fresh vat is full', told: 'A-10', priority: 'soon', person: MEND,
    why: message('slower-than-least-flow'), is: (_, { refill }) => isRunning(refill), longestMs: (plant) => PROMISE_GRACE * slowest(plant).refillMs + STANDSTILL_MS },
  { id: 'fresh-vat-below-its-mark', of: 'refill', ends: 'the refill starts', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state) => isBelowMark(plant, state), longestMs: constant(STANDSTILL_MS) },

  { id: 'task', of: 'batch', ends: 'a person does what is asked', told: 'A-02', priority: 'notice', person: MEND,
    is: (plant, state) => isRunning(state.batch) && hasTask(plant, state), longestMs: constant(PERSON_PATIENCE_MS) },
  { id: 'batch-by-a-person', of: 'batch', ends: 'a person starts the batch', told: 'A-10', priority: 'notice', person: START,
    why: message('only-person-starts'), is: (plant, state) => !isRunning(state.batch) && starterOf(plant, state, 'batch') === 'person' && isWanted(plant, state),
    longestMs: constant(PERSON_PATIENCE_MS) },
  { id: 'water-for-a-batch', of: 'batch', ends: 'there is enough fresh water, and quiet hours are over', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state) => !isRunning(state.batch) && starterOf(plant, state, 'batch') === 'itself',
    longestMs: (plant) => PROMISE_GRACE * slowest(plant).waterMs + STANDSTILL_MS },
  { id: 'too-little-to-mix', of: 'batch', ends: 'a person stops the batch and resets it', told: 'A-10', priority: 'soon', person: LOST,
    is: (plant, state) => isMixing(plant, state) && held(state, plant).leastL < known(plant.vessels, plant.mixingId).minimumL && !circulateRoutes(plant).some((id) => isAllowed(state, id)),
    longestMs: constant(STANDSTILL_MS) },
  { id: 'water-goes-over', of: 'batch', ends: 'the vat holds what a batch needs', told: 'A-10', priority: 'soon', person: MEND,
    is: stage('idle', 'transfer', 'mix/trim-water'), longestMs: (plant) => PROMISE_GRACE * slowest(plant).waterMs + STANDSTILL_MS },
  { id: 'salt', of: 'batch', ends: 'the doser has dosed, or a person has poured', told: 'A-10', priority: 'soon', person: MEND,
    is: stage('mix/salt', 'mix/trim-salt'), longestMs: constant(STANDSTILL_MS) },
  { id: 'dissolving', of: 'batch', ends: 'it has circulated for long enough', told: 'A-10', priority: 'soon', person: MEND,
    is: stage('mix/dissolve'), longestMs: ({ process }) => PROMISE_GRACE * process.batch.dissolveMs + STANDSTILL_MS },
  { id: 'measuring', of: 'batch', ends: 'a valid salinity', told: 'A-10', priority: 'soon', person: MEND,
    is: stage('mix/assess', 'mix/measure'), longestMs: (plant) => slowest(plant).measureMs + STANDSTILL_MS },
  { id: 'heating', of: 'batch', ends: 'the vat is warm', told: 'A-10', priority: 'soon', person: MEND,
    is: stage('heat'), longestMs: (_, { batch }) => batch.heatBudgetMs + STANDSTILL_MS },

  { id: 'quiet-hours', of: 'exchange', ends: 'quiet hours are over', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state, unit) => !isInStep(known(state.exchange, unit)) && known(state.exchange, unit).requestedL <= 0 && isQuiet(plant, state, 'exchange') !== 'no',
    longestMs: (plant) => quietMs(plant) + STANDSTILL_MS },
  { id: 'pace', of: 'exchange', ends: 'the time between two steps is over', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state, unit) => known(state.exchange, unit).restMs < restMs(plant, unit) && !isInStep(known(state.exchange, unit)),
    longestMs: (plant, _, unit) => restMs(plant, unit) + STANDSTILL_MS },
  { id: 'next-batch', of: 'exchange', ends: 'a batch is ready', told: 'A-10', priority: 'soon', person: MEND,
    is: (_, state) => !batchIsReady(state), longestMs: (plant) => PROMISE_GRACE * slowest(plant).batchMs },
  { id: 'too-little-in-the-vat', of: 'exchange', ends: 'what is left goes into the next batch', told: 'A-10', priority: 'soon', person: MEND,
    is: (plant, state, unit) => deliverableL(plant, state) < wantedL(plant, state, unit) || isTooLittle(plant, state),
    longestMs: (plant) => PROMISE_GRACE * someLonger(plant) + STANDSTILL_MS },
  { id: 'in-a-step', of: 'exchange', ends: 'so much is drained and delivered, or a row forbids it', told: 'A-10', priority: 'soon', person: MEND,
    is: (_, state, unit) => isInStep(known(state.exchange, unit)), longestMs: (plant, _, unit) => PROMISE_GRACE * stepMs(plant, unit) + STANDSTILL_MS },
  { id: 'forbidden', of: 'exchange', ends: 'no row forbids drain or supply, and no other system is in a step', told: 'A-10', priority: 'soon', person: MEND,
    is: () => true, longestMs: (plant) => PROMISE_GRACE * someLonger(plant) + STANDSTILL_MS },
];

/** The least that lies between two steps that are not asked for. */
function restMs(plant: Plant, unit: UnitId): number {
  const { perDayShare, stepL, settleMs } = known(plant.process.exchange, unit);
  const dayL = perDayShare * known(plant.vessels, unit).volumeL;
  return dayL > 0 ? Math.max(settleMs, ((stepL / dayL) * DAY_MS) / 2) : settleMs;
}

/** In which wait a unit is; undefined: it owes nothing now. */
export function waitOf(plant: Plant, state: State, unit: UnitId): Wait | undefined {
  const kind = unit === 'refill' || unit === 'batch' ? unit : 'exchange';
  if (!owes(plant, state, unit)) return undefined;
  return WAITS.find((wait) => (wait.of === 'any' || wait.of === kind) && wait.is(plant, state, unit));
}

/** A unit that rests because nothing is wanted of it owes nothing, and nor does a batch that is ready. */
function owes(plant: Plant, state: State, unit: UnitId): boolean {
  const { procedure } = unitOf(state, unit);
  if (unit === 'refill') return plant.process.refill !== null;
  if (unit === 'batch') return !batchIsReady(state);
  if (procedure === 'idle' || procedure === 'complete') return false;
  return procedure !== 'running' || isInStep(known(state.exchange, unit)) || wantedL(plant, state, unit) > 0;
}

/** However it goes from wait to wait: without any headway for so long a unit is overdue. */
export const overdueAfterMs = (plant: Plant, unit: UnitId): number =>
  unit === 'refill'
    ? PROMISE_GRACE * slowest(plant).refillMs + quietMs(plant) + STANDSTILL_MS
    : PROMISE_GRACE * slowest(plant).batchMs + quietMs(plant) + STANDSTILL_MS;
