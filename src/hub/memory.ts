// What was announced last, so that it can be withdrawn when it is taken out of the station file: a broker keeps a stored
// message for years. Written before anything new is announced, so that a power cut forgets nothing.
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

export interface Memory {
  /** Topics that may hold a stored message of ours. */
  readonly topics: () => readonly string[];
  /** Keeps these, and forgets the others. Throws when the disk does. */
  readonly keep: (topics: Iterable<string>) => void;
}

const FILE = 'announced.json';

export function memoryIn(directory: string): Memory {
  const file = join(directory, FILE);
  let known = read(file);
  return {
    topics: () => known,
    keep: (topics) => {
      const next = [...new Set(topics)].toSorted();
      if (JSON.stringify(next) === JSON.stringify(known)) return;
      mkdirSync(directory, { recursive: true });
      writeFileSync(`${file}.new`, JSON.stringify({ version: 1, topics: next }), { flush: true });
      renameSync(`${file}.new`, file);
      known = next;
    },
  };
}

/** For a service that keeps no state: it forgets with its end. */
export function shortMemory(): Memory {
  let known: readonly string[] = [];
  return {
    topics: () => known,
    keep: (topics) => {
      known = [...new Set(topics)].toSorted();
    },
  };
}

function read(file: string): readonly string[] {
  try {
    const { version, topics } = JSON.parse(readFileSync(file, 'utf8'));
    if (version !== 1 || !Array.isArray(topics)) return [];
    return topics.filter((topic) => typeof topic === 'string');
  } catch {
    // Nothing there, or nothing that can be read: then what stood before can't be known and stays.
    return [];
  }
}
