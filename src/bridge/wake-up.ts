// What the service knows when it wakes up: nothing yet, what it saved, or that it lost its memory.
import type { Plant } from '../station/plant.ts';
import { type Core, cautious } from './core.ts';
import { gapOf, type Keeper, type Stamp } from './keeper.ts';
import { LIMITS } from './limits.ts';

export interface Awake<State> {
  /** With a policy under which nothing starts by itself, where the memory was lost. */
  readonly plant: Plant;
  readonly state: State;
  /** Nothing of before is in it. */
  readonly isNew: boolean;
  /** For a person; null where there is nothing to say. */
  readonly words: string | null;
}

export function wakeUp<State>(
  core: Core<State>,
  plant: Plant,
  keeper: Keeper | null,
  now: Stamp,
): Awake<State> {
  const loaded = keeper?.load() ?? { found: 'nothing' as const };
  if (loaded.found === 'nothing') return { plant, state: core.initial(plant), isNew: true, words: null };
  if (loaded.found === 'unusable') return withoutMemory(core, plant, keeper, loaded.words);
  const gapMs = gapOf(loaded.stamp, now, LIMITS.earliestYear);
  try {
    const state = core.restored(plant, loaded.state as State, gapMs);
    core.describe(plant, state);
    const away = gapMs === null ? 'nobody knows for how long' : `for ${Math.round(gapMs / 1000)} s`;
    return {
      plant,
      state,
      isNew: false,
      words: `went on from the saved state; the service was away ${away}`,
    };
  } catch (error) {
    // Whole and of this station, and still of no use: saved by another release whose state looked different.
    return withoutMemory(
      core,
      plant,
      keeper,
      `the saved state can't be understood (${(error as Error).message})`,
    );
  }
}

function withoutMemory<State>(
  core: Core<State>,
  plant: Plant,
  keeper: Keeper | null,
  why: string,
): Awake<State> {
  const aside = keeper?.putAside();
  const held = cautious(plant);
  const words =
    `${why}; it is kept as ${aside}. What was latched or half done is not known, so nothing starts by itself until the ` +
    'service is started again: look at the station, then ask for what should run';
  return { plant: held, state: core.initial(held), isNew: true, words };
}
