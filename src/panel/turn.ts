// One step of the core as the books of this room see it: what the state was worth after it, and what it told the world.
import type { Effect } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';

export interface Turn {
  readonly plant: Plant;
  readonly state: State;
  readonly effects: readonly Effect[];
  /** The source's moment after the step, and how long the step was. */
  readonly atMs: number;
  readonly elapsedMs: number;
}
