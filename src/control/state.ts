// Everything the core remembers: plain JSON, durations and amounts, never an instant. Two equal situations are equal
// states. `initial` knows nothing and has nothing proven off; `restored` is what a saved state is worth after a gap.
import type { Actuator, Plant } from '../station/plant.ts';
import { type ExerciseState, exercisesAfterGap, unmoved } from './exercise-state.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS } from './limits.ts';
import type { AlarmState, BadReading, Priority, Task } from './types.ts';

export interface SensorState {
  value: number | boolean | null;
  ageMs: number;
  /** A live message since the link came up; a retained one is history. */
  live: boolean;
  fault: BadReading | 'chatter' | 'out-of-service' | null;
  /** How long a contact's raw value has stood. */
  standsMs: number;
  /** What a contact is believed to say; null: not yet. */
  believed: boolean | null;
  chatter: number;
}

export interface DeviceState {
  /** What was last issued. */
  on: boolean;
  sinceMs: number;
  /** For so long may the last `on` still hold the device on. */
  leaseLeftMs: number;
  sinceSentMs: number;
  offsSent: number;
  provenOff: boolean;
  feedback: boolean | null;
  feedbackAgeMs: number;
  feedbackLive: boolean;
  feedbackFault: BadReading | null;
  /** How long a fresh feedback has contradicted what was issued. */
  disagreesMs: number;
  /** What is left of the time that a foreign command keeps it off. */
  foreignMs: number;
  foreignOn: boolean;
}

export type Running = 'no' | 'maybe' | 'yes';

export interface RouteState {
  running: Running;
  /** How long it has been running ('yes'), and how long it has not ('no'). */
  runMs: number;
  restMs: number;
  /** What may have passed since the meter last spoke. */
  pendingLeastL: number;
  pendingMostL: number;
  /** What this event's evidence says has passed. */
  movedLeastL: number;
  movedMostL: number;
  lastTotalL: number | null;
  sinceMeterMs: number;
  windowMs: number;
  windowL: number;
  flowLpm: number | null;
  startedSinceMeter: boolean;
  lowFlowMs: number;
  strayL: number;
  starvedMs: number;
  impureMs: number;
  /** Credit for starts, in starts. */
  starts: number;
  runBudgetMs: number;
}

export interface VesselState {
  /** Certain and possible contents, without and with what is pending on metered routes. */
  settledLeastL: number;
  settledMostL: number;
  leastL: number;
  mostL: number;
  /** Contents by flows alone since the book was opened; null without a level sensor or before its first reading. */
  bookLeastL: number | null;
  bookMostL: number | null;
  bookMs: number;
  bookRan: boolean;
  /** How far the level is outside the book; + more, - less than explained. */
  mismatchL: number;
  /** Which two pieces of evidence contradict each other, or null. */
  contradiction: string | null;
  /** For how much longer it counts, once seen: a float that lies does not lie at every reading. */
  contradictionMs: number;
  /** Hand-drawn water that is still within the day's bound. */
  handBudgetL: number;
  handAssumedL: number;
  /** Hand-drawn water that this event's evidence shows. */
  handDrawnL: number;
}

export interface SalinityState {
  probe: number | null;
  probeAgeMs: number;
  /** How long the probe's valid reading has been beyond what practical salinity reaches. */
  beyondMs: number;
  /** The probe's reading has stayed within the band round `anchor` for `steadyMs`. */
  anchor: number | null;
  steadyMs: number;
  measured: number | null;
  measuredAgeMs: number;
  instrument: string;
}

export interface HeaterState {
  onMs: number;
  offMs: number;
  /** Temperature at the start of the window in which a rise is judged. */
  windowC: number | null;
  windowMs: number;
  /** Verdict of the last full window. */
  frozen: boolean;
  welded: boolean;
}

export type Procedure =
  | 'idle'
  | 'running'
  | 'holding'
  | 'held'
  | 'restarting'
  | 'complete'
  | 'stopping'
  | 'stopped'
  | 'aborting'
  | 'aborted';

