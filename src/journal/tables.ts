// Notes into their tables, and out of them.

import type { AlarmState, Priority } from '../control/guard/types.ts';
import type { Message } from '../language/message.ts';
import type { BatchRecord } from './batches.ts';
import type { Channel } from './channels.ts';
import type { Database, Statement } from './driver.ts';
import type { LedgerEntry } from './ledger.ts';
import { LIMITS } from './limits.ts';
import type { AlarmEntry, Notes, RecordEntry } from './notes.ts';
import { SampleTable } from './samples.ts';

export interface ProofTest {
  readonly wallMs: number;
  /** The key of the row that was tested, `I-02/fresh`. */
  readonly row: string;
  readonly who: string;
  readonly passed: boolean;
  readonly words: string;
}

export interface ListQuery {
  /** Wall clock, ms since 1970; `toMs` not included. */
  readonly fromMs?: number;
  readonly toMs?: number;
  /** The newest so many, usually 500. */
  readonly most?: number;
}

/** Writes notes; to be called inside a transaction. */
export class NoteWriter {
  readonly #alarm: Statement;
  readonly #record: Statement;
  readonly #batch: Statement;
  readonly #entry: Statement;
  readonly #samples: SampleTable;
  readonly #db: Database;

  constructor(db: Database, channels: readonly Channel[]) {
    this.#db = db;
    this.#samples = new SampleTable(db, channels);
    this.#alarm = db.prepare(
      `INSERT INTO alarms (seq, wall, alarm, state, priority, words, mend)
       VALUES (:step, :wallMs, :alarm, :state, :priority, :words, :response)`,
    );
    this.#record = db.prepare(
      'INSERT INTO records (seq, wall, about, words) VALUES (:step, :wallMs, :about, :words)',
    );
    this.#batch = db.prepare(
      `INSERT OR REPLACE INTO batches VALUES (:id, :number, :beganMs, :endedMs, :outcome, :leftoverL,
       :leftoverSalinity, :askedKg, :addedKg, :trims, :acceptedMs, :volumeL, :salinity, :temperatureC, :yieldKgPerKg,
       :readyMs)`,
    );
    this.#entry = db.prepare(
      `INSERT INTO ledger VALUES (:system, :day, :hour, :drainedL, :deliveredL, :errorL)
       ON CONFLICT DO UPDATE SET drained_l = drained_l + excluded.drained_l,
       delivered_l = delivered_l + excluded.delivered_l, error_l = error_l + excluded.error_l`,
    );
  }

  write({ alarms, records, batches, ledger, moments, proofTests }: Notes): void {
    for (const { words, response, ...alarm } of alarms)
      this.#alarm.run({ ...alarm, words: JSON.stringify(words), response: JSON.stringify(response) });
    for (const { words, ...record } of records) this.#record.run({ ...record, words: JSON.stringify(words) });
    for (const batch of batches.values()) this.#batch.run(batch);
    for (const entry of ledger.values()) this.#entry.run(entry);
    for (const moment of moments) this.#samples.add(moment);
    for (const test of proofTests) addProofTest(this.#db, test);
  }
}

const bounds = ({ fromMs, toMs, most }: ListQuery) => ({
  from: fromMs ?? Number.MIN_SAFE_INTEGER,
  to: toMs ?? Number.MAX_SAFE_INTEGER,
  most: Math.min(Math.max(1, Math.floor(most ?? LIMITS.listed)), LIMITS.mostListed),
});

/** A message lies in its column as JSON. */
type Written<T> = { readonly [K in keyof T]: T[K] extends Message ? string : T[K] };
const read = (text: string): Message => JSON.parse(text);

/** Newest first. */
export function alarmsIn(db: Database, query: ListQuery): AlarmEntry[] {
  return db
    .prepare<[object], Written<AlarmEntry> & { state: AlarmState; priority: Priority }>(
      `SELECT seq AS step, wall AS wallMs, alarm, state, priority, words, mend AS response FROM alarms
       WHERE wall >= :from AND wall < :to ORDER BY id DESC LIMIT :most`,
    )
    .all(bounds(query))
    .map(({ words, response, ...alarm }) => ({ ...alarm, words: read(words), response: read(response) }));
}

