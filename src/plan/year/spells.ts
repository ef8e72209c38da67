// How often, for how long in all, and how long at most something held.
export interface Spells {
  readonly times: number;
  readonly hours: number;
  readonly longestHours: number;
}

export interface Spell {
  readonly pass: (holds: boolean, elapsedMs: number) => void;
  readonly result: () => Spells;
}

const HOUR_MS = 3_600_000;

export function spell(): Spell {
  let times = 0;
  let allMs = 0;
  let longestMs = 0;
  let presentMs: number | null = null;
  return {
    pass: (holds, elapsedMs) => {
      if (!holds) {
        presentMs = null;
        return;
      }
      if (presentMs === null) times += 1;
      presentMs = (presentMs ?? 0) + elapsedMs;
      allMs += elapsedMs;
      longestMs = Math.max(longestMs, presentMs);
    },
    result: () => ({ times, hours: allMs / HOUR_MS, longestHours: longestMs / HOUR_MS }),
  };
}
