// A copy of everything the core remembers, for one pass to write on: the guard's part, and the process's beside it. Each
// shape names its fields one by one, as in `guard/draft.ts`; a field that is forgotten does not compile.
import { each, guardDraftOf } from '../guard/draft.ts';
import type { AlarmRecord, BatchState, ExchangeState, PromiseState, RefillState, State } from './state.ts';

const exchangeState = (work: ExchangeState): ExchangeState => ({
  procedure: work.procedure,
  cause: work.cause,
  words: work.words,
  forMs: work.forMs,
  freshMs: work.freshMs,
  restarts: work.restarts,
  step: work.step,
  dueL: work.dueL,
  requestedL: work.requestedL,
  stepL: work.stepL,
  stepDrainedL: work.stepDrainedL,
  stepRequested: work.stepRequested,
  differenceL: work.differenceL,
  differenceErrorL: work.differenceErrorL,
  restMs: work.restMs,
  day: work.day,
  todayL: work.todayL,
  yesterdayL: work.yesterdayL,
  steps: work.steps,
});

const alarmRecord = (alarm: AlarmRecord): AlarmRecord => ({
  state: alarm.state,
  active: alarm.active,
  pendingMs: alarm.pendingMs,
  quietMs: alarm.quietMs,
  forMs: alarm.forMs,
  priority: alarm.priority,
  words: alarm.words,
  response: alarm.response,
  shelvedMs: alarm.shelvedMs,
  silenced: alarm.silenced,
});

const promiseState = (promise: PromiseState): PromiseState => ({
  wait: promise.wait,
  inMs: promise.inMs,
  stillMs: promise.stillMs,
});

const refillState = (work: RefillState): RefillState => ({
  procedure: work.procedure,
  cause: work.cause,
  words: work.words,
  forMs: work.forMs,
  freshMs: work.freshMs,
  restarts: work.restarts,
  flushMs: work.flushMs,
  flushed: work.flushed,
});

const batchState = (work: BatchState): BatchState => ({
  procedure: work.procedure,
  cause: work.cause,
  words: work.words,
  forMs: work.forMs,
  freshMs: work.freshMs,
  restarts: work.restarts,
  stage: work.stage,
  stageMs: work.stageMs,
  circulatedMs: work.circulatedMs,
  moving: work.moving,
  movedL: work.movedL,
  askedKg: work.askedKg,
  askedAt: work.askedAt,
  askedL: work.askedL,
  trims: work.trims,
  leftoverL: work.leftoverL,
  leftoverSalinity: work.leftoverSalinity,
  salted: work.salted,
  salinityBefore: work.salinityBefore,
  saltAddedKg: work.saltAddedKg,
  saltAddedNowKg: work.saltAddedNowKg,
  confirmed: work.confirmed,
  doubted: work.doubted,
  doubtedBy: work.doubtedBy,
  accepted: work.accepted,
  acceptedSalinity: work.acceptedSalinity,
  ageMs: work.ageMs,
  sinceCirculatedMs: work.sinceCirculatedMs,
  heatBudgetMs: work.heatBudgetMs,
  systemShiftK: work.systemShiftK,
  yields: work.yields,
  number: work.number,
});

/** A copy that one pass may write on; nobody else has seen it. */
export function draftOf(state: State): State {
  const guard = guardDraftOf(state);
  return {
    sensors: guard.sensors,
    devices: guard.devices,
    routes: guard.routes,
    vessels: guard.vessels,
    salinity: guard.salinity,
    water: guard.water,
    heaters: guard.heaters,
    refill: refillState(state.refill),
    batch: batchState(state.batch),
    exchange: each(state.exchange, exchangeState),
    trips: guard.trips,
    verdicts: state.verdicts,
    alarms: each(state.alarms, alarmRecord),
    tasks: guard.tasks,
    outOfService: guard.outOfService,
    // Replaced, never written on.
    lost: state.lost,
    proofs: guard.proofs,
    // What is in it is replaced, never written on.
    exercises: state.exercises,
    promises: each(state.promises, promiseState),
    bypasses: state.bypasses,
    commissioned: state.commissioned,
    announced: state.announced,
    upkeep: state.upkeep,
    // Replaced, never written on.
    telling: state.telling,
    link: guard.link,
    clock: guard.clock,
  };
}
