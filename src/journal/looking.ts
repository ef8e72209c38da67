// A journal that somebody else is writing, opened to be asked: another thread looks into it while the service goes
// on. Each question is a read of its own, so that the writer's log can be folded back into the file in between.
import { closingOnFailure } from './closing.ts';
import { openDatabase } from './driver.ts';
import { LIMITS } from './limits.ts';
import { type Queries, queriesOf } from './queries.ts';
import { checkKind } from './recording.ts';
import { JournalError, refusalOf } from './trouble.ts';

export interface Looking extends Queries {
  readonly close: () => void;
}

/** @throws JournalError where the file can't be read, or is none of ours */
export function lookInto(file: string): Looking {
  try {
    const db = openDatabase(file, { readonly: true, timeout: LIMITS.busyMs });
    return closingOnFailure(
      () => db.close(),
      () => {
        checkKind(db, file);
        return { ...queriesOf(db, file), close: () => db.close() };
      },
    );
  } catch (error) {
    if (error instanceof JournalError) throw error;
    throw new JournalError(refusalOf(error, file), error);
  }
}
