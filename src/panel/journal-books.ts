// The books as the journal has them: what happened while no page was served, and what a service that was killed had not
// yet written into the panel's own file. Proof tests are the journal's alone; batches and days are the panel's, with what is
// missing there filled in.
import type { BatchRecord as JournalBatch } from '../journal/batches.ts';
import type { LedgerEntry } from '../journal/ledger.ts';
import { LIMITS } from '../journal/limits.ts';
import type { Queries } from '../journal/queries.ts';
import type { BatchRecord, ProofOutcome } from './contract.ts';
import { type DayKept, emptyDay } from './day-book.ts';
import type { Kept } from './memory-source.ts';

export type PastBooks = Pick<Queries, 'batches' | 'ledger' | 'proofTests'>;

/** Two records of one batch began within this: the panel's clock and the journal's are read one after the other. */
const SAME_MS = 60_000;
const DAY_MS = 86_400_000;
const NOTHING: Kept = { version: 1, batches: [], days: [], salt: null };

/** @throws JournalError where the journal can't be read */
export function withPast(kept: Kept | null, journal: PastBooks): Kept {
  const own = kept ?? NOTHING;
  return {
    ...own,
    batches: batchesOf(own.batches, journal.batches({ most: LIMITS.mostListed })),
    days: daysOf(own.days, journal.ledger({ by: 'day' })),
  };
}

/** The journal's words are for its own pages: expected, seen and seconds in one. */
export const provenIn = (journal: Pick<Queries, 'proofTests'>): ProofOutcome[] =>
  journal
    .proofTests({ most: LIMITS.mostListed })
    .map(({ wallMs: atMs, row, who, passed }) => ({ row, atMs, who, passed, words: '', seconds: null }));

/** Newest first, as they are kept. */
function batchesOf(own: readonly BatchRecord[], journal: readonly JournalBatch[]): BatchRecord[] {
  const isThere = ({ number, beganMs }: JournalBatch) =>
    own.some((one) => one.number === number && Math.abs(one.beganMs - beganMs) < SAME_MS);
  const missing = journal
    .filter((batch) => !isThere(batch))
    .map(
      (batch): BatchRecord => ({
        number: batch.number,
        beganMs: batch.beganMs,
        endedMs: batch.endedMs,
        stages: [],
        saltAddedKg: batch.addedKg,
        trims: batch.trims,
        acceptedMs: batch.acceptedMs,
        acceptedSalinity: batch.salinity,
        acceptedC: batch.temperatureC,
        yieldKgPerKg: batch.yieldKgPerKg,
        deliveredL: null,
      }),
    );
  return [...own, ...missing].toSorted((a, b) => b.beganMs - a.beganMs);
}

/** Oldest first, as they are kept. What was planned on a day that the panel did not see, nobody knows any more. */
function daysOf(own: readonly DayKept[], journal: readonly LedgerEntry[]): DayKept[] {
  const days = new Map(own.map((day) => [day.day, day]));
  for (const { day: number, system, deliveredL, drainedL } of journal) {
    // A simulated station counts its days from its own beginning.
    if (number * DAY_MS < Date.UTC(LIMITS.earliestYear)) continue;
    const day = new Date(number * DAY_MS).toISOString().slice(0, 10);
    const there = days.get(day) ?? emptyDay(day);
    const seen = there.exchange[system] ?? { deliveredL: 0, drainedL: 0, plannedL: null };
    const exchange = {
      deliveredL: Math.max(seen.deliveredL, deliveredL),
      drainedL: Math.max(seen.drainedL, drainedL),
      plannedL: seen.plannedL,
    };
    days.set(day, { ...there, exchange: { ...there.exchange, [system]: exchange } });
  }
  return [...days.values()].toSorted((a, b) => a.day.localeCompare(b.day));
}