export type HoldCause = 'person' | 'trip' | 'link' | 'power' | 'foreign' | 'late' | 'process';

export interface UnitState {
  procedure: Procedure;
  cause: HoldCause | null;
  words: string;
  /** Time in this procedural state. */
  forMs: number;
  /** How long everything it needs has been fresh and unblocked by doubt. */
  freshMs: number;
  /** Restarts without a person that are left today, as credit. */
  restarts: number;
}

export interface RefillState extends UnitState {
  flushMs: number;
  flushed: boolean;
}

export type Stage =
  | 'idle'
  | 'transfer'
  | 'mix/assess'
  | 'mix/salt'
  | 'mix/dissolve'
  | 'mix/measure'
  | 'mix/trim-salt'
  | 'mix/trim-water'
  | 'heat'
  | 'ready';

export interface BatchState extends UnitState {
  stage: Stage;
  stageMs: number;
  /** Of this stage: circulation that was proven. */
  circulatedMs: number;
  /** The transfer's hysteresis: it moves until the source is empty, then waits for a worthwhile amount. */
  moving: boolean;
  movedL: number;
  /** What the running trim or salting asks for. */
  askedKg: number;
  /** Salinity when the salt was asked for. */
  askedAt: number;
  askedL: number;
  trims: number;
  /** What was in the vat when the batch began, and its salinity (null: nobody knows). */
  leftoverL: number;
  leftoverSalinity: number | null;
  /** Contents (certain, possible) and salinity before the salt went in, and what went in; for the yield. Null: nothing to learn from. */
  salted: { readonly leastL: number; readonly mostL: number } | null;
  salinityBefore: number;
  saltAddedKg: number;
  /** Of the salt that is being dosed now. */
  saltAddedNowKg: number;
  /** A second instrument agreed with a salinity that the salt does not explain. */
  confirmed: boolean;
  /** The salinity that raised a doubt, while a second instrument is awaited. */
  doubted: number | null;
  accepted: boolean;
  acceptedSalinity: number | null;
  ageMs: number;
  sinceCirculatedMs: number;
  /** The longest that heating may take, computed when it began; and the day's shift of the system that asked for it. */
  heatBudgetMs: number;
  systemShiftK: number | null;
  yields: number[];
  number: number;
}

export interface ExchangeState extends UnitState {
  step: 'rest' | 'drain' | 'supply';
  dueL: number;
  requestedL: number;
  /** Aim of the running step. */
  stepL: number;
  stepDrainedL: number;
  stepRequested: boolean;
  /** Drained minus delivered, and by how much that may be off. */
  differenceL: number;
  differenceErrorL: number;
  restMs: number;
  /** Delivered on this day of the clock and on the one before. */
  day: number;
  todayL: number;
  yesterdayL: number;
  steps: number;
}

export interface AlarmRecord {
  state: AlarmState;
  active: boolean;
  /** How long the condition has stood while not yet announced. */
  pendingMs: number;
  /** How long the condition has been gone. */
  quietMs: number;
  forMs: number;
  priority: Priority;
  words: string;
  mend: string;
  /** While shelved: what is left of it. */
  shelvedMs: number;
  /** Why somebody silenced it, and who; empty otherwise. */
  silenced: string;
}

/** A proof test under way. */
export interface ProofTestState {
  row: string;
  sensor: string;
  /** Where its contact is: its floats say nothing about the contents meanwhile. Null: in no vessel. */
  vessel: string | null;
  who: string;
  /** Everything is switched off; a person moves the contact; the contact goes back. */
  phase: 'stopping' | 'waiting' | 'returning';
  /** In this phase. */
  forMs: number;
  /** How long the contact has said its word; null: not yet. */
  saidMs: number | null;
  /** How long after that the row held. */
  answeredMs: number | null;
  /** Every row with this contact that held with it. */
  shown: readonly string[];
}

