// What people are told of valves that must move now and then: how each stands, and which alarm that makes.

import type { Exercise } from '../../station/exercise.ts';
import type { Plant } from '../../station/plant.ts';
import { EXERCISE_LATE_SHARE } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { checking, clears, doing, electricityFirst, MAINS, respond } from '../guard/response.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

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
  readonly words: Message;
  readonly response: Message;
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
        ...seizedWords(plant, one, state.exercises.seized[one.id] ?? 'shut'),
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

const seizedWords = (plant: Plant, { id }: Exercise, at: 'shut' | 'open') =>
  at === 'shut'
    ? {
        words: message('valve-did-not-open', { valve: id }),
        response: respond(
          MAINS,
          checking(message('check-drive-of', { valve: id })),
          doing(message('do-shut-off-upstream', { valve: id })),
          doing(message('do-turn-until-free', { valve: id })),
          clears(message('clears-when-exercised')),
        ),
      }
    : {
        words: message('valve-did-not-shut', { valve: id }),
        response: respond(
          electricityFirst(plant),
          doing(message('do-shut-off-upstream', { valve: id })),
          doing(message('do-turn-until-free', { valve: id })),
          clears(message('clears-when-moved')),
        ),
      };

function lateWords({ id, byHand, everyMs }: Exercise) {
  const words = message('valve-not-moved', { valve: id, durationMs: everyMs });
  const response =
    byHand === null
      ? respond(
          MAINS,
          checking(message('check-why-not-exercised', { valve: id })),
          doing(message('do-shut-off-upstream', { valve: id })),
          doing(message('do-open-and-shut', { valve: id })),
          clears(message('clears-when-moved')),
        )
      : respond(
          MAINS,
          checking(message('check-why-by-hand', { byHand })),
          doing(message('do-shut-off-or-catch', { valve: id })),
          doing(message('do-open-and-shut', { valve: id })),
          clears(message('clears-when-moved')),
        );
  return { words, response };
}
