// The books in a file beside the service's state, so that a restart does not tear a page out: batches, days, the salt in
// store. Written whole and renamed into place; a file that can't be read is put aside, never overwritten.
import { existsSync, readFileSync, renameSync } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import type { Kept, MemorySource } from './memory-source.ts';

const EVERY_MS = 60_000;

export interface Found {
  readonly kept: Kept | null;
  /** What a person should know; null where all is well. */
  readonly words: string | null;
}

export function keptIn(file: string): Found {
  if (!existsSync(file)) return { kept: null, words: null };
  try {
    const kept: unknown = JSON.parse(readFileSync(file, 'utf8'));
    if (isKept(kept)) return { kept, words: null };
  } catch {
    // Told below, like a file that is JSON and no book.
  }
  const aside = `${file}.unreadable`;
  renameSync(file, aside);
  return {
    kept: null,
    words: `the books in ${file} can't be read and were put aside as ${aside}: new ones begin`,
  };
}

function isKept(value: unknown): value is Kept {
  if (typeof value !== 'object' || value === null) return false;
  const books = value as Partial<Record<keyof Kept, unknown>>;
  const { version, batches, days } = books;
  return version === 1 && Array.isArray(batches) && Array.isArray(days);
}

export interface Keeping {
  /** Writes once more, and no more after that. */
  readonly close: () => Promise<void>;
}

/** @param failed told once when writing fails, and again only after it went well in between */
export function keepBooks(file: string, source: MemorySource, failed: (words: string) => void): Keeping {
  let isWell = true;
  let writing: Promise<void> = Promise.resolve();
  const write = (): Promise<void> => {
    writing = writing.then(async () => {
      try {
        await written(file, JSON.stringify(source.kept()));
        isWell = true;
      } catch (error) {
        if (isWell) failed(`the books can't be written to ${file}: ${(error as Error).message}`);
        isWell = false;
      }
    });
    return writing;
  };
  const timer = setInterval(() => void write(), EVERY_MS);
  timer.unref();
  return {
    close: async () => {
      clearInterval(timer);
      await write();
    },
  };
}

async function written(file: string, text: string): Promise<void> {
  const beside = `${file}.new`;
  const handle = await open(beside, 'w', 0o600);
  try {
    await handle.writeFile(text);
    await handle.sync();
  } finally {
    await handle.close();
  }
  await rename(beside, file);
}
