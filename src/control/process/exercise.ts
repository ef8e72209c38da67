// Exercise: a valve that never moves seizes. Each has a duration since it last opened and shut for certain, by whatever work;
// when that is too long it is moved once, with nothing that could send water through it:
//
//   opening -> open -> closing -> moved
//
// It is a target like a route: wanted here, judged by every row, commanded under a lease. It begins only when nothing that
// touches its ways is wanted, held or not proven off; row I-34 forbids it the moment that changes, and row I-35 keeps
// everything away from it until it is proven shut. A valve that did not follow is told as seized. Where no second valve
// holds the water back the service never moves it: a person is asked.

import type { Exercise } from '../../station/exercise.ts';
import type { Plant } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { feedbackOf, isFresh } from '../guard/evidence.ts';
import { rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { EXERCISE_FOLD_MS, EXERCISE_PAUSE_MS, PROOF_AGE_CAP_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { disturbing, exercisedBySelf, exerciseOf } from '../guard/row-kinds.ts';
import type { Effect } from '../guard/types.ts';
import { isLinked } from '../guard/watched.ts';
import { sinceMoved } from './exercise-news.ts';
import type { ExerciseRun, ExerciseState } from './exercise-state.ts';
import type { Procedure, State, UnitState } from './state.ts';
import { targetsOf } from './units.ts';

const NOTHING: readonly Effect[] = [];

export function exercise(plant: Plant, draft: State, elapsedMs: number, wants: Wants): readonly Effect[] {
  if (isEmpty(plant)) return NOTHING;
  passTime(plant, draft, elapsedMs);
  watchWork(plant, draft);
  const { run, due } = draft.exercises;
  if (run !== null) return goOn(plant, draft, { ...run, forMs: run.forMs + elapsedMs }, wants);
  return due.length === 0 ? NOTHING : begin(plant, draft, wants);
}

const isEmpty = perPlant((plant): boolean => Object.keys(plant.exercises).length === 0);

const change = (draft: State, what: Partial<ExerciseState>): void => {
  draft.exercises = { ...draft.exercises, ...what };
};

/** Time passes for the schedule: counted together, once a minute. */
function passTime(plant: Plant, draft: State, elapsedMs: number): void {
  const { sinceMs, pauseMs, ...rest } = draft.exercises;
  const pendingMs = rest.pendingMs + elapsedMs;
  if (pendingMs < EXERCISE_FOLD_MS) {
    change(draft, { pendingMs });
    return;
  }
  const counted = Object.entries(sinceMs).map(([id, ms]) => [id, Math.min(ms + pendingMs, PROOF_AGE_CAP_MS)]);
  change(draft, {
    pendingMs: 0,
    sinceMs: Object.fromEntries(counted),
    pauseMs: Math.max(0, pauseMs - pendingMs),
  });
  listDue(plant, draft);
}

function listDue(plant: Plant, draft: State): void {
  const due = exercisedBySelf(plant)
    .filter(({ id, everyMs }) => sinceMoved(draft, id) >= everyMs)
    .map(({ id }) => id)
    .toSorted((one, other) => sinceMoved(draft, other) - sinceMoved(draft, one));
  change(draft, { due });
}

/**
 * What is known from elsewhere about valves of a station whose own memory begins anew.
 * @param sinceMs since each last moved, by id; others keep what they have
 */
export function movedBefore(plant: Plant, state: State, sinceMs: Readonly<Record<string, number>>): State {
  const within = Object.entries(sinceMs).filter(([id]) => plant.exercises[id] !== undefined);
  const next = { ...state };
  const capped = within.map(([id, ms]) => [id, Math.min(Math.max(0, Math.round(ms)), PROOF_AGE_CAP_MS)]);
  change(next, { sinceMs: { ...state.exercises.sinceMs, ...Object.fromEntries(capped) } });
  listDue(plant, next);
  return next;
}

/** Any work counts: seen open, and then proven shut. */
function watchWork(plant: Plant, draft: State): void {
  for (const { id, actuator } of Object.values(plant.exercises)) {
    if (actuator === null) continue;
    const device = known(draft.devices, id);
    const wasOpen = draft.exercises.opened.includes(id);
    if (!wasOpen && device.on && isSeenOpen(plant, draft, id))
      change(draft, { opened: [...draft.exercises.opened, id] });
    else if (wasOpen && !device.on && device.provenOff) moved(plant, draft, id);
  }
}

/** By its feedback; without one, by the meter of a route through it. */
function isSeenOpen(plant: Plant, state: State, id: string): boolean {
  if (known(plant.actuators, id).feedback !== null) return feedbackOf(plant, state, id) === true;
  return Object.values(plant.routes).some(({ id: route, through, meter, flowLeastLpm }) => {
    if (meter === null || !through.includes(id) || !isFresh(plant, state, meter)) return false;
    const { running, flowLpm } = known(state.routes, route);
    return running === 'yes' && flowLpm !== null && flowLpm >= flowLeastLpm;
  });
}

function moved(plant: Plant, draft: State, id: string): void {
  const { opened, sinceMs, seized } = draft.exercises;
  const { [id]: _, ...stillSeized } = seized;
  change(draft, {
    opened: opened.filter((other) => other !== id),
    sinceMs: { ...sinceMs, [id]: 0 },
    seized: stillSeized,
  });
  listDue(plant, draft);
}

/** A person has opened and shut it by hand. @returns null, or why that can't be noted */
export function movedByHand(plant: Plant, draft: State, id: string, who: string): Message | null {
  if (plant.exercises[id] === undefined) return message('no-such-valve', { what: id });
  if (who.trim() === '') return message('say-who-moved');
  if (draft.exercises.run?.valve === id) return message('valve-in-exercise');
  moved(plant, draft, id);
  return null;
}

function begin(plant: Plant, draft: State, wants: Wants): readonly Effect[] {
  // A bypass wants somebody who stays with the station: not the time to move anything unasked.
  if (draft.exercises.pauseMs > 0 || !isLinked(plant, draft) || Object.keys(draft.bypasses).length > 0)
    return NOTHING;
  const id = draft.exercises.due.find((due) => mayBegin(plant, draft, known(plant.exercises, due), wants));
  if (id === undefined) return NOTHING;
  wants.targets.push(exerciseOf(id));
  change(draft, { run: { valve: id, phase: 'opening', forMs: 0, broken: false } });
  return told(id, message('exercise-begins'));
}

/** The rows had nothing against it a moment ago; nothing near it is wanted or held; and it is shut for certain. */
function mayBegin(plant: Plant, draft: State, one: Exercise, wants: Wants): boolean {
  if (draft.verdicts[exerciseOf(one.id)] !== undefined) return false;
  if (!known(draft.devices, one.id).provenOff) return false;
  return (
    !wants.targets.some((target) => near(plant, one.id).includes(target)) && isLeftAlone(plant, draft, one.id)
  );
}

const nearby = perPlant(
  (plant): Readonly<Record<string, readonly string[]>> =>
    Object.fromEntries(exercisedBySelf(plant).map((one) => [one.id, disturbing(plant, one)])),
);
const near = (plant: Plant, id: string): readonly string[] => known(nearby(plant), id);

/** Somebody who holds or stopped a unit may have a hand at its pipes. */
const ALONE: readonly Procedure[] = ['idle', 'running', 'complete'];

function isLeftAlone(plant: Plant, draft: State, id: string): boolean {
  const { refill, batch, exchange } = targetsOf(plant);
  const units: readonly (readonly [UnitState, readonly string[]])[] = [
    [draft.refill, refill],
    [draft.batch, batch],
    ...Object.keys(draft.exchange).map(
      (system) => [known(draft.exchange, system), exchange[system] ?? []] as const,
    ),
  ];
  return units.every(
    ([unit, targets]) =>
      ALONE.includes(unit.procedure) || !targets.some((target) => near(plant, id).includes(target)),
  );
}

function goOn(plant: Plant, draft: State, run: ExerciseRun, wants: Wants): readonly Effect[] {
  const { valve, phase } = run;
  if (phase === 'closing') return close(plant, draft, run);
  const forbidding = draft.verdicts[exerciseOf(valve)] ?? [];
  const rows = forbidding.map((key) => rowOf(plant, key));
  if (rows.some((row) => row?.means === 'disobeys' && row.subject === valve))
    return seize(draft, run, 'shut');
  if (forbidding.length > 0 || !isLinked(plant, draft) || !isLeftAlone(plant, draft, valve)) {
    change(draft, { run: { ...run, phase: 'closing', forMs: 0, broken: true }, pauseMs: EXERCISE_PAUSE_MS });
    return told(valve, message('exercise-broken-off'));
  }
  if (phase === 'opening' && run.forMs > patienceMs(plant, valve)) return seize(draft, run, 'shut');
  const isOpen = draft.exercises.opened.includes(valve);
  if (phase === 'open' && run.forMs >= known(plant.exercises, valve).opensForMs) {
    change(draft, { run: { ...run, phase: 'closing', forMs: 0 } });
    return NOTHING;
  }
  change(draft, { run: phase === 'opening' && isOpen ? { ...run, phase: 'open', forMs: 0 } : run });
  wants.targets.push(exerciseOf(valve));
  return NOTHING;
}

/** Told to be off; over once that is proven. Without a link nobody can say. */
function close(plant: Plant, draft: State, run: ExerciseRun): readonly Effect[] {
  const device = known(draft.devices, run.valve);
  if (!device.on && device.provenOff) {
    change(draft, { run: null });
    return told(run.valve, run.broken ? message('exercise-over') : message('exercise-done'));
  }
  const waited = isLinked(plant, draft) ? run : { ...run, forMs: 0 };
  change(draft, { run: waited });
  if (waited.forMs <= patienceMs(plant, run.valve)) return NOTHING;
  return seize(draft, run, 'open');
}

/** What an answer may take: its travel, heard at the latest when the device speaks again. */
function patienceMs(plant: Plant, id: string): number {
  const { feedback } = known(plant.actuators, id);
  return 2 * (feedback?.withinMs ?? 0) + (feedback?.republishesMs ?? 0);
}

/** It did not follow. One that may be open is over at once; one that did not open is told to shut first. */
function seize(draft: State, run: ExerciseRun, at: 'shut' | 'open'): readonly Effect[] {
  change(draft, {
    run: at === 'open' ? null : { ...run, phase: 'closing', forMs: 0, broken: true },
    seized: { ...draft.exercises.seized, [run.valve]: at },
    pauseMs: EXERCISE_PAUSE_MS,
  });
  return told(run.valve, at === 'shut' ? message('exercise-not-opened') : message('exercise-not-shut'));
}

const told = (id: string, how: Message): readonly Effect[] => [
  { do: 'record', about: 'exercise', words: message('exercise-of', { valve: id, how }) },
];
