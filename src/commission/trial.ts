// What every step of commissioning is given, and what it gives back.
import type { Message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import type { Bench } from './bench.ts';
import type { Item } from './items.ts';
import type { Person } from './person.ts';
import type { Edit } from './proposal.ts';
import type { Entry, Verdict } from './record.ts';

/** Somebody else on the broker, who hears what we can't while our own link is cut. */
export interface Witness {
  /**
   * Cuts our link without a word for a while.
   * @returns when each output was next heard to be off, on the bench's clock; null where it was not in this time
   */
  readonly cutLink: (output: string, forMs: number) => Promise<number | null>;
}

export interface Trial {
  readonly item: Item;
  readonly bench: Bench;
  readonly person: Person;
  readonly plant: Plant;
  /** The station file as its owner wrote it. */
  readonly text: string;
  readonly witness: Witness;
  /** What this step shut down by what a person did by hand, reset by who stands there. */
  readonly resetOwn: () => Promise<void>;
  /** Outputs whose load a person has isolated in this session. */
  readonly isolated: Set<string>;
}

export type Result = Pick<Entry, 'verdict' | 'measured' | 'words' | 'change'>;

export const result = (
  verdict: Verdict,
  words: Message,
  measured: Result['measured'] = {},
  change: readonly Edit[] = [],
): Result => ({ verdict, words, measured, change });
