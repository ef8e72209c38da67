// Reads of the past for people: how many there may be at once, and a table as a stream that is worked out no faster than
// it is taken away.
import { Readable } from 'node:stream';
import type { CsvQuery } from './csv.ts';
import { Refused } from './guard.ts';
import type { Question } from './past.ts';
import { beginWorker, RETRY_S, readerThread, type Thread, type ThreadLimits } from './reader-thread.ts';
import type { Source } from './source.ts';

export interface ReaderLimits extends ThreadLimits {
  /** Of one session at once: a page asks for three things when it is opened, and somebody may have opened two. */
  readonly readsOfOneSession: number;
  readonly tablesOfOneSession: number;
  /** Of everybody. */
  readonly readsAtOnce: number;
  /** A piece of a table that nobody takes away for so long ends the table. */
  readonly takeMs: number;
  /** And so does this, however much is still to come. */
  readonly tableMs: number;
}

export const READER_LIMITS: ReaderLimits = {
  readsOfOneSession: 8,
  tablesOfOneSession: 2,
  readsAtOnce: 64,
  pieceMs: 20_000,
  waitMs: 30_000,
  takeMs: 60_000,
  tableMs: 15 * 60_000,
};

export interface Reader {
  /** JSON; null: there is no such thing. @throws Refused */
  readonly ask: (who: object, question: Exclude<Question, { about: 'table' }>) => Promise<Buffer | null>;
  /** Refused before there is a first line; what goes wrong later breaks the stream off. @throws Refused */
  readonly table: (who: object, query: CsvQuery) => Promise<Readable>;
  readonly close: () => Promise<void>;
}

/**
 * @param failed told of what went wrong inside
 * @param begin a thread; by default the one shipped
 */
export function readerOf(
  source: Source,
  limits: ReaderLimits,
  failed: (error: unknown) => void,
  begin: () => Thread = beginWorker,
): Reader {
  const thread = readerThread(source, limits, failed, begin);
  const seats = seatsOf(limits);
  return {
    ask: async (who, question) => {
      const leave = seats.take(who, 'reads');
      try {
        return bufferOf((await thread.work(who, question)).body);
      } finally {
        leave();
      }
    },
    table: async (who, query) => {
      const leave = seats.take(who, 'tables');
      const piece = (atMs: number | null) => thread.work(who, { about: 'table', query, atMs });
      try {
        return streamOf(await piece(null), piece, limits, leave);
      } catch (error) {
        leave();
        throw error;
      }
    },
    close: thread.close,
  };
}

const bufferOf = (body: Uint8Array | null): Buffer | null =>
  body === null ? null : Buffer.from(body.buffer, body.byteOffset, body.byteLength);

type PieceDone = Awaited<ReturnType<ReturnType<typeof readerThread>['work']>>;

/** Each piece is asked for when the one before has been taken, and none after the browser went away. */
function streamOf(
  first: PieceDone,
  pieceAt: (atMs: number) => Promise<PieceDone>,
  { takeMs, tableMs }: ReaderLimits,
  leave: () => void,
): Readable {
  let ready: PieceDone | null = first;
  let nextMs = first.nextMs;
  const giveUp = (): void => void rows.destroy(new Error('the table was not taken away'));
  const whole = setTimeout(giveUp, tableMs);
  let taking = setTimeout(giveUp, takeMs);
  const following = async (): Promise<Buffer | null> => {
    for (;;) {
      const piece: PieceDone | null = ready ?? (nextMs === null ? null : await pieceAt(nextMs));
      if (piece === null) return null;
      ready = null;
      nextMs = piece.nextMs;
      const body = bufferOf(piece.body);
      if (body !== null && body.length > 0) return body;
      // A stretch of which nothing is known; somebody else's turn.
      if (rows.destroyed) return null;
    }
  };
  const rows = new Readable({
    highWaterMark: 1,
    read: () => {
      clearTimeout(taking);
      following().then(
        (body) => {
          if (rows.destroyed) return;
          taking = setTimeout(giveUp, takeMs);
          rows.push(body);
        },
        (error: Error) => void rows.destroy(error),
      );
    },
    destroy: (error, done) => {
      clearTimeout(taking);
      clearTimeout(whole);
      leave();
      done(error);
    },
  });
  return rows;
}

interface Taken {
  reads: number;
  tables: number;
}

/** Whoever has too much under way is told so at once; nobody waits outside. */
function seatsOf({ readsAtOnce, readsOfOneSession, tablesOfOneSession }: ReaderLimits) {
  const taken = new Map<object, Taken>();
  let all = 0;
  return {
    take: (who: object, kind: keyof Taken): (() => void) => {
      const mine = taken.get(who) ?? { reads: 0, tables: 0 };
      if (kind === 'tables' && mine.tables >= tablesOfOneSession)
        throw new Refused(
          429,
          'session-busy',
          `${tablesOfOneSession} tables are being saved from this sign-in already: wait until one is done`,
          RETRY_S,
        );
      if (kind === 'reads' && mine.reads >= readsOfOneSession)
        throw new Refused(
          429,
          'session-busy',
          `${readsOfOneSession} reads of the past are under way from this sign-in: wait for their answers`,
          RETRY_S,
        );
      if (all >= readsAtOnce)
        throw new Refused(503, 'busy', `many read the past at once: try again in ${RETRY_S} s`, RETRY_S);
      mine[kind] += 1;
      all += 1;
      taken.set(who, mine);
      let isIn = true;
      return () => {
        if (!isIn) return;
        isIn = false;
        mine[kind] -= 1;
        all -= 1;
        if (mine.reads + mine.tables === 0) taken.delete(who);
      };
    },
  };
}
