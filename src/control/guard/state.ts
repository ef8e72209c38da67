// What the guard remembers: plain JSON, durations and amounts, never an instant. Two equal situations are equal states. Every
// rule of the guard takes this and nothing else, so that none can ask in which stage a unit is; what the process remembers
// beside it stands in `process/state.ts`, which makes one state of both.
import type { Message } from './message.ts';
import type { ProofState } from './proof-state.ts';
import type { BadReading, Task } from './types.ts';
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
  contradiction: Message | null;
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

export type HoldCause = 'person' | 'trip' | 'link' | 'power' | 'foreign' | 'late' | 'process';

/** A row that a person has switched off for a while. */
export interface BypassState {
  readonly leftMs: number;
  readonly reason: string;
  readonly who: string;
}

/** Whether the water of the mixing vat may be delivered, and heated (`acceptance.ts`); what earlier batches said of the salt. */
export interface WaterRecord {
  readonly accepted: boolean;
  /** Since it was accepted. */
  readonly ageMs: number;
  yields: number[];
}

/** What a system lost and got: its ledger, and the step that is under way. */
export interface LedgerState {
  step: 'rest' | 'drain' | 'supply';
  requestedL: number;
  /** Aim of the running step. */
  stepL: number;
  /** Drained minus delivered, and by how much that may be off. */
  differenceL: number;
  differenceErrorL: number;
}

/** The valve that is moved by itself now, and those that were not seen to follow. */
export interface MovedValves {
  readonly run: { readonly valve: string } | null;
  readonly seized: Readonly<Record<string, 'shut' | 'open'>>;
}

/** Of `batch`, `exchange` and `exercises` the guard knows its own part: it writes on them and never replaces them. */
export interface GuardState {
  sensors: Record<string, SensorState>;
  devices: Record<string, DeviceState>;
  routes: Record<string, RouteState>;
  vessels: Record<string, VesselState>;
  salinity: Record<string, SalinityState>;
  water: WaterState;
  heaters: Record<string, HeaterState>;
  readonly batch: WaterRecord;
  readonly exchange: Readonly<Record<string, LedgerState>>;
  readonly exercises: MovedValves;
  /** What people are asked to do; whoever answers 'done' says that it is done. */
  tasks: Record<string, Task | null>;
  /** Latched trips by row key, with their age. */
  trips: Record<string, number>;
  /** Rows that hold now, by target. */
  verdicts: Record<string, string[]>;
  outOfService: Record<string, string>;
  /** What the run before this one could not hand over, until a person has looked. */
  lost: readonly Message[];
  proofs: ProofState;
  /** By row. */
  bypasses: Readonly<Record<string, BypassState>>;
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
