// What a test has opened is closed after it, the last one first, whatever became of the test.
import { afterEach } from 'vitest';

export interface Opened {
  /** Returns what it is given, and closes it after the test. */
  readonly keep: <T extends { close: () => Promise<unknown> }>(thing: T) => T;
  readonly afterwards: (clean: () => unknown) => void;
}

/** To be called once at the top of a file or of a group. */
export function openedThings(): Opened {
  const cleanups: (() => unknown)[] = [];
  afterEach(async () => {
    for (const clean of cleanups.splice(0).reverse()) await clean();
  });
  return {
    keep: (thing) => {
      cleanups.push(() => thing.close());
      return thing;
    },
    afterwards: (clean) => {
      cleanups.push(clean);
    },
  };
}
