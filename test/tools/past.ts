// The past of a source as a page would get it, worked out on the test's own thread: told and asked like the reader's.
import { type Looking, lookInto } from '../../src/journal/looking.ts';
import type {
  BatchRecord,
  EventQuery,
  HistoryAnswer,
  HistoryQuery,
  Incident,
  LedgerDay,
  PastEvent,
  Story,
} from '../../src/panel/contract.ts';
import type { CsvQuery } from '../../src/panel/csv.ts';
import { pastAnswers, type Question } from '../../src/panel/past.ts';
import type { Asked, Thread, ThreadSays } from '../../src/panel/reader-thread.ts';
import type { Source } from '../../src/panel/source.ts';
import { tellerOf } from '../../src/panel/told.ts';

export function pastOf(source: Source) {
  const past = pastAnswers(lookInto);
  const teller = tellerOf(source);
  const ask = async (question: Question) => {
    for (;;) {
      const told = await teller.next(question);
      past.take(structuredClone(told));
      if (told.isAll) return past.answer(question);
    }
  };
  const json = async <T>(question: Question): Promise<T> =>
    JSON.parse((await ask(question)).text ?? 'null') as T;
  const books = () =>
    json<{ readonly batches: readonly BatchRecord[]; readonly ledger: readonly LedgerDay[] }>({
      about: 'books',
    });
  return {
    history: (query: HistoryQuery) => json<HistoryAnswer>({ about: 'history', query }),
    events: (query: EventQuery) => json<readonly PastEvent[]>({ about: 'events', query }),
    incidents: () => json<readonly Incident[]>({ about: 'incidents' }),
    story: (id: string) => json<Story | null>({ about: 'story', id }),
    batches: async () => (await books()).batches,
    ledger: async () => (await books()).ledger,
    table: async (query: CsvQuery): Promise<string> => {
      let text = '';
      for (let atMs: number | null = null; ; ) {
        const piece = await ask({ about: 'table', query, atMs });
        text += piece.text;
        atMs = piece.nextMs;
        if (atMs === null) return text;
      }
    },
  };
}

/** A thread that is none: the work is done by the loop that asks, in turns of its own. */
export function onOwnThread(): Thread {
  const heard: ((says: ThreadSays) => void)[] = [];
  let journal: Looking | null = null;
  let isOver = false;
  const past = pastAnswers((file) => {
    journal ??= lookInto(file);
    return journal;
  });
  const thread = {
    on: (event: string, listener: (says: ThreadSays) => void) => {
      if (event === 'message') heard.push(listener);
    },
    postMessage: ({ told, question }: Asked) => {
      const mine = structuredClone(told);
      setImmediate(() => {
        // What a thread was asked and had not begun goes with it.
        if (isOver) return;
        past.take(mine);
        if (question === null) return;
        const { text, nextMs } = past.answer(question);
        const says: ThreadSays = { body: text === null ? null : new TextEncoder().encode(text), nextMs };
        for (const listener of heard) listener(says);
      });
    },
    terminate: async () => {
      isOver = true;
      journal?.close();
      return 0;
    },
  };
  return thread as unknown as Thread;
}
