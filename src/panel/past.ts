// What may be asked of the past, and its answers, as the text that goes over the wire: so the loop that runs the water
// neither makes nor reads it. This runs in the reader's thread; it asks the journal as it is on the disk, and knows batches and
// days as they were told to it (told.ts).
import type { Queries } from '../journal/queries.ts';
import { JournalError } from '../journal/trouble.ts';
import type { Plant } from '../station/plant.ts';
import { channelsOf } from './channels.ts';
import { eventsIn, type Happened, incidentsIn, storyOf } from './chronicle.ts';
import type { BatchRecord, EventQuery, HistoryAnswer, HistoryQuery } from './contract.ts';
import { type CsvQuery, csvHead, csvRows } from './csv.ts';
import { type DayKept, shownDay } from './day-book.ts';
import { linesIn } from './journal-lines.ts';
import type { Books } from './source.ts';
import type { Told } from './told.ts';

export type Question =
  | { readonly about: 'history'; readonly query: HistoryQuery }
  /** A table goes out in pieces, each a question of its own. */
  | { readonly about: 'table'; readonly query: CsvQuery; readonly atMs: number | null }
  | { readonly about: 'events'; readonly query: EventQuery }
  | { readonly about: 'incidents' }
  | { readonly about: 'story'; readonly id: string }
  | { readonly about: 'books' };

export interface Reply {
  /** JSON, or lines of a table; null: there is no such thing. */
  readonly text: string | null;
  /** Where the next piece of a table begins; null: this was the last. */
  readonly nextMs: number | null;
}

export interface PastAnswers {
  readonly take: (told: Told) => void;
  /** @throws JournalError where the journal can't be read */
  readonly answer: (question: Question) => Reply;
}

/** A piece of a table ends with this many characters or after so long: others wait behind it. */
const PIECE_LENGTH = 64_000;
const PIECE_MS = 100;

export type Asked = Pick<Queries, 'history'> & Happened;

/** @param open the journal, when it is needed */
export function pastAnswers(open: (file: string) => Asked): PastAnswers {
  const batches = new Map<string, BatchRecord>();
  const days = new Map<string, DayKept>();
  let now: Pick<Told, 'nowMs' | 'journal' | 'salt'> = { nowMs: 0, journal: null, salt: null };
  let plant: Plant | null = null;

  const station = (): Plant => {
    if (plant === null) throw new Error('the reader was asked before it was told of the station');
    return plant;
  };
  const journal = (): Asked => {
    if (now.journal !== null) return open(now.journal);
    const mend = 'The log of the service says why it could not be opened.';
    throw new JournalError({ trouble: 'missing', words: 'there is no journal', mend });
  };
  const history = (query: HistoryQuery): HistoryAnswer => {
    const channels = channelsOf(station()).filter(({ id }) => query.channels.includes(id));
    return linesIn(journal(), channels, query);
  };
  const newest = <T>(rows: ReadonlyMap<string, T>): T[] => [...rows.values()].reverse();

  const answer = (question: Question): unknown => {
    switch (question.about) {
      case 'history':
        return history(question.query);
      case 'events':
        return eventsIn(journal(), question.query);
      case 'incidents':
        return incidentsIn(journal());
      case 'story': {
        const incident = incidentsIn(journal()).find(({ id }) => id === question.id);
        if (incident === undefined) return null;
        return storyOf(incident, journal(), now.nowMs, station(), channelsOf(station()));
      }
      case 'books':
        return { batches: newest(batches), ledger: newest(days).map(shownDay), salt: now.salt };
      case 'table':
        throw new Error('a table is answered in pieces');
    }
  };
  const piece = (query: CsvQuery, atMs: number | null): Reply => {
    let text = atMs === null ? csvHead(station(), query) : '';
    let nextMs: number | null = atMs ?? Math.floor(query.fromMs / query.everyMs) * query.everyMs;
    const beganMs = performance.now();
    while (nextMs !== null && text.length < PIECE_LENGTH && performance.now() - beganMs < PIECE_MS) {
      const rows = csvRows(history, query, nextMs);
      text += rows.text;
      nextMs = rows.nextMs;
    }
    return { text, nextMs };
  };

  return {
    take: (told) => {
      plant = told.plant ?? plant;
      now = told;
      const { rows, counts } = told;
      renew(batches, rows.batches, counts.batches, ({ beganMs, number }) => `${beganMs}/${number}`);
      renew(days, rows.days, counts.days, ({ day }) => day);
    },
    answer: (question) => {
      if (question.about === 'table') return piece(question.query, question.atMs);
      const found = answer(question);
      return { text: found === null ? null : JSON.stringify(found), nextMs: null };
    },
  };
}

export type Counts = Readonly<Record<keyof Books, number>>;

/** New rows behind the others, changed ones in their place; as many of the oldest go as the book itself has let go. */
function renew<T>(kept: Map<string, T>, rows: readonly T[], count: number, keyOf: (row: T) => string): void {
  for (const row of rows) kept.set(keyOf(row), row);
  for (const key of kept.keys()) {
    if (kept.size <= count) return;
    kept.delete(key);
  }
}
