// What this plant does that textbook devices don't. Each habit is real, none is a fault, and each can be taken away, so
// that a false trip can be traced to the habit that caused it.

/** By name, what it is. */
export const HABITS = {
  coast: 'a pump goes on turning for 2 s after its relay dropped out',
  travel: 'a motor valve takes 15 s to open and 15 s to shut',
  hysteresis: 'a float turns over higher when it rises than when it falls',
  slosh: 'waves lift and lower floats and level sensors, more of them while water falls in',
  duplicates: 'a message is delivered twice: at once, or again with the next ones of its device',
  wobble: 'a total rocks back and forth by one count while water passes its wheel',
  backwards: 'a total runs back by two counts when the water comes to rest',
  gulps: 'the half-second counts of a meter come in one gulp',
  silence: 'the sump speaks on change only, for days not at all',
  layers: 'warm and salt water lie in layers until something stirs them',
  corner: 'the probe sits in a dead corner and sees the water minutes later',
  lost: 'the wheel of a meter misses the first water of each run',
  empty: 'a relay publishes an empty message on its own command topic at each connect',
  jitter: 'no two steps of time are of the same length',
  draws: 'people draw water from the fresh tank by hand, within what the file allows',
  evaporation: 'the system loses water to the air, and its own top-off replaces it',
} as const;

export type Habit = keyof typeof HABITS;
export type Habits = ReadonlySet<Habit>;

/** @throws Error naming a habit that does not exist */
export function habitsWithout(names: readonly string[]): Habits {
  for (const name of names) {
    if (!(name in HABITS)) throw new Error(`no habit '${name}': there are ${Object.keys(HABITS).join(', ')}`);
  }
  return new Set((Object.keys(HABITS) as Habit[]).filter((habit) => !names.includes(habit)));
}

/** Numbers in [0, 1) from a seed: mulberry32, which is in the public domain. */
export function diceFrom(seed: number): () => number {
  let state = (seed * 0x9e3779b9) >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let word = Math.imul(state ^ (state >>> 15), state | 1);
    word ^= word + Math.imul(word ^ (word >>> 7), word | 61);
    return ((word ^ (word >>> 14)) >>> 0) / 4294967296;
  };
}
