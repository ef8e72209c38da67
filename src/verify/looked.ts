// How a simulated person resets what is tripped: each trip by itself, having looked, with a name and what was seen.
import type { Request } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';

/** @param seen what is so in the simulated water; whoever asks this has made sure of it */
export const looked = ({ trips }: State, who: string, seen: string): Request[] =>
  Object.keys(trips).map((trip) => ({ ask: 'reset-trip', trip, who, seen }));