/** Durations since each protection was last proven by hand. */
export interface ProofState {
  /** What has passed since the durations were last moved on: they are moved together, now and then. */
  pendingMs: number;
  /** Since commissioning: it counts for every row that was never proven. */
  sinceStartMs: number;
  /** Since the last test that was passed, by row. */
  sinceMs: Readonly<Record<string, number>>;
  /** How many tests are due soon, how many overdue, and how many of those beyond the grace. */
  dueSoon: number;
  overdue: number;
  beyondGrace: number;
  test: ProofTestState | null;
  /** Rows whose last test was not passed, each with what was seen: until one is. */
  failed: Readonly<Record<string, string>>;
}

/** A row that a person has switched off for a while. */
export interface BypassState {
  readonly leftMs: number;
  readonly reason: string;
  readonly who: string;
}

/** An alarm that was announced in the last ten minutes. */
export interface Announced {
  readonly alarm: string;
  readonly agoMs: number;
}

export interface State {
  sensors: Record<string, SensorState>;
  devices: Record<string, DeviceState>;
  routes: Record<string, RouteState>;
  vessels: Record<string, VesselState>;
  salinity: Record<string, SalinityState>;
  heaters: Record<string, HeaterState>;
  refill: RefillState;
  batch: BatchState;
  exchange: Record<string, ExchangeState>;
  /** Latched trips by row key, with their age. */
  trips: Record<string, number>;
  /** Rows that hold now, by target. */
  verdicts: Record<string, string[]>;
  alarms: Record<string, AlarmRecord>;
  tasks: Record<string, Task | null>;
  outOfService: Record<string, string>;
  proofs: ProofState;
  exercises: ExerciseState;
  /** By row. */
  bypasses: Readonly<Record<string, BypassState>>;
  /** Oldest first. */
  announced: readonly Announced[];
  link: { up: boolean; echoAgeMs: number; tickAgeMs: number; lateMs: number; journalWritable: boolean };
  clock: { minuteOfDay: number; day: number; trusted: boolean; ageMs: number };
}

