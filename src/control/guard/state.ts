// Everything the core remembers: plain JSON, durations and amounts, never an instant. Two equal situations are equal
// states. How it begins stands in `initial.ts`.
import type { ExerciseState } from './exercise-state.ts';
import type { ProofState } from './proof-state.ts';
import type { AlarmState, BadReading, Priority, Task } from './types.ts';
import type { WaterState } from './water-state.ts';

export interface SensorState {
  value: number | boolean | null;
  ageMs: number;
  /** A live message since the link came up; a retained one is history. */
  live: boolean;
  fault: BadReading | 'chatter' | 'jumped' | 'out-of-service' | null;
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
  /** What has most likely passed: nothing where it only might have run. Sums are kept by this, errors by the other two. */
  movedL: number;
  /** It ran for certain since it last rested: what it may have moved is more likely than nothing. */
  ran: boolean;
  /** The highest count of a total. */
  lastTotalL: number | null;
  /** Litres of one count, at most: no more than the least step that was seen. */
  countL: number;
  /** It has counted since its first reading, or since it started anew: it was at the edge of a count then. */
  hasCounted: boolean;
  sinceMeterMs: number;
  windowMs: number;
  windowL: number;
  flowLpm: number | null;
  startedSinceMeter: boolean;
  /** How often in a row a total has shown too little flow; the second look, or a long one, is believed. */
  lowLooks: number;
  lowFlowMs: number;
  strayL: number;
  starvedMs: number;
  impureMs: number;
  /** Credit for starts, in starts. */
  starts: number;
  runBudgetMs: number;
}

export interface Interval {
  readonly leastL: number;
  readonly mostL: number;
}

/** Contents by all evidence but one float, without what is pending; and what that float said last. */
export interface FloatBook {
  leastL: number;
  mostL: number;
  /** What hands may have drawn since it was pinned and is not taken from `leastL` yet. */
  handLeftL: number;
  wet: boolean | null;
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
  /** The books of its floats, once they have spoken. */
  floats: Record<string, FloatBook>;
  /** A second reading agreed with the book. */
  bookAgreed: boolean;
  /** How long ago a level was first further outside the book than its bound, and none was inside since; null: none is. */
  doubtMs: number | null;
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
  /** A second, different instrument agreed with what was measured in this batch. */
  confirmed: boolean;
  /** The salinity that raised a doubt, and whose word it was, while a second instrument is awaited. */
  doubted: number | null;
  doubtedBy: string;
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

/** What a unit owes, and waits for; see `promises.ts`. */
export interface PromiseState {
  /** The wait of `waits.ts` that it is in; empty: it owes nothing, or it makes headway. */
  wait: string;
  /** For how long it has been in this wait, and how long ago anything moved. */
  inMs: number;
  stillMs: number;
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
  water: WaterState;
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
  /** What the run before this one could not hand over, in words, until a person has looked. */
  lost: readonly string[];
  proofs: ProofState;
  exercises: ExerciseState;
  /** By unit: `refill`, `batch`, and each system. */
  promises: Record<string, PromiseState>;
  /** By row. */
  bypasses: Readonly<Record<string, BypassState>>;
  /** Oldest first. */
  announced: readonly Announced[];
  link: {
    up: boolean;
    /** For how long it has been up without a break. */
    upMs: number;
    echoAgeMs: number;
    tickAgeMs: number;
    lateMs: number;
    journalWritable: boolean;
  };
  clock: { minuteOfDay: number; day: number; trusted: boolean; ageMs: number };
}