/** Newest first. */
export function recordsIn(db: Database, query: ListQuery): RecordEntry[] {
  return db
    .prepare<[object], Written<RecordEntry>>(
      `SELECT seq AS step, wall AS wallMs, about, words FROM records
       WHERE wall >= :from AND wall < :to ORDER BY id DESC LIMIT :most`,
    )
    .all(bounds(query))
    .map(({ words, ...record }) => ({ ...record, words: read(words) }));
}

const BATCH = `SELECT id, number, began AS beganMs, ended AS endedMs, outcome, leftover_l AS leftoverL,
  leftover_salinity AS leftoverSalinity, asked_kg AS askedKg, added_kg AS addedKg, trims, accepted AS acceptedMs,
  volume_l AS volumeL, salinity, temperature_c AS temperatureC, yield AS yieldKgPerKg, ready AS readyMs FROM batches`;

/** Those that began in the time asked for; newest first. */
export function batchesIn(db: Database, query: ListQuery): BatchRecord[] {
  return db
    .prepare<[object], BatchRecord>(
      `${BATCH} WHERE began >= :from AND began < :to ORDER BY id DESC LIMIT :most`,
    )
    .all(bounds(query));
}

/** The batch that was not ended, and the id for the next one. */
export function openBatch(db: Database): { open: BatchRecord | null; nextId: number } {
  const newest = db.prepare<[], BatchRecord>(`${BATCH} ORDER BY id DESC LIMIT 1`).get();
  return { open: newest?.endedMs === null ? newest : null, nextId: (newest?.id ?? 0) + 1 };
}

export interface LedgerQuery {
  readonly by: 'hour' | 'day';
  readonly system?: string;
  /** Days since 1970, both included. */
  readonly fromDay?: number;
  readonly toDay?: number;
}

/** Oldest first. */
export function ledgerIn(db: Database, { by, system, fromDay, toDay }: LedgerQuery): LedgerEntry[] {
  const hour = by === 'hour' ? 'hour' : 'NULL';
  return db
    .prepare<[object], LedgerEntry>(
      `SELECT system, day, ${hour} AS hour, sum(drained_l) AS drainedL, sum(delivered_l) AS deliveredL,
       sum(error_l) AS errorL FROM ledger
       WHERE day >= :fromDay AND day <= :toDay AND (:system IS NULL OR system = :system)
       GROUP BY system, day${by === 'hour' ? ', hour' : ''} ORDER BY day, ${by === 'hour' ? 'hour, ' : ''}system`,
    )
    .all({
      fromDay: fromDay ?? Number.MIN_SAFE_INTEGER,
      toDay: toDay ?? Number.MAX_SAFE_INTEGER,
      system: system ?? null,
    });
}

export function addProofTest(db: Database, { wallMs, row, who, passed, words }: ProofTest): void {
  db.prepare('INSERT INTO proof_tests (wall, row, who, passed, words) VALUES (?, ?, ?, ?, ?)').run(
    wallMs,
    row,
    who,
    passed ? 1 : 0,
    words,
  );
}

/** The oldest moment in the tables that are kept longest; null where there is none. */
export function oldestIn(db: Database): number | null {
  const { oldest } = db
    .prepare<[], { oldest: number | null }>(
      `SELECT min(wall) AS oldest FROM (SELECT wall FROM starts UNION ALL SELECT wall FROM records
       UNION ALL SELECT wall FROM proof_tests UNION ALL SELECT began FROM batches)`,
    )
    .get() ?? { oldest: null };
  return oldest;
}

/** Newest first. */
export function proofTestsIn(db: Database, query: ListQuery): ProofTest[] {
  return db
    .prepare<[object], Omit<ProofTest, 'passed'> & { passed: number }>(
      `SELECT wall AS wallMs, row, who, passed, words FROM proof_tests
       WHERE wall >= :from AND wall < :to ORDER BY id DESC LIMIT :most`,
    )
    .all(bounds(query))
    .map((test) => ({ ...test, passed: test.passed === 1 }));
}
