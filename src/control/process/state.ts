// What the process remembers beside the guard: plain JSON, durations and amounts, never an instant. One state is both; how it
// begins stands in `initial.ts`.
import type { Message } from '../guard/message.ts';
import type { GuardState, HoldCause, LedgerState, WaterRecord } from '../guard/state.ts';
import type { AlarmState, Priority } from '../guard/types.ts';
import type { Commissioned } from './commissioned.ts';
import type { ExerciseState } from './exercise-state.ts';
import type { Upkeep } from './upkeep.ts';

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

export interface UnitState {
  procedure: Procedure;
  cause: HoldCause | null;
  words: Message;
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

export interface BatchState extends UnitState, WaterRecord {
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
  acceptedSalinity: number | null;
  sinceCirculatedMs: number;
  /** The longest that heating may take, computed when it began; and the day's shift of the system that asked for it. */
  heatBudgetMs: number;
  systemShiftK: number | null;
  number: number;
}

export interface ExchangeState extends UnitState, LedgerState {
  dueL: number;
  stepDrainedL: number;
  stepRequested: boolean;
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
  words: Message;
  response: Message;
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

/** What becomes of messages to people: it tells, and decides nothing. */
export interface TellingState {
  /** Sinks that do not take messages. */
  readonly failing: readonly string[];
  /** Who is on the way, and for how long nobody else is called. */
  readonly coming: { readonly who: string; readonly leftMs: number } | null;
}

/** An alarm that was announced in the last ten minutes. */
export interface Announced {
  readonly alarm: string;
  readonly agoMs: number;
}

/** Everything the core remembers: what the guard does, and the process's part. */
export interface State extends GuardState {
  refill: RefillState;
  batch: BatchState;
  exchange: Record<string, ExchangeState>;
  exercises: ExerciseState;
  alarms: Record<string, AlarmRecord>;
  /** By unit: `refill`, `batch`, and each system. */
  promises: Record<string, PromiseState>;
  /** Oldest first. */
  announced: readonly Announced[];
  /** By its name, `siphon-break/I-09/supply`; see `upkeep.ts`. */
  upkeep: Readonly<Record<string, Upkeep>>;
  telling: TellingState;
  /** What was shown of the devices before the service started; null: the water is simulated, and nobody asks. */
  commissioned: Commissioned | null;
}
