// What the service knows when it wakes up: nothing yet, what it saved, or that it lost its memory.
import { englishOf } from '../language/english.ts';
import { type Message, message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import type { Core } from './core.ts';
import { gapOf, type Keeper, type Stamp } from './keeper.ts';
import { LIMITS } from './limits.ts';

export interface Awake<State> {
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
  if (loaded.found === 'nothing') return { state: core.initial(plant), isNew: true, words: null };
  if (loaded.found === 'unusable') return withoutMemory(core, plant, keeper, loaded.why);
  const gapMs = gapOf(loaded.stamp, now, LIMITS.earliestYear);
  try {
    const state = core.restored(plant, loaded.state as State, gapMs, loaded.isSamePlumbing);
    core.describe(plant, state);
    const away = gapMs === null ? 'nobody knows for how long' : `for ${Math.round(gapMs / 1000)} s`;
    const changed = loaded.isSamePlant ? '' : '; the station file was changed meanwhile';
    return {
      state,
      isNew: false,
      words: `went on from the saved state; the service was away ${away}${changed}`,
    };
  } catch (error) {
    // Whole, and still of no use: saved by another release whose state looked different.
    return withoutMemory(
      core,
      plant,
      keeper,
      message('state-not-understood', { reason: (error as Error).message }),
    );
  }
}

/** A memory that is lost is not an empty one: something may have been latched. */
function withoutMemory<State>(
  core: Core<State>,
  plant: Plant,
  keeper: Keeper | null,
  why: Message,
): Awake<State> {
  const aside = keeper?.putAside() ?? null;
  const lost = aside === null ? why : message('state-put-aside', { why, file: aside });
  const words =
    `${englishOf(plant)(lost)}. What was latched or half done is not known, so nothing moves before somebody has looked at every vat ` +
    'and has reset row I-36 with their name and what they saw';
  return { state: core.forgetful(plant, lost), isNew: true, words };
}
