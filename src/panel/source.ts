// Where the page gets everything from, and the only way by which it asks for anything. Whoever runs a station (the
// service on a broker, a demo, a test) hands one in; `memory-source.ts` makes one from the core's steps alone.
import type { Request } from '../control/guard/types.ts';
import type { Status } from '../control/process/describe.ts';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import type { Answer, Ask, BatchRecord, ProofOutcome, SaltStock } from './contract.ts';
import type { DayKept } from './day-book.ts';

/** The books, each oldest first: as they are kept, to be read and never to be written on. */
export interface Books {
  /** Of both only the last is still written on. */
  readonly batches: readonly BatchRecord[];
  readonly days: readonly DayKept[];
}

export interface Past {
  readonly books: () => Books;
  /** Where the journal lies that knows everything else; null: it could not be opened. */
  readonly journal: string | null;
}

export interface Source {
  readonly plant: () => Plant;
  /** As of the core's last step; nobody writes on it. */
  readonly state: () => State;
  readonly status: () => Status;
  /** The source's present moment. `simulated`: its time is not the wall's. */
  readonly now: () => { readonly atMs: number; readonly simulated: boolean };
  /** Called after every step; returns what ends it. */
  readonly onChange: (listener: () => void) => () => void;
  /** Answers once the core has answered; never rejects for what a person asked. */
  readonly request: (request: Request) => Promise<Answer>;
  /** What the core behind it understands. */
  readonly asks: readonly Ask[];
  /** The batch under way, or null. */
  readonly batch: () => BatchRecord | null;
  /** What is known of the past: for `reader.ts`, which has another thread work out what people ask of it. */
  readonly past: Past;
  /** By row: what came of its last proof test. */
  readonly proofs: () => Readonly<Record<string, ProofOutcome>>;
  /** What a person counted in the store room; null: nobody has. */
  readonly saltStock: (() => Promise<SaltStock | null>) | null;
  readonly countSalt: ((massKg: number) => Promise<Answer>) | null;
  /** Goes on with changed targets from the next step; null: only a restart with a changed file can. */
  readonly adopt: ((plant: Plant) => Promise<Answer>) | null;
}
