// A journal to be read and nothing else: the file of a running station, or a copy of one that somebody sent. Nothing is
// written to it. An old version, or a file on a disk that can't be written, is read from a copy.
import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { closingOnFailure } from './closing.ts';
import { type Database, openDatabase } from './driver.ts';
import { settle } from './file.ts';
import { LIMITS } from './limits.ts';
import { plantIn, type Start, startsIn, type UsedPlant } from './reading.ts';
import { APPLICATION_ID, upgrade, VERSION, versionOf } from './schema.ts';
import { Damaged, JournalError, notOurs, refusalOf } from './trouble.ts';

export interface Recording {
  readonly db: Database;
  readonly file: string;
  readonly starts: readonly Start[];
  readonly plantOf: (start: Start) => UsedPlant;
  readonly close: () => void;
}

/** @throws JournalError where the file is missing, damaged, or not a journal of this release */
export function openRecording(file: string): Recording {
  if (!existsSync(file))
    throw new JournalError({
      trouble: 'missing',
      words: `there is no file ${file}`,
      mend: 'Name the journal.db in the folder of a station.',
    });
  try {
    const { db, close } = readable(file);
    return closingOnFailure(close, () => recordingOf(db, file, close));
  } catch (error) {
    if (error instanceof JournalError) throw error;
    throw new JournalError(refusalOf(error, file), error);
  }
}

interface Readable {
  readonly db: Database;
  readonly close: () => void;
}

function recordingOf(db: Database, file: string, close: () => void): Recording {
  const found = db.pragma('quick_check(1)', { simple: true });
  if (found !== 'ok') throw new Damaged(String(found).replace(/\s+/gu, ' '));
  const starts = startsIn(db);
  const plants = new Map<string, UsedPlant>();
  return {
    db,
    file,
    starts,
    plantOf: ({ plantHash }) => {
      const used = plants.get(plantHash) ?? plantIn(db, plantHash);
      plants.set(plantHash, used);
      return used;
    },
    close,
  };
}

function readable(file: string): Readable {
  const inPlace = openInPlace(file);
  if (inPlace !== null && versionOf(inPlace) === VERSION)
    return { db: inPlace, close: () => inPlace.close() };
  inPlace?.close();
  return openCopy(file);
}

/** Null where a copy may still be readable: SQLite needs a place for its log even to read. */
function openInPlace(file: string): Database | null {
  let db: Database | null = null;
  try {
    db = openDatabase(file, { readonly: true, timeout: LIMITS.busyMs });
    checkKind(db, file);
    return db;
  } catch (error) {
    db?.close();
    if (refusalOf(error, file).trouble === 'read-only') return null;
    throw error;
  }
}

function openCopy(file: string): Readable {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-replay-'));
  const remove = () => rmSync(folder, { recursive: true, force: true });
  return closingOnFailure(remove, () => {
    const copy = join(folder, 'journal.db');
    for (const suffix of ['', '-wal'])
      if (existsSync(file + suffix)) copyFileSync(file + suffix, copy + suffix);
    const db = openDatabase(copy);
    const close = () => {
      db.close();
      remove();
    };
    return closingOnFailure(close, () => {
      checkKind(db, file);
      settle(db);
      if (versionOf(db) < VERSION) upgrade(db);
      return { db, close };
    });
  });
}

export function checkKind(db: Database, file: string): void {
  if (db.pragma('application_id', { simple: true }) !== APPLICATION_ID)
    throw notOurs('no-journal', file, 'its header says so');
  if (versionOf(db) > VERSION)
    throw notOurs('newer', file, `its version is ${versionOf(db)}, and this release knows ${VERSION}`);
}
