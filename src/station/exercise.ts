// What a valve that must move now and then needs for it; compile-exercises.ts works it out.
import type { Called } from './plant.ts';

/** A valve that seizes when it never moves. */
export interface Exercise extends Called {
  readonly id: string;
  readonly everyMs: number;
  /** For so long it stays open; 0 for a hand valve. */
  readonly opensForMs: number;
  /** The actuator, whose daily work counts; null: a hand valve. */
  readonly actuator: string | null;
  /** Why a person must move it; null: the service may, while all of `others` are proven off. */
  readonly byHand: string | null;
  /** Everything that could move water through it: every other actuator on its ways, and on the ways joined to those. */
  readonly others: readonly string[];
}
