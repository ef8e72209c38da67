// A journal for as long as the process runs: the page of a demo, or of a service that keeps no state, asks of it what it
// asks of any other: tables, each with its bound, and no steps.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Plant } from '../station/plant.ts';
import { closingOnFailure } from './closing.ts';
import { type Journal, type JournalOptions, openJournal } from './journal.ts';
import { LIMITS } from './limits.ts';
import { JournalError, refusalOf } from './trouble.ts';

/** Its folder goes when it is closed, or with the process. @throws JournalError where it can't be written */
export function openTemporary(plant: Plant, { stamp }: Pick<JournalOptions, 'stamp'> = {}): Journal {
  const folder = newFolder();
  const remove = () => rmSync(folder, { recursive: true, force: true });
  const options = {
    fileBytes: LIMITS.leastFileBytes,
    isTemporary: true,
    ...(stamp === undefined ? {} : { stamp }),
  };
  const journal = closingOnFailure(remove, () => openJournal(folder, plant, options));
  process.once('exit', remove);
  const close = () => {
    const written = journal.close();
    process.off('exit', remove);
    remove();
    return written;
  };
  return { ...journal, close };
}

function newFolder(): string {
  const named = join(tmpdir(), 'vatwarden-journal-');
  try {
    return mkdtempSync(named);
  } catch (error) {
    throw new JournalError(refusalOf(error, named), error);
  }
}
