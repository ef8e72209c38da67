// A source made of the core's steps: it looks at every one, keeps the books that the journal has no room for (batches with
// their stages, days against their plan, the salt in store), and hands requests on to whoever runs the core. `kept` lets them
// outlive a restart; everything else of the past is the journal's.
import type { Effect, Request } from '../control/guard/types.ts';
import { describe } from '../control/process/describe.ts';
import type { State } from '../control/process/state.ts';
import type { Journal } from '../journal/journal.ts';
import { message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import { type BatchBook, batchBook } from './batch-book.ts';
import type { Answer, Ask, BatchRecord, ProofOutcome, SaltStock } from './contract.ts';
import { type DayBook, type DayKept, dayBook } from './day-book.ts';
import { proofBook } from './proof-book.ts';
import type { Source } from './source.ts';

/** Everything that the core of this version understands. */
export const ASKS: readonly Ask[] = [
  'start',
  'hold',
  'restart',
  'stop',
  'abort',
  'reset',
  'acknowledge',
  'on-my-way',
  'reset-trip',
  'salt-added',
  'salinity-measured',
  'exchange-now',
  'level-right',
  'out-of-service',
  'into-service',
  'proof-test',
  'end-proof-test',
  'valve-moved',
  'upkeep-done',
  'bypass',
  'end-bypass',
  'shelve',
  'unshelve',
  'alarm-out-of-service',
  'alarm-into-service',
];

/** The books, as they are written down. */
export interface Kept {
  readonly version: 1;
  readonly batches: readonly BatchRecord[];
  readonly days: readonly DayKept[];
  readonly salt: SaltStock | null;
}

export interface MemoryOptions {
  readonly plant: Plant;
  readonly state: State;
  /** Hands a request to the core; its answer comes back among the effects, under the same id. */
  readonly send: (id: string, request: Request) => void;
  /** The moment of the first step. */
  readonly startMs: number;
  readonly simulated: boolean;
  /** The date of a moment; by default this computer's, and for simulated time the one in UTC. */
  readonly dayOf?: (atMs: number) => string;
  readonly kept?: Kept | null;
  /** How proof tests ended before this start. */
  readonly proofs?: readonly ProofOutcome[];
  /** It keeps what happened, and is told what the page adds to that; null: it could not be opened. */
  readonly journal: Pick<Journal, 'file' | 'note'> | null;
  readonly adopt?: (plant: Plant) => void;
  /** How long an answer may take by the wall before the person is told that none came. */
  readonly answerWithinMs?: number;
}

export interface MemorySource extends Source {
  /**
   * Looks at one step. @param atMs the moment after it; by default the one before plus `elapsedMs`
   */
  readonly observe: (state: State, effects: readonly Effect[], elapsedMs: number, atMs?: number) => void;
  readonly kept: () => Kept;
}

const ANSWER_WITHIN_MS = 10_000;
const utcDay = (atMs: number): string => new Date(atMs).toISOString().slice(0, 10);
/** Swedish writes a date as ISO 8601 does. */
const LOCAL = new Intl.DateTimeFormat('sv-SE', { dateStyle: 'short' });
const localDay = (atMs: number): string => LOCAL.format(atMs);

export function memorySource(options: MemoryOptions): MemorySource {
  const { send, simulated, journal, kept = null } = options;
  let { plant, state } = options;
  let nowMs = options.startMs;
  let described: ReturnType<typeof describe> | null = null;
  const batches: BatchBook = batchBook(kept?.batches.toReversed());
  const days: DayBook = dayBook(options.dayOf ?? (simulated ? utcDay : localDay), kept?.days);
  const proofs = proofBook(options.proofs);
  const listeners = new Set<() => void>();
  const answers = answersBy(options.answerWithinMs ?? ANSWER_WITHIN_MS);
  let salt = kept?.salt ?? null;

  const observe: MemorySource['observe'] = (next, effects, elapsedMs, atMs = nowMs + elapsedMs) => {
    const addedKg =
      next.batch.saltAddedKg - (next.batch.number === state.batch.number ? state.batch.saltAddedKg : 0);
    if (salt !== null && addedKg > 0) salt = { ...salt, usedKg: salt.usedKg + addedKg };
    state = next;
    nowMs = atMs;
    described = null;
    const turn = { plant, state, effects, atMs, elapsedMs };
    batches.observe(turn);
    days.observe(turn);
    proofs.observe(turn);
    answers.settle(effects);
    for (const listener of listeners) listener();
  };

  return {
    observe,
    plant: () => plant,
    state: () => state,
    status: () => {
      described ??= describe(plant, state);
      return described;
    },
    now: () => ({ atMs: nowMs, simulated }),
    onChange: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    request: (request) => answers.ask((id) => send(id, request)),
    asks: ASKS,
    batch: () => batches.current(),
    past: {
      journal: journal?.file ?? null,
      books: () => ({ batches: batches.rows(), days: days.rows() }),
    },
    proofs: () => proofs.all(),
    saltStock: async () => salt,
    countSalt: async (massKg) => {
      salt = { massKg, countedMs: nowMs, usedKg: 0 };
      journal?.note('service', message('salt-counted', { massKg }));
      return { accepted: true, words: message('salt-in-store', { massKg }) };
    },
    adopt: adopting(options.adopt, (next) => {
      plant = next;
      described = null;
      journal?.note('service', message('targets-changed'));
    }),
    kept: () => ({ version: 1, batches: batches.rows().toReversed(), days: days.rows(), salt }),
  };
}

function adopting(
  hand: ((plant: Plant) => void) | undefined,
  take: (plant: Plant) => void,
): ((plant: Plant) => Promise<Answer>) | null {
  if (hand === undefined) return null;
  return async (next) => {
    hand(next);
    take(next);
    return { accepted: true, words: message('targets-count-now') };
  };
}

/** Pairs each request with the answer that the core gives under its id. */
function answersBy(withinMs: number) {
  const waiting = new Map<string, (answer: Answer) => void>();
  const prefix = Math.random().toString(36).slice(2, 10);
  let asked = 0;
  return {
    ask: (send: (id: string) => void): Promise<Answer> =>
      new Promise((resolve) => {
        asked += 1;
        const id = `page-${prefix}-${asked}`;
        const late = setTimeout(() => {
          waiting.delete(id);
          resolve({ accepted: false, words: message('no-answer-came') });
        }, withinMs);
        waiting.set(id, (answer) => {
          clearTimeout(late);
          resolve(answer);
        });
        send(id);
      }),
    settle: (effects: readonly Effect[]): void => {
      for (const effect of effects) {
        if (effect.do !== 'answer') continue;
        waiting.get(effect.request)?.({ accepted: effect.accepted, words: effect.words });
        waiting.delete(effect.request);
      }
    },
  };
}
