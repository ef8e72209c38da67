// How the core's memory begins: `initial` knows nothing and has nothing proven off; `restored` is what a saved state is worth
// after a gap. Each shape of `state.ts` begins here and nowhere else.

import type { Actuator, Plant, Route, Vessel } from '../../station/plant.ts';
import { moveBooks } from '../guard/float-books.ts';
import { known } from '../guard/invariant.ts';
import { AGE_CAP_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import type { ProofState } from '../guard/proof-state.ts';
import type {
  DeviceState,
  HeaterState,
  RouteState,
  SalinityState,
  SensorState,
  VesselState,
} from '../guard/state.ts';
import { unknownWater } from '../guard/water-state.ts';
import { carriedOver } from './carry-over.ts';
import { exercisesAfterGap, unmoved } from './exercise-state.ts';
import type { BatchState, ExchangeState, Procedure, State, UnitState } from './state.ts';
import { comingAfter } from './telling.ts';

const device = (actuator: Actuator): DeviceState => ({
  on: false,
  sinceMs: 0,
  // Nobody knows what it was told before: it may be on for one lease more, or for ever if it does not count.
  leaseLeftMs: actuator.countsLease ? actuator.longestMs : AGE_CAP_MS,
  sinceSentMs: AGE_CAP_MS,
  offsSent: 0,
  provenOff: false,
  feedback: null,
  feedbackAgeMs: AGE_CAP_MS,
  feedbackLive: false,
  feedbackFault: null,
  disagreesMs: 0,
  foreignMs: 0,
  foreignOn: false,
});

const route = (plant: Plant, { startsPerHour, meter }: Route): RouteState => ({
  running: 'maybe',
  runMs: 0,
  restMs: 0,
  pendingLeastL: 0,
  pendingMostL: 0,
  movedLeastL: 0,
  movedMostL: 0,
  movedL: 0,
  ran: false,
  lastTotalL: null,
  countL: countOf(plant, meter),
  hasCounted: false,
  sinceMeterMs: AGE_CAP_MS,
  windowMs: 0,
  windowL: 0,
  flowLpm: null,
  startedSinceMeter: false,
  lowLooks: 0,
  lowFlowMs: 0,
  strayL: 0,
  starvedMs: 0,
  impureMs: 0,
  starts: startsPerHour,
  runBudgetMs: AGE_CAP_MS,
});

function countOf(plant: Plant, meter: string | null): number {
  const sensor = meter === null ? undefined : plant.sensors[meter];
  return sensor?.measures === 'total' ? sensor.countL : 0;
}

function isInPulses(plant: Plant, meter: string | null): boolean {
  const sensor = meter === null ? undefined : plant.sensors[meter];
  return sensor?.measures === 'total' && sensor.inPulses;
}

const unit = (restarts: number): UnitState => ({
  procedure: 'idle',
  cause: null,
  words: message('idle'),
  forMs: 0,
  freshMs: 0,
  restarts,
});

/** Of a batch that was not begun. */
export const NO_BATCH: Omit<BatchState, keyof UnitState> = {
  stage: 'idle',
  stageMs: 0,
  circulatedMs: 0,
  moving: false,
  movedL: 0,
  askedKg: 0,
  askedAt: 0,
  askedL: 0,
  trims: 0,
  leftoverL: 0,
  leftoverSalinity: null,
  salted: null,
  confirmed: false,
  doubted: null,
  doubtedBy: '',
  salinityBefore: 0,
  saltAddedKg: 0,
  saltAddedNowKg: 0,
  accepted: false,
  acceptedSalinity: null,
  ageMs: 0,
  sinceCirculatedMs: AGE_CAP_MS,
  heatBudgetMs: 0,
  systemShiftK: null,
  yields: [],
  number: 0,
};

const sensor = (): SensorState => ({
  value: null,
  ageMs: AGE_CAP_MS,
  live: false,
  fault: null,
  standsMs: 0,
  believed: null,
  chatter: 0,
});

const vessel = ({ capacityL, handDrawn }: Vessel): VesselState => ({
  settledLeastL: 0,
  settledMostL: capacityL,
  leastL: 0,
  mostL: capacityL,
  bookLeastL: null,
  bookMostL: null,
  bookMs: 0,
  bookRan: false,
  mismatchL: 0,
  floats: {},
  bookAgreed: false,
  doubtMs: null,
  contradiction: null,
  contradictionMs: 0,
  handBudgetL: handDrawn?.perDayL ?? 0,
  handAssumedL: 0,
  handDrawnL: 0,
});

const salinity = (): SalinityState => ({
  probe: null,
  probeAgeMs: AGE_CAP_MS,
  beyondMs: 0,
  anchor: null,
  steadyMs: 0,
  measured: null,
  measuredAgeMs: AGE_CAP_MS,
  instrument: '',
});

const heater = (): HeaterState => ({
  onMs: 0,
  offMs: 0,
  windowC: null,
  windowMs: 0,
  frozen: false,
  welded: false,
});

const NO_EXCHANGE: Omit<ExchangeState, keyof UnitState> = {
  step: 'rest',
  dueL: 0,
  requestedL: 0,
  stepL: 0,
  stepDrainedL: 0,
  stepRequested: false,
  differenceL: 0,
  differenceErrorL: 0,
  restMs: AGE_CAP_MS,
  day: 0,
  todayL: 0,
  yesterdayL: 0,
  steps: 0,
};

/** No proof test is known of. */
export const NO_PROOFS: ProofState = {
  pendingMs: 0,
  sinceStartMs: 0,
  sinceMs: {},
  dueSoon: 0,
  overdue: 0,
  beyondGrace: 0,
  test: null,
  failed: {},
};

const each = <A, B>(
  record: Readonly<Record<string, A>>,
  make: (item: A, id: string) => B,
): Record<string, B> => Object.fromEntries(Object.entries(record).map(([id, item]) => [id, make(item, id)]));

/** What a service knows that has never seen its station: nothing fresh, nothing proven off, vessels anything from empty to full. */
export function initial(plant: Plant): State {
  const finite = Object.fromEntries(Object.entries(plant.vessels).filter(([, v]) => v.capacityL < Infinity));
  return {
    sensors: each(plant.sensors, sensor),
    devices: each(plant.actuators, device),
    routes: each(plant.routes, (r) => route(plant, r)),
    vessels: each(finite, vessel),
    salinity: each(finite, salinity),
    water: unknownWater(known(plant.vessels, plant.mixingId).capacityL, plant.process.batch.settleMs),
    heaters: each(plant.heaters, heater),
    refill: { ...unit(plant.policy.restarts.perDay), flushMs: 0, flushed: false },
    batch: { ...unit(plant.policy.restarts.perDay), ...NO_BATCH },
    exchange: each(plant.process.exchange, () => ({ ...unit(plant.policy.restarts.perDay), ...NO_EXCHANGE })),
    trips: {},
    verdicts: {},
    alarms: {},
    tasks: {},
    outOfService: {},
    lost: [],
    proofs: { ...NO_PROOFS },
    exercises: unmoved(plant),
    promises: {},
    bypasses: {},
    commissioned: null,
    announced: [],
    upkeep: {},
    telling: { failing: [], coming: null },
    link: { up: false, upMs: 0, echoAgeMs: AGE_CAP_MS, tickAgeMs: 0, lateMs: 0, journalWritable: true },
    clock: { minuteOfDay: 0, day: 0, trusted: false, ageMs: AGE_CAP_MS },
  };
}

/**
 * What a service knows whose memory of this station is lost: nothing, and that nothing moves before a person has looked.
 * @param lost why
 */
export const forgetful = (plant: Plant, lost: Message): State => ({ ...initial(plant), lost: [lost] });

/**
 * A saved state after the service was gone for `gapMs` (null: nobody knows). Records survive (trips, the batch, the
 * exchange's ledger, meter totals, the yield), also a changed station file (carry-over.ts); everything that is evidence is
 * history; whatever could run had run until its lease ended; every phase that was under way is held until the policy, or a
 * person, lets it go on.
 */
export function restored(plant: Plant, saved: State, gapMs: number | null, isSamePlumbing = true): State {
  const fresh = initial(plant);
  const gap = Math.min(gapMs ?? AGE_CAP_MS, AGE_CAP_MS);
  const next = carriedOver(plant, fresh, saved, isSamePlumbing);
  for (const [id, device] of Object.entries(next.devices)) {
    // An `on` is sent only after the state that knows of it is kept: where none was outstanding, none is.
    const before = saved.devices[id];
    if (before !== undefined && !before.on && before.leaseLeftMs === 0) device.leaseLeftMs = 0;
  }
  next.verdicts = {};
  next.link = fresh.link;
  // A state of before there was such a thing has none.
  next.telling = { failing: [], coming: comingAfter(saved.telling?.coming ?? null, gap) };
  next.clock = fresh.clock;
  for (const [id, before] of Object.entries(next.routes)) {
    const pipe = known(plant.routes, id);
    const unknown = known(fresh.routes, id);
    const ranOnMs = before.running === 'no' ? 0 : Math.min(pipe.leaseMs, gap) + pipe.runDownMs;
    next.routes[id] = {
      ...unknown,
      lastTotalL: before.lastTotalL,
      hasCounted: before.hasCounted,
      // What the steps of a count in litres have taught; a pulse is worth what the file says now.
      countL: isInPulses(plant, pipe.meter) ? unknown.countL : Math.min(before.countL, unknown.countL),
      pendingMostL: before.pendingMostL + (ranOnMs / 60_000) * pipe.flowMostLpm,
      sinceMeterMs: gap,
      startedSinceMeter: before.startedSinceMeter || before.ran,
      starts: before.starts,
    };
  }
  for (const [id, held] of Object.entries(next.vessels)) {
    Object.assign(held, { bookLeastL: null, bookMostL: null });
    moveBooks(known(plant.vessels, id), held, 0, 0, gap);
  }
  for (const water of Object.values(next.salinity)) {
    Object.assign(water, {
      anchor: null,
      steadyMs: 0,
      probeAgeMs: Math.min(water.probeAgeMs + gap, AGE_CAP_MS),
      measuredAgeMs: Math.min(water.measuredAgeMs + gap, AGE_CAP_MS),
    });
  }
  // A proof test ends with the service; the durations since the last tests go on, and what failed has failed.
  next.proofs = { ...fresh.proofs, ...next.proofs, pendingMs: next.proofs.pendingMs + gap, test: null };
  next.exercises = exercisesAfterGap(next.exercises, gap);
  // What is left of a bypass goes on; nothing is left where nobody knows for how long the service was away.
  next.bypasses = Object.fromEntries(
    Object.entries(next.bypasses)
      .map(([key, one]) => [key, { ...one, leftMs: one.leftMs - gap }] as const)
      .filter(([, { leftMs }]) => leftMs > 0),
  );
  next.announced = [];
  for (const alarm of Object.values(next.alarms)) alarm.shelvedMs = Math.max(0, alarm.shelvedMs - gap);
  Object.assign(next.batch, { ageMs: Math.min(next.batch.ageMs + gap, AGE_CAP_MS) });
  for (const work of [next.refill, next.batch, ...Object.values(next.exchange)]) holdAfterGap(work);
  return next;
}

const UNDER_WAY: readonly Procedure[] = ['running', 'holding', 'restarting'];

function holdAfterGap(work: UnitState): void {
  if (!UNDER_WAY.includes(work.procedure)) return;
  // A hold that somebody or something else asked for keeps its cause: a power cut must not loosen it.
  const cause = work.procedure === 'holding' && work.cause !== null ? work.cause : 'power';
  Object.assign(work, {
    procedure: 'held',
    cause,
    forMs: 0,
    freshMs: 0,
    words: message('service-was-away'),
  });
}
