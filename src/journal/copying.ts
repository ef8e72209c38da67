// A copy of the journal while it is being written. Copying the file with a plain tool would miss what stands in the log
// beside it, or catch a page half way; `VACUUM INTO` reads one moment of it, whole, in one transaction, and holds up nobody
// who writes meanwhile. (SQLite's backup interface begins anew whenever another process writes, and this one always does.)
import { closeSync, fsyncSync, openSync } from 'node:fs';
import { closingOnFailure } from './closing.ts';
import { openDatabase } from './driver.ts';
import { LIMITS } from './limits.ts';
import { checkKind } from './recording.ts';
import { Damaged, JournalError, refusalOf } from './trouble.ts';

export interface Copied {
  /** The last step in the copy; 0 in a journal without any. */
  readonly lastStep: number;
  /** When it was taken, by the wall; null without any. */
  readonly lastWallMs: number | null;
}

/**
 * Durable when it returns. The journal may belong to a running station.
 * @param to must not be there
 * @throws JournalError where it is no journal, a newer release's, or damaged, or where the copy can't be written
 */
export function copyJournal(from: string, to: string): Copied {
  try {
    const db = openDatabase(from, { readonly: true, timeout: LIMITS.busyMs });
    closingOnFailure(
      () => db.close(),
      () => {
        checkKind(db, from);
        db.prepare('VACUUM INTO ?').run(to);
      },
    );
    db.close();
  } catch (error) {
    if (error instanceof JournalError) throw error;
    throw new JournalError(refusalOf(error, from), error);
  }
  flush(to);
  return looked(to);
}

/** What was copied is read back from the disk: a copy that can't be read is none. */
function looked(file: string): Copied {
  const db = openDatabase(file, { readonly: true });
  try {
    const found = db.pragma('quick_check(1)', { simple: true });
    if (found !== 'ok') throw new JournalError(refusalOf(new Damaged(String(found)), file));
    const last = db
      .prepare<[], { seq: number; count: number; wall: number }>(
        'SELECT seq, count, wall FROM steps ORDER BY seq DESC LIMIT 1',
      )
      .get();
    return last === undefined
      ? { lastStep: 0, lastWallMs: null }
      : { lastStep: last.seq + last.count - 1, lastWallMs: last.wall };
  } finally {
    db.close();
  }
}

function flush(file: string): void {
  const handle = openSync(file, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
