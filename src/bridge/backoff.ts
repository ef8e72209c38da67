// When to try again (R16). Pure: what happened so far in, how long to wait out.
import { LIMITS } from './limits.ts';

export interface Patience {
  /** Attempts since the last stable session. */
  readonly attempts: number;
  /** When sessions ended that the other side cut short, ms, newest last. */
  readonly cutShortMs: readonly number[];
}

export const FRESH: Patience = { attempts: 0, cutShortMs: [] };

export interface Ended {
  /** How long the session lasted; null where none came about. */
  readonly lastedMs: number | null;
  /** False where we ended it ourselves, for example because nothing came back. */
  readonly byOther: boolean;
}

export function afterwards(patience: Patience, { lastedMs, byOther }: Ended, nowMs: number): Patience {
  const recent = patience.cutShortMs.filter((atMs) => nowMs - atMs <= LIMITS.shortSessionWindowMs);
  if (lastedMs !== null && lastedMs >= LIMITS.stableMs) return { attempts: 1, cutShortMs: [] };
  const cutShort = lastedMs !== null && lastedMs < LIMITS.shortSessionMs && byOther;
  return { attempts: patience.attempts + 1, cutShortMs: cutShort ? [...recent, nowMs] : recent };
}

/** Each of two instances with one client id throws the other out: both see session after session cut short. */
export function looksLikeDuplicate(patience: Patience): boolean {
  return patience.cutShortMs.length >= LIMITS.shortSessions;
}

/**
 * Exponential with full jitter, so that a houseful of clients does not come back in step. Chance is allowed here: when
 * a connection comes back decides nothing about water, because nothing resumes by itself on coming back (R5).
 * @param chance 0 <= chance < 1
 */
export function delayMs(patience: Patience, chance: number): number {
  if (looksLikeDuplicate(patience)) {
    const [least, most] = LIMITS.duplicateBackoffMs;
    return Math.round(least + chance * (most - least));
  }
  const widest = LIMITS.backoffFirstMs * 2 ** Math.min(Math.max(patience.attempts - 1, 0), 16);
  return Math.round(chance * Math.min(widest, LIMITS.backoffMostMs));
}