const device = (actuator: Actuator): DeviceState => ({
  on: false,
  sinceMs: 0,
  // Nobody knows what it was told before: it may be on for one lease more, or for ever if it does not count.
  leaseLeftMs: actuator.countsLease ? actuator.leaseMs : AGE_CAP_MS,
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

const route = (startsPerHour: number): RouteState => ({
  running: 'maybe',
  runMs: 0,
  restMs: 0,
  pendingLeastL: 0,
  pendingMostL: 0,
  movedLeastL: 0,
  movedMostL: 0,
  lastTotalL: null,
  sinceMeterMs: AGE_CAP_MS,
  windowMs: 0,
  windowL: 0,
  flowLpm: null,
  startedSinceMeter: false,
  lowFlowMs: 0,
  strayL: 0,
  starvedMs: 0,
  impureMs: 0,
  starts: startsPerHour,
  runBudgetMs: AGE_CAP_MS,
});

const unit = (restarts: number): UnitState => ({
  procedure: 'idle',
  cause: null,
  words: 'idle',
  forMs: 0,
  freshMs: 0,
  restarts,
});

const each = <A, B>(
  record: Readonly<Record<string, A>>,
  make: (item: A, id: string) => B,
): Record<string, B> => Object.fromEntries(Object.entries(record).map(([id, item]) => [id, make(item, id)]));

/** What a service knows that has never seen its station: nothing fresh, nothing proven off, vessels anything from empty to full. */
export function initial(plant: Plant): State {
  const finite = Object.fromEntries(Object.entries(plant.vessels).filter(([, v]) => v.capacityL < Infinity));
  return {
    sensors: each(plant.sensors, () => ({
      value: null,
      ageMs: AGE_CAP_MS,
      live: false,
      fault: null,
      standsMs: 0,
      believed: null,
      chatter: 0,
    })),
    devices: each(plant.actuators, device),
    routes: each(plant.routes, (r) => route(r.startsPerHour)),
    vessels: each(finite, (v) => ({
      settledLeastL: 0,
      settledMostL: v.capacityL,
      leastL: 0,
      mostL: v.capacityL,
      bookLeastL: null,
      bookMostL: null,
      bookMs: 0,
      bookRan: false,
      mismatchL: 0,
      contradiction: null,
      contradictionMs: 0,
      handBudgetL: v.handDrawn?.perDayL ?? 0,
      handAssumedL: 0,
      handDrawnL: 0,
    })),
    salinity: each(finite, () => ({
      probe: null,
      probeAgeMs: AGE_CAP_MS,
      beyondMs: 0,
      anchor: null,
      steadyMs: 0,
      measured: null,
      measuredAgeMs: AGE_CAP_MS,
      instrument: '',
    })),
    heaters: each(plant.heaters, () => ({
      onMs: 0,
      offMs: 0,
      windowC: null,
      windowMs: 0,
      frozen: false,
      welded: false,
    })),
    refill: { ...unit(plant.policy.restarts.perDay), flushMs: 0, flushed: false },
    batch: {
      ...unit(plant.policy.restarts.perDay),
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
    },
    exchange: each(plant.process.exchange, () => ({
      ...unit(plant.policy.restarts.perDay),
      step: 'rest' as const,
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
    })),
    trips: {},
    verdicts: {},
    alarms: {},
    tasks: {},
    outOfService: {},
    proofs: {
      pendingMs: 0,
      sinceStartMs: 0,
      sinceMs: {},
      dueSoon: 0,
      overdue: 0,
      beyondGrace: 0,
      test: null,
      failed: {},
    },
    exercises: unmoved(plant),
    bypasses: {},
    announced: [],
    link: { up: false, echoAgeMs: AGE_CAP_MS, tickAgeMs: 0, lateMs: 0, journalWritable: true },
    clock: { minuteOfDay: 0, day: 0, trusted: false, ageMs: AGE_CAP_MS },
  };
}

/**
 * A saved state after the service was gone for `gapMs` (null: nobody knows). Records survive (trips, the batch, the
 * exchange's ledger, meter totals, the yield); everything that is evidence is history; whatever could run had run until
 * its lease ended; every phase that was under way is held until the policy, or a person, lets it go on.
 */
export function restored(plant: Plant, saved: State, gapMs: number | null): State {
  const fresh = initial(plant);
  const gap = Math.min(gapMs ?? AGE_CAP_MS, AGE_CAP_MS);
  const next: State = { ...fresh, ...structuredClone(saved), sensors: fresh.sensors, devices: fresh.devices };
  next.verdicts = {};
  next.link = fresh.link;
  next.clock = fresh.clock;
  for (const [id, before] of Object.entries(saved.routes)) {
    const pipe = known(plant.routes, id);
    const ranOnMs = before.running === 'no' ? 0 : Math.min(pipe.leaseMs, gap) + pipe.runDownMs;
    next.routes[id] = {
      ...route(pipe.startsPerHour),
      lastTotalL: before.lastTotalL,
      pendingMostL: before.pendingMostL + (ranOnMs / 60_000) * pipe.flowMostLpm,
      sinceMeterMs: gap,
      startedSinceMeter: true,
      starts: before.starts,
    };
  }
  for (const vessel of Object.values(next.vessels))
    Object.assign(vessel, { bookLeastL: null, bookMostL: null });
  for (const water of Object.values(next.salinity)) {
    Object.assign(water, {
      anchor: null,
      steadyMs: 0,
      probeAgeMs: Math.min(water.probeAgeMs + gap, AGE_CAP_MS),
      measuredAgeMs: Math.min(water.measuredAgeMs + gap, AGE_CAP_MS),
    });
  }
  // A bypass and a proof test end with the service; the durations since the last tests go on, and what failed has failed.
  next.proofs = { ...fresh.proofs, ...next.proofs, pendingMs: next.proofs.pendingMs + gap, test: null };
  next.exercises = exercisesAfterGap(next.exercises, gap);
  next.bypasses = {};
  next.announced = [];
  for (const alarm of Object.values(next.alarms)) alarm.shelvedMs = Math.max(0, alarm.shelvedMs - gap);
  next.batch.ageMs = Math.min(next.batch.ageMs + gap, AGE_CAP_MS);
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
    words: 'held: the service was away',
  });
}
