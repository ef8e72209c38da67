// What the reader's thread is told before it answers: only what it does not know yet, and never so much at once that the
// loop stands still for it. A thread that was just begun is told everything, in several messages.
import type { Plant } from '../station/plant.ts';
import type { SaltStock } from './contract.ts';
import type { Counts, Question } from './past.ts';
import type { Books, Source } from './source.ts';

/** Rows of one message: copying them takes about a millisecond. */
const ROWS_AT_ONCE = 500;

export interface Told {
  readonly nowMs: number;
  /** Where it lies. */
  readonly journal: string | null;
  readonly salt: SaltStock | null;
  /** Null: as before. */
  readonly plant: Plant | null;
  /** New or changed, oldest first. */
  readonly rows: Books;
  /** How many rows each book has. */
  readonly counts: Counts;
  /** There is nothing more to tell. */
  readonly isAll: boolean;
}

export interface Teller {
  readonly next: (question: Question) => Promise<Told>;
}

const NO_ROWS: Books = { batches: [], days: [] };

/** For one thread: it remembers what it has told. */
export function tellerOf(source: Source): Teller {
  const { past } = source;
  const told = new WeakSet<object>();
  let plant: Plant | null = null;

  const isNew = (row: object): boolean => !told.has(row);
  const rowsOf = (books: Books): Books => {
    let room = ROWS_AT_ONCE;
    const some = <T extends object>(rows: readonly T[]): T[] => {
      const taken = rows.slice(0, room);
      room -= taken.length;
      return taken;
    };
    const batches = some(books.batches.filter(isNew));
    const days = some(books.days.filter(isNew));
    return { batches, days };
  };
  /** The last batch and the last day are still written on: they are told every time. */
  const remember = (rows: Books, books: Books): void => {
    const open = new Set<object | undefined>([books.batches.at(-1), books.days.at(-1)]);
    for (const list of Object.values(rows) as (readonly object[])[])
      for (const row of list) if (!open.has(row)) told.add(row);
  };

  return {
    next: async ({ about }) => {
      const salt = (await source.saltStock?.()) ?? null;
      const books = past.books();
      const rows = about === 'books' ? rowsOf(books) : NO_ROWS;
      remember(rows, books);
      const station = source.plant();
      const next: Told = {
        nowMs: source.now().atMs,
        journal: past.journal,
        salt,
        plant: station === plant ? null : station,
        rows,
        counts: {
          batches: books.batches.length,
          days: books.days.length,
        },
        isAll: Object.values(rows).reduce((sum, list) => sum + list.length, 0) < ROWS_AT_ONCE,
      };
      plant = station;
      return next;
    },
  };
}
