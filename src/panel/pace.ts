// What readers ask of the past is worked out on the thread that also runs the water: one piece at a time, and after each the
// loop belongs to the water for a multiple of the time that the piece took, however many readers wait.
import { Refused } from './guard.ts';

/** After a piece the loop is left alone for so many times as long as the piece took: readers get a quarter of it at most. */
const REST_SHARE = 3;
/** More readers than this are sent away: they would wait for longer than they have patience. */
export const MOST_WAITING = 16;

export interface Pace {
  /** @throws Refused where too many wait already */
  readonly run: <T>(work: () => Promise<T> | T) => Promise<T>;
}

/** @param rest waits at least until the loop has gone round once */
export function paceOf(rest: (ms: number) => Promise<void> = restFor): Pace {
  let last: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  return {
    run: async (work) => {
      if (waiting >= MOST_WAITING)
        throw new Refused(503, 'busy', 'many are reading the past at once: try again in half a minute');
      waiting += 1;
      const mine = last.then(async () => {
        const beganMs = performance.now();
        const done = await work();
        return { done, tookMs: performance.now() - beganMs };
      });
      last = mine.then(
        ({ tookMs }) => rest(REST_SHARE * tookMs),
        () => rest(0),
      );
      try {
        return (await mine).done;
      } finally {
        waiting -= 1;
      }
    },
  };
}

/** A timer, not a turn of the microtasks: those run before anything else of the loop. */
const restFor = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, Math.ceil(ms)));
