// Where the page gets everything from, and the only way by which it asks for anything. Whoever runs a station (the
// service on a broker, a demo, a test) hands one in; `memory-source.ts` makes one from the core's steps alone.
import type { Status } from '../control/describe.ts';
import type { State } from '../control/state.ts';
import type { Request } from '../control/types.ts';
import type { Plant } from '../station/plant.ts';
import type {
  Answer,
  Ask,
  BatchRecord,
  EventQuery,
  HistoryAnswer,
  HistoryQuery,
  Incident,
  LedgerDay,
  PastEvent,
  ProofOutcome,
  SaltStock,
  Story,
} from './contract.ts';

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
  readonly history: (query: HistoryQuery) => Promise<HistoryAnswer>;
  /** Newest first. */
  readonly events: (query: EventQuery) => Promise<readonly PastEvent[]>;
  /** Newest first. */
  readonly incidents: () => Promise<readonly Incident[]>;
  readonly story: (incident: string) => Promise<Story | null>;
  /** Newest first; the first may still be under way. */
  readonly batches: () => Promise<readonly BatchRecord[]>;
  /** Newest first. */
  readonly ledger: () => Promise<readonly LedgerDay[]>;
  /** By row: what came of its last proof test. */
  readonly proofs: () => Readonly<Record<string, ProofOutcome>>;
  /** What a person counted in the store room; null: nobody has. */
  readonly saltStock: (() => Promise<SaltStock | null>) | null;
  readonly countSalt: ((massKg: number) => Promise<Answer>) | null;
  /** Goes on with changed targets from the next step; null: only a restart with a changed file can. */
  readonly adopt: ((plant: Plant) => Promise<Answer>) | null;
}
