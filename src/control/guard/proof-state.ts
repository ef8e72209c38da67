// What is remembered of the proof tests of the protection.
import type { Message } from './message.ts';

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
  failed: Readonly<Record<string, Message>>;
}
