// What people and pages ask of a journal.
import type { BatchRecord } from './batches.ts';
import type { Database } from './driver.ts';
import { type History, type HistoryQuery, historyOf } from './history.ts';
import type { LedgerEntry } from './ledger.ts';
import type { AlarmEntry, RecordEntry } from './notes.ts';
import {
  alarmsIn,
  batchesIn,
  type LedgerQuery,
  type ListQuery,
  ledgerIn,
  oldestIn,
  type ProofTest,
  proofTestsIn,
  recordsIn,
} from './tables.ts';
import { JournalError, refusalOf } from './trouble.ts';

/** Each throws JournalError where the file can't be read. Lists are newest first, the ledger and lines oldest first. */
export interface Queries {
  /** The lines that `history` knows. */
  readonly channels: () => readonly { readonly name: string; readonly unit: string }[];
  /** Moments for up to two hours, minutes for up to three days, hours for longer; thinned to the points asked for. */
  readonly history: (query: HistoryQuery) => History;
  readonly batches: (query?: ListQuery) => BatchRecord[];
  readonly ledger: (query: LedgerQuery) => LedgerEntry[];
  readonly alarms: (query?: ListQuery) => AlarmEntry[];
  readonly records: (query?: ListQuery) => RecordEntry[];
  readonly proofTests: (query?: ListQuery) => ProofTest[];
  /** The oldest moment that it still knows of, ms since 1970; null where it is empty. */
  readonly knowsSinceMs: () => number | null;
}

export function queriesOf(db: Database, file: string): Queries {
  const ask = <T>(question: () => T): T => {
    try {
      return question();
    } catch (error) {
      throw new JournalError(refusalOf(error, file), error);
    }
  };
  return {
    channels: () =>
      ask(() =>
        db.prepare<[], { name: string; unit: string }>('SELECT name, unit FROM channels ORDER BY id').all(),
      ),
    history: (query) => ask(() => historyOf(db, query)),
    batches: (query = {}) => ask(() => batchesIn(db, query)),
    ledger: (query) => ask(() => ledgerIn(db, query)),
    alarms: (query = {}) => ask(() => alarmsIn(db, query)),
    records: (query = {}) => ask(() => recordsIn(db, query)),
    knowsSinceMs: () => ask(() => oldestIn(db)),
    proofTests: (query = {}) => ask(() => proofTestsIn(db, query)),
  };
}
