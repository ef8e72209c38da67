// What goes when. The steps give way to the bound of the file, oldest first and up to a snapshot, so that what is left
// can always be replayed from its beginning; the tables beside them give way by age and by number.
import type { Database } from './driver.ts';
import { LIMITS, SPANS } from './limits.ts';

/**
 * One round: bounded work, inside the commit that calls it.
 * @param fileBytes what the file may grow to, SQLite's log beside it not counted
 * @param tables whether the tables that people read are counted as well
 */
export function prune(db: Database, fileBytes: number, tables: boolean): void {
  for (let round = 0; round < LIMITS.prunedSnapshots; round++) {
    if (!pruneSteps(db, fileBytes * LIMITS.fillShare)) break;
  }
  if (tables) pruneTables(db);
  pruneSamples(db, SPANS.moment, LIMITS.moments);
  pruneSamples(db, SPANS.minute, LIMITS.minutes);
  pruneSamples(db, SPANS.hour, LIMITS.hours);
  if (pagesOf(db, 'page_count') * pageBytes(db) > fileBytes)
    db.pragma(`incremental_vacuum(${LIMITS.vacuumedPages})`);
}

const pagesOf = (db: Database, which: 'page_count' | 'freelist_count'): number =>
  db.pragma(which, { simple: true }) as number;

const pageBytes = (db: Database): number => db.pragma('page_size', { simple: true }) as number;

/** Bytes that hold something. Freed pages are used again before the file grows. */
export const usedBytes = (db: Database): number =>
  (pagesOf(db, 'page_count') - pagesOf(db, 'freelist_count')) * pageBytes(db);

/** The oldest snapshot and the steps up to the next one. @returns whether there may be more to do */
function pruneSteps(db: Database, mostBytes: number): boolean {
  if (usedBytes(db) <= mostBytes) return false;
  const oldest = db
    .prepare<[], { start: number; seq: number }>(
      'SELECT start, seq FROM snapshots ORDER BY start, seq LIMIT 2',
    )
    .all();
  const [first, next] = oldest;
  if (first === undefined || next === undefined) return false;
  db.prepare('DELETE FROM steps WHERE seq < ?').run(next.seq);
  db.prepare('DELETE FROM snapshots WHERE start = ? AND seq = ?').run(first.start, first.seq);
  if (first.start !== next.start) {
    db.prepare('DELETE FROM starts WHERE id < ?').run(next.start);
    db.prepare('DELETE FROM plants WHERE hash NOT IN (SELECT plant FROM starts)').run();
  }
  return true;
}

function pruneTables(db: Database): void {
  const byId: readonly [table: string, most: number][] = [
    ['alarms', LIMITS.alarms],
    ['records', LIMITS.records],
    ['batches', LIMITS.batches],
    ['proof_tests', LIMITS.proofTests],
  ];
  for (const [table, most] of byId) {
    const ids = `SELECT id FROM ${table} ORDER BY id`;
    const newest = `(${ids} DESC LIMIT 1 OFFSET ${most})`;
    db.exec(`DELETE FROM ${table} WHERE id <= ${newest} AND id IN (${ids} LIMIT ${LIMITS.prunedRows})`);
  }
  db.exec(
    `DELETE FROM ledger WHERE day <= (SELECT day FROM ledger ORDER BY day DESC LIMIT 1 OFFSET ${LIMITS.ledgerHours})`,
  );
}

function pruneSamples(db: Database, span: number, most: number): void {
  const ats = `SELECT at FROM samples WHERE span = ${span} ORDER BY at`;
  const newest = `(${ats} DESC LIMIT 1 OFFSET ${most})`;
  db.exec(
    `DELETE FROM samples WHERE span = ${span} AND at <= ${newest} AND at IN (${ats} LIMIT ${LIMITS.prunedRows})`,
  );
}
