// The file: opened, made, brought to this version, or put aside. What is damaged is kept under another name and never
// deleted; what belongs to somebody else is not touched.
import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, renameSync } from 'node:fs';
import { join } from 'node:path';
import type { Plant } from '../station/plant.ts';
import { closingOnFailure } from './closing.ts';
import { type Database, openDatabase } from './driver.ts';
import { LIMITS } from './limits.ts';
import { startsIn } from './reading.ts';
import { APPLICATION_ID, upgrade, VERSION, versionOf } from './schema.ts';
import { Damaged, JournalError, notOurs, refusalOf } from './trouble.ts';
import { NotUnderstood, type Remembered, remember } from './waking.ts';

export const JOURNAL_FILE = 'journal.db';

export interface OpenFile {
  readonly db: Database;
  readonly file: string;
  readonly remembered: Remembered | null;
  /** Under which name a damaged file is kept; null where nothing was damaged. */
  readonly aside: string | null;
  /** What a person should know; null where all is as expected. */
  readonly words: string | null;
}

/** @throws JournalError where the journal can't be written, or is not ours to write */
export function openFile(directory: string, plant: Plant): OpenFile {
  const file = join(directory, JOURNAL_FILE);
  try {
    mkdirSync(directory, { recursive: true });
    if (!existsSync(file)) return made(directory, file, plant);
    return opened(directory, file, plant);
  } catch (error) {
    if (error instanceof JournalError) throw error;
    throw new JournalError(refusalOf(error, file), error);
  }
}

function made(directory: string, file: string, plant: Plant): OpenFile {
  // Who was at home and when is nobody else's business; what SQLite keeps beside the file gets the same rights.
  closeSync(openSync(file, 'a', 0o600));
  const db = connect(file);
  closingOnFailure(
    () => db.close(),
    () => {
      furnish(db, plant);
      flushDirectory(directory);
    },
  );
  return { db, file, remembered: null, aside: null, words: null };
}

function opened(directory: string, file: string, plant: Plant): OpenFile {
  let remembered: Remembered | null = null;
  let db: Database | null = null;
  try {
    db = openDatabase(file, { timeout: LIMITS.busyMs });
    checkOwner(db, file, plant);
    settle(db);
    furnish(db, plant);
    const memory = memoryOf(db);
    remembered = memory.remembered;
    checkPages(db);
    return { db, file, aside: null, ...memory };
  } catch (error) {
    db?.close();
    if (error instanceof JournalError || refusalOf(error, file).trouble !== 'damaged') throw error;
    return anew(directory, file, plant, remembered, error as Error);
  }
}

/** Put aside, and begun anew. A memory that was read whole before the damage was found goes over. */
function anew(
  directory: string,
  file: string,
  plant: Plant,
  remembered: Remembered | null,
  why: Error,
): OpenFile {
  const aside = putAside(file);
  const memory =
    remembered === null
      ? 'What is latched is in the state file, which is another file.'
      : 'Its last state was whole and goes on.';
  const words = `the journal was damaged (${why.message}); it is kept as ${aside}, and a new one is begun. ${memory}`;
  return { ...made(directory, file, plant), remembered, aside, words };
}

function memoryOf(db: Database): { remembered: Remembered | null; words: string | null } {
  try {
    const remembered = remember(db);
    const words = remembered?.differs
      ? 'this release decided otherwise than the one before it about the last steps; the state is as this one sees it'
      : null;
    return { remembered, words };
  } catch (error) {
    if (!(error instanceof NotUnderstood)) throw error;
    const words = `the last steps can't be understood by this release (${error.message}); what is latched is in the state file, which is another file`;
    return { remembered: null, words };
  }
}

/** @throws JournalError where the file is no journal, a newer release's, or another station's */
function checkOwner(db: Database, file: string, plant: Plant): void {
  const owner = db.pragma('application_id', { simple: true });
  const tables = db
    .prepare<[], number>("SELECT count(*) FROM sqlite_schema WHERE type = 'table'")
    .pluck()
    .get();
  // Made, and the power went before anything was in it.
  if (owner === 0 && tables === 0) return;
  if (owner !== APPLICATION_ID) throw notOurs('no-journal', file, 'its header says so');
  if (versionOf(db) > VERSION)
    throw notOurs('newer', file, `its version is ${versionOf(db)}, and this release knows ${VERSION}`);
  const station = db.prepare<[], string>('SELECT id FROM station').pluck().get();
  if (station !== undefined && station !== plant.id)
    throw notOurs('another-station', file, `of '${station}', not of '${plant.id}'`);
}

/** Tables for an empty file, what is missing for an old one. */
function furnish(db: Database, plant: Plant): void {
  if (versionOf(db) < VERSION) upgrade(db);
  db.prepare('INSERT INTO station (id, name) SELECT ?, ? WHERE NOT EXISTS (SELECT 1 FROM station)').run(
    plant.id,
    plant.name,
  );
}

/** After anything but a close in good order, every page is looked at: a worn card shows itself after a power cut. */
function checkPages(db: Database): void {
  const last = startsIn(db).at(-1);
  if (last === undefined || last.endedMs !== null) return;
  const found = db.pragma('quick_check(1)', { simple: true });
  if (found !== 'ok') throw new Damaged(String(found).replace(/\s+/gu, ' '));
}

function connect(file: string): Database {
  const db = openDatabase(file, { timeout: LIMITS.busyMs });
  closingOnFailure(
    () => db.close(),
    () => {
      // Before the first table, or never. Lets the file shrink when its bound is lowered.
      db.pragma('auto_vacuum = INCREMENTAL');
      settle(db);
    },
  );
  return db;
}

/**
 * A log beside the file (WAL), flushed to the disk at every commit (FULL: without it a commit survives the end of this
 * process, and not a power cut). The same on systems whose usual flush stops at the disk's own memory.
 */
export function settle(db: Database): void {
  const mode = db.pragma('journal_mode = WAL', { simple: true });
  if (mode !== 'wal') throw new Error(`the file can't keep its log beside it: ${String(mode)}`);
  db.pragma('synchronous = FULL');
  db.pragma('fullfsync = ON');
  db.pragma('checkpoint_fullfsync = ON');
  db.pragma(`journal_size_limit = ${LIMITS.logBytes}`);
}

/** The file and what SQLite keeps beside it, which is part of it. */
function putAside(file: string): string {
  let number = 1;
  const name = () => file.replace(/\.db$/u, `.damaged-${number}.db`);
  while (existsSync(name())) number += 1;
  for (const suffix of ['', '-wal', '-shm']) {
    if (existsSync(file + suffix)) renameSync(file + suffix, name() + suffix);
  }
  return name();
}

/** A new name in a folder is durable when the folder is. */
function flushDirectory(directory: string): void {
  const folder = openSync(directory, 'r');
  try {
    fsyncSync(folder);
  } finally {
    closeSync(folder);
  }
}
