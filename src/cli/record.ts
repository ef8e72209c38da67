// The journal beside a running service: every step in order, so that it can be replayed. What must be durable before an
// `on` goes out is the state file's business (keeper.ts); a journal that can't be written says so, and nothing waits.
import { join } from 'node:path';
import type { Bridge } from '../bridge/bridge.ts';
import { provenBefore } from '../control/guard/proof-tests.ts';
import type { State } from '../control/process/state.ts';
import { type Journal, openJournal } from '../journal/journal.ts';
import { orderOf } from '../journal/order.ts';
import type { Stamp } from '../journal/stamp.ts';
import { openTemporary } from '../journal/temporary.ts';
import { JournalError } from '../journal/trouble.ts';
import type { Plant } from '../station/plant.ts';

export interface RecordOptions {
  readonly plant: Plant;
  readonly state: State;
  readonly bridge: Pick<Bridge<State>, 'turns'>;
  /** As `openRecord` opened it. */
  readonly journal: Journal | null;
  readonly failed: (words: string) => void;
}

export interface Recording {
  readonly journal: Journal | null;
  /** The last of it is written, or waits for its turn in good order. */
  readonly isWell: () => boolean;
}

/** Writes every step from now on. */
export function record({ plant, state, bridge, journal, failed }: RecordOptions): Recording {
  if (journal === null) return { journal, isWell: () => false };
  if (journal.words !== null) failed(journal.words);
  let isWell = true;
  const tell = (written: ReturnType<Journal['append']>): void => {
    if (!written.ok && isWell) failed(`${written.words} ${written.mend}`);
    isWell = written.ok;
  };
  tell(journal.begin(state, plant));
  bridge.turns.subscribe({
    next: ({ event, effects, state: now }) => {
      if (event === null) return;
      const taken = { event, effects, state: now };
      tell(orderOf(effects) === 'later' ? journal.appendLater(taken) : journal.append(taken));
    },
    error: () => {},
  });
  return { journal, isWell: () => isWell };
}

/**
 * Null, and said, where the journal can't be opened: what must survive a power cut is in the state file all the same.
 * @param directory the journal lies in `journal` below it; null: it goes with the process
 * @param stamp in lock step: the station's own time
 */
export function openRecord(
  directory: string | null,
  plant: Plant,
  failed: (words: string) => void,
  stamp?: () => Stamp,
): Journal | null {
  try {
    const options = stamp === undefined ? {} : { stamp };
    if (directory === null) return openTemporary(plant, options);
    return openJournal(join(directory, 'journal'), plant, options);
  } catch (error) {
    if (!(error instanceof JournalError)) throw error;
    const lost = directory === null ? 'The page' : 'Nothing is kept for replay, and the page';
    failed(`${error.message} ${lost} has no past to show [${error.code}].`);
    return null;
  }
}

/**
 * A state that begins anew, with what the journal still knows of proof tests: a float that nobody has tried for a year is
 * not young because the station file was changed today.
 */
export function withProofTests(plant: Plant, state: State, journal: Journal, nowMs: number): State {
  const since: Record<string, number> = {};
  for (const { row, passed, wallMs } of journal.proofTests({ most: Number.MAX_SAFE_INTEGER }))
    if (passed && since[row] === undefined) since[row] = nowMs - wallMs;
  const firstMs = journal.knowsSinceMs();
  return provenBefore(plant, state, firstMs === null ? null : nowMs - firstMs, since);
}
