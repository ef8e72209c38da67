// The reader's thread as the loop that runs the water sees it: one piece of work at a time is handed over, whoever asked
// least waits least, and an answer is bytes that are passed on. A thread that takes too long is ended, one that ended by
// itself is missed; either way the next piece gets a new one.
import { fork } from 'node:child_process';
import { builtFile } from './built.ts';
import { Refused } from './guard.ts';
import type { Question } from './past.ts';
import type { Source } from './source.ts';
import { type Teller, type Told, tellerOf } from './told.ts';

export interface Asked {
  readonly told: Told;
  /** Null: there is more to tell first. */
  readonly question: Question | null;
}

export interface Answered {
  readonly body: Uint8Array | null;
  readonly nextMs: number | null;
}

export type ThreadSays = Answered | { readonly fault: string; readonly isJournal: boolean };

/** What is used of whatever reads. */
export interface Thread {
  readonly postMessage: (value: unknown) => void;
  on(event: 'message', listener: (says: ThreadSays) => void): unknown;
  on(event: 'error', listener: (error: unknown) => void): unknown;
  on(event: 'exit', listener: () => void): unknown;
  readonly terminate: () => Promise<unknown>;
}

export interface ThreadLimits {
  /** One piece of work may take so long; a year's picture takes a tenth of a second where nobody else wants the core. */
  readonly pieceMs: number;
  /** And may wait so long for the others. */
  readonly waitMs: number;
}

export interface ReaderThread {
  /** @throws Refused */
  readonly work: (who: object, question: Question) => Promise<Answered>;
  readonly close: () => Promise<void>;
}

interface Piece {
  readonly who: object;
  readonly question: Question;
  readonly done: (answered: Answered) => void;
  readonly failed: (error: Error) => void;
  timer: NodeJS.Timeout;
}

/** Enough for a year of hours several times over; more is a fault, and ends the thread instead of the service. */
const MOST_MEMORY_MB = 256;
export const RETRY_S = 30;

/** A process of its own: ended in the middle of a read, the driver of the journal would take the service with it. */
export function beginWorker(): Thread {
  const child = fork(builtFile('past-worker.js'), {
    serialization: 'advanced',
    execArgv: [`--max-old-space-size=${MOST_MEMORY_MB}`],
  });
  // What could not be begun has no exit.
  const gone = new Promise<unknown>((resolve) => child.once('exit', resolve).once('error', resolve));
  return {
    postMessage: (value) => child.send(value as Asked, () => {}),
    on: (event: string, listener: (...of: never[]) => void) => child.on(event, listener as () => void),
    terminate: () => {
      child.kill('SIGKILL');
      return gone;
    },
  };
}

/** @param failed told of what went wrong inside */
export function readerThread(
  source: Source,
  { pieceMs, waitMs }: ThreadLimits,
  failed: (error: unknown) => void,
  begin: () => Thread,
): ReaderThread {
  const queue = inTurn<Piece>();
  let running: { readonly thread: Thread; readonly teller: Teller } | null = null;
  let current: Piece | null = null;
  /** Until it is gone there is no other: threads that hang must not pile up. */
  let ending: Promise<unknown> | null = null;
  let isClosed = false;

  const start = () => {
    const thread = begin();
    const isOurs = () => running?.thread === thread;
    let cause: unknown = new Error('the thread that reads the past ended');
    thread.on('message', (says: ThreadSays) => {
      if (!isOurs()) return;
      if ('fault' in says) {
        failed(Object.assign(new Error('the past could not be read'), { stack: says.fault }));
        settle((piece) => piece.failed(says.isJournal ? noJournal() : inside()));
      } else settle((piece) => piece.done(says));
    });
    thread.on('error', (error) => {
      cause = error;
    });
    thread.on('exit', () => {
      if (!isOurs()) return;
      running = null;
      failed(cause);
      settle((piece) =>
        piece.failed(refused('ended', 'what reads the past broke off, and is begun anew: ask once more')),
      );
    });
    return { thread, teller: tellerOf(source) };
  };
  const settle = (tell: (piece: Piece) => void): void => {
    const piece = current;
    current = null;
    if (piece !== null) {
      clearTimeout(piece.timer);
      tell(piece);
    }
    next();
  };
  const next = (): void => {
    if (current !== null || ending !== null || isClosed) return;
    const piece = queue.take();
    if (piece === null) return;
    current = piece;
    clearTimeout(piece.timer);
    piece.timer = setTimeout(giveUp, pieceMs);
    void hand(piece).catch((error: unknown) => {
      if (current !== piece) return;
      // What it was told, nobody knows.
      end();
      failed(error);
      settle(() => piece.failed(inside()));
    });
  };
  const hand = async (piece: Piece): Promise<void> => {
    running ??= start();
    const { thread, teller } = running;
    for (;;) {
      const told = await teller.next(piece.question);
      if (current !== piece) return;
      thread.postMessage({ told, question: told.isAll ? piece.question : null } satisfies Asked);
      if (told.isAll) return;
      await new Promise(setImmediate);
    }
  };
  const end = (): void => {
    const thread = running?.thread;
    running = null;
    ending = Promise.resolve(thread?.terminate()).finally(() => {
      ending = null;
      next();
    });
  };
  const giveUp = (): void => {
    end();
    failed(new Error(`a read of the past took longer than ${pieceMs} ms and was given up`));
    settle((piece) =>
      piece.failed(
        refused('late', `this took longer than ${pieceMs / 1000} s and was given up: ask for a shorter span`),
      ),
    );
  };

  return {
    work: (who, question) =>
      new Promise((done, reject) => {
        if (isClosed) return reject(closed());
        const piece: Piece = { who, question, done, failed: reject, timer: setTimeout(tired, waitMs) };
        function tired(): void {
          queue.remove(piece);
          reject(refused('busy', `many read the past at once: try again in ${RETRY_S} s`));
        }
        queue.add(piece);
        next();
      }),
    close: async () => {
      isClosed = true;
      const thread = running?.thread;
      running = null;
      for (let piece = current ?? queue.take(); piece !== null; piece = queue.take()) {
        clearTimeout(piece.timer);
        piece.failed(closed());
      }
      current = null;
      await Promise.all([thread?.terminate(), ending]);
    },
  };
}

const refused = (error: string, words: string): Refused => new Refused(503, error, words, RETRY_S);
const closed = (): Refused => new Refused(503, 'closing', 'this service is being stopped: ask the next one');

/** The place on the disk, and what was wrong with it, is the log's to know. */
const noJournal = (): Refused =>
  refused('journal', "the journal can't be read at the moment: the log of the service says why");
const inside = (): Refused => new Refused(500, 'inside', 'this service has a fault: look at its log');

/** Who has others waiting in front, waits; who has asked for much, does not hold up who asked for little. */
function inTurn<T extends { readonly who: object }>() {
  const lines = new Map<object, T[]>();
  return {
    add: (one: T): void => {
      const line = lines.get(one.who);
      if (line === undefined) lines.set(one.who, [one]);
      else line.push(one);
    },
    take: (): T | null => {
      const [first] = lines;
      if (first === undefined) return null;
      const [who, line] = first;
      const one = line.shift() ?? null;
      lines.delete(who);
      if (line.length > 0) lines.set(who, line);
      return one;
    },
    remove: (one: T): void => {
      const line = (lines.get(one.who) ?? []).filter((other) => other !== one);
      if (line.length > 0) lines.set(one.who, line);
      else lines.delete(one.who);
    },
  };
}
