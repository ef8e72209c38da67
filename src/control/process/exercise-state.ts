// What is remembered of valves that must move now and then: durations, counted together once a minute, and the exercise
// that is under way.
import type { Plant } from '../../station/plant.ts';

/** Durations since valves last moved, and the exercise under way. What is in it is replaced, never written on. */
export interface ExerciseState {
  /** What has passed since the durations were last counted on. */
  readonly pendingMs: number;
  /** Since it last opened and shut for certain, or was confirmed by a person, by id. */
  readonly sinceMs: Readonly<Record<string, number>>;
  /** Seen open and not shut again yet. */
  readonly opened: readonly string[];
  /** Those that are due and that the service moves itself, the longest waiting first. */
  readonly due: readonly string[];
  /** What is left of the pause after one that failed. */
  readonly pauseMs: number;
  /** Valves that did not follow an exercise, and where they seem to stand. */
  readonly seized: Readonly<Record<string, 'shut' | 'open'>>;
  readonly run: ExerciseRun | null;
}

export interface ExerciseRun {
  readonly valve: string;
  readonly phase: 'opening' | 'open' | 'closing';
  /** In this phase. */
  readonly forMs: number;
  /** It is closing because something broke it off: there is no result. */
  readonly broken: boolean;
}

/** Nobody knows when valves last moved: the time counts from now on. */
export const unmoved = (plant: Plant): ExerciseState => ({
  pendingMs: 0,
  sinceMs: Object.fromEntries(Object.keys(plant.exercises).map((id) => [id, 0])),
  opened: [],
  due: [],
  pauseMs: 0,
  seized: {},
  run: null,
});

/** After a restart: time has passed, and an exercise that was under way has only its end left, so that what would push
 * water through the valve waits until it is proven shut. */
export const exercisesAfterGap = (exercises: ExerciseState, gapMs: number): ExerciseState => ({
  ...exercises,
  pendingMs: exercises.pendingMs + gapMs,
  run: exercises.run === null ? null : { ...exercises.run, phase: 'closing', forMs: 0, broken: true },
});
