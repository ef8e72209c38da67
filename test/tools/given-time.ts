// Time as this process was given it: it counts its own turns, each for the time that was asked for, however much later it
// came. A computer that does something else ages the wall clock and not this one, so a bound held against it says
// something about the product and nothing about the computer. On an idle one both are the same.
const EVERY_MS = 50;

export interface GivenTime {
  readonly ms: () => number;
  readonly stop: () => number;
}

export function givenTime(): GivenTime {
  let turns = 0;
  const timer = setInterval(() => {
    turns += 1;
  }, EVERY_MS);
  const ms = () => turns * EVERY_MS;
  return {
    ms,
    stop: () => {
      clearInterval(timer);
      return ms();
    },
  };
}

/** Waits until it is so, and says after how much given time that was, ms. */
export async function givenUntil(isSo: () => boolean, words: string, withinMs: number): Promise<number> {
  const time = givenTime();
  try {
    while (!isSo()) {
      if (time.ms() > withinMs) throw new Error(`not within ${withinMs} ms of given time: ${words}`);
      await new Promise<void>((resolve) => setTimeout(resolve, 5));
    }
    return time.ms();
  } finally {
    time.stop();
  }
}

/** The middle one of an odd number of them. */
export const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
