// What happened, kept: every event with its effects, in the one order of their numbers, from which the core can be run
// again; and beside it what people want to look at without running anything again.
//
// A commit is one transaction: the steps that waited, the step that asked for it, and everything noted about them. It is
// durable when the call returns. When to call which: see order.ts. A commit that fails changes nothing: what it would
// have written waits, in order, and is tried again; meanwhile every call says that it is not durable.
import type { State } from '../control/process/state.ts';
import type { Message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import { openFile } from './file.ts';
import { Keeping, type Taken } from './keeping.ts';
import { LIMITS } from './limits.ts';
import { type Queries, queriesOf } from './queries.ts';
import { type Stamp, stampNow } from './stamp.ts';
import type { ProofTest } from './tables.ts';
import type { Written } from './trouble.ts';

export interface JournalOptions {
  /** The release that decides, for the record. */
  readonly software?: string;
  /** What the file may grow to, bytes; at least 64 MiB, usually 256 MiB. */
  readonly fileBytes?: number;
  /** Where in time a step is. In lock step the wall clock is the station's, so that its days have their length. */
  readonly stamp?: () => Stamp;
  /** For a file that goes with the process: nothing waits for the disk, and no steps are kept to be replayed. */
  readonly isTemporary?: boolean;
}

/** `Queries` answer from what is durable. */
export interface Journal extends Queries {
  /** Where it lies; others may look into it meanwhile (looking.ts). */
  readonly file: string;
  /** What a person should know about the opening, with the name of a file that was put aside; null where all is well. */
  readonly words: string | null;
  /**
   * The last state, and for how long the service was away since, ms (null: nobody knows). Null where there is none: an
   * empty journal, a station file that was changed, a memory that was damaged.
   */
  readonly restore: () => { readonly state: State; readonly gapMs: number | null } | null;
  /**
   * Once, before the first step: the state in which it is taken. Durable when it says ok.
   * @param plant the one that the steps are made with, where it is not the station's own
   */
  readonly begin: (state: State, plant?: Plant) => Written;
  /** Durable when it says ok, with everything before it. */
  readonly append: (taken: Taken) => Written;
  /** Durable within 2 s of station time or 64 steps, or with the next `append`. Says what the last commit said. */
  readonly appendLater: (taken: Taken) => Written;
  /** Makes everything durable that waits. */
  readonly flush: () => Written;
  /** Makes everything durable, with a snapshot: the next start has nothing to compute. */
  readonly snapshot: () => Written;
  /** A person has proven a row, or found that it fails. Refused for a row that has no proof. */
  readonly addProofTest: (test: Omit<ProofTest, 'wallMs'>) => Written;
  /** What is no step of the core, for the list of records: a person counted salt. Durable with the next commit. */
  readonly note: (about: string, words: Message) => void;
  /** With a snapshot, where it can be written. The journal can't be used after it. */
  readonly close: () => Written;
}

/**
 * Opens the journal of a station, or makes one. A damaged file is kept under another name, and a new one is begun.
 * @param directory is made where it is missing; one for each station
 * @throws JournalError where it can't be written (full, read-only), is another station's, or a newer release's
 */
export function openJournal(directory: string, plant: Plant, options: JournalOptions = {}): Journal {
  const { software = '', fileBytes = LIMITS.fileBytes, stamp = stampNow, isTemporary = false } = options;
  if (!(fileBytes >= LIMITS.leastFileBytes))
    throw new RangeError(`a journal needs at least ${LIMITS.leastFileBytes} bytes, not ${fileBytes}`);
  const opened = openFile(directory, plant);
  if (isTemporary) opened.db.pragma('synchronous = OFF');
  const keeping = new Keeping(opened, plant, { software, fileBytes, stamp, isTemporary });
  return {
    file: opened.file,
    words: keeping.words,
    restore: () => keeping.restore(),
    begin: (state, used) => keeping.begin(state, used),
    append: (taken) => keeping.append(taken),
    appendLater: (taken) => keeping.appendLater(taken),
    flush: () => keeping.flush(),
    snapshot: () => keeping.snapshot(),
    addProofTest: (test) => keeping.addProofTest(test),
    note: (about, words) => keeping.note(about, words),
    close: () => keeping.close(),
    ...queriesOf(opened.db, opened.file),
  };
}
