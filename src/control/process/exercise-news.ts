// What people are told of valves that must move now and then: how each stands, and which alarm that makes.
import type { Exercise } from '../../station/exercise.ts';
import type { Plant } from '../../station/plant.ts';
import { EXERCISE_LATE_SHARE } from '../guard/limits.ts';
import { perPlant } from '../guard/per-plant.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

const DAY_MS = 86_400_000;

/** How long ago it last opened and shut for certain, or since when this service counts, ms. */
export const sinceMoved = (state: State, id: string): number => state.exercises.sinceMs[id] ?? 0;

export type ExerciseStanding = 'moved' | 'due' | 'late' | 'seized';

/** `due`: the service will see to it. `late`: a person should, because it is theirs or because it was never safe. */
export function exerciseStanding(state: State, { id, everyMs, byHand }: Exercise): ExerciseStanding {
  if (state.exercises.seized[id] !== undefined) return 'seized';
  const sinceMs = sinceMoved(state, id);
  if (sinceMs < everyMs) return 'moved';
  return byHand !== null || sinceMs >= everyMs * (1 + EXERCISE_LATE_SHARE) ? 'late' : 'due';
}

export interface ExerciseNews {
  readonly alarm: string;
  readonly active: boolean;
  readonly priority: Priority;
  readonly words: string;
  readonly mend: string;
}

/** Everything there is to say now, and what was said until now and is over. */
export function exerciseNews(plant: Plant, state: State): readonly ExerciseNews[] {
  const found: ExerciseNews[] = [];
  for (const { one, seized, late } of names(plant)) {
    const standing = exerciseStanding(state, one);
    if (standing === 'seized' || state.alarms[seized] !== undefined)
      found.push({
        alarm: seized,
        active: standing === 'seized',
        priority: 'soon',
        ...seizedWords(one, state.exercises.seized[one.id] ?? 'shut'),
      });
    if (standing === 'late' || state.alarms[late] !== undefined)
      found.push({ alarm: late, active: standing === 'late', priority: 'notice', ...lateWords(one) });
  }
  return found;
}

const names = perPlant((plant) =>
  Object.values(plant.exercises).map((one) => ({
    one,
    seized: `A-06/${one.id}`,
    late: `A-07/${one.id}`,
  })),
);

const seizedWords = ({ name }: Exercise, at: 'shut' | 'open') =>
  at === 'shut'
    ? {
        words: `${name} was not seen to open when it was exercised: it may be seized`,
        mend: `Look at the supply and the drive of ${name}. Shut the water off before it, then turn it by hand until it goes freely, or replace it. Reset what has tripped; it is exercised again within the hour, or confirm that you have moved it.`,
      }
    : {
        words: `${name} was not seen to shut after its exercise: it may be seized open`,
        mend: `Shut the water off by hand before ${name} now. Then turn it until it goes freely, or replace it, reset what has tripped, and confirm that you have moved it.`,
      };

function lateWords({ name, byHand, everyMs }: Exercise) {
  const words = `${name} has not moved for more than ${(everyMs / DAY_MS).toFixed(0)} d and may seize`;
  const mend =
    byHand === null
      ? `It was never safe to exercise ${name}: a trip, a unit that is held, or pumps that hardly rest. Mend that; or shut the water off before it, open and shut it by hand, and confirm that.`
      : `Stay beside it, with the water shut off before it or something to catch it. Open and shut ${name} once, leave it as it stood, and confirm that. The service does not do it: ${byHand}.`;
  return { words, mend };
}
