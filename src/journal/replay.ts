// Runs a recording through the core again and holds what comes out against what was recorded: effects step by step, the
// state by its digest after each row and in full at each snapshot and restart. Nothing leaves this room meanwhile.
import type { Effect, Event } from '../control/guard/types.ts';
import { restored } from '../control/process/initial.ts';
import type { State } from '../control/process/state.ts';
import { step } from '../control/step.ts';
import type { Plant } from '../station/plant.ts';
import { digestOf } from './packing.ts';
import { type Start, snapshotIn, snapshotPlaces, stretchesFrom } from './reading.ts';
import type { Recording } from './recording.ts';
import { Damaged } from './trouble.ts';

/** A step that was taken again. */
export interface Replayed {
  readonly plant: Plant;
  readonly start: Start;
  readonly step: number;
  readonly wallMs: number;
  readonly event: Event;
  /** Recorded, and equal to what the core said now. */
  readonly effects: readonly Effect[];
  readonly before: State;
  readonly after: State;
}

export interface Difference {
  readonly step: number;
  readonly wallMs: number;
  /** Null where the states differ before any step was taken. */
  readonly event: Event | null;
  readonly about: 'effects' | 'state' | 'restart' | 'failure';
  readonly recorded: unknown;
  readonly replayed: unknown;
  readonly words: string;
  /** The release that recorded it. */
  readonly software: string;
}

export interface Verdict {
  /** What was taken again. */
  readonly steps: number;
  readonly starts: number;
  readonly firstStep: number | null;
  readonly lastStep: number | null;
  readonly fromMs: number | null;
  readonly toMs: number | null;
  /** The first difference, or null where everything is identical. */
  readonly difference: Difference | null;
}

export interface Part {
  /** Wall clock, ms; the replay begins at the last snapshot before it. */
  readonly fromMs?: number;
  readonly toMs?: number;
}

class Differs extends Error {
  readonly difference: Difference;
  constructor(difference: Difference) {
    super(difference.words);
    this.difference = difference;
  }
}

/**
 * @param look sees every step that was taken again, those before `fromMs` included
 * @throws Damaged, JournalError
 */
export function replay(
  recording: Recording,
  part: Part = {},
  look: (taken: Replayed) => void = () => {},
): Verdict {
  const seen: Seen = { steps: 0, starts: 0, first: null, last: null };
  try {
    for (const taken of retake(recording, part, seen)) {
      count(seen, taken);
      look(taken);
    }
    return verdictOf(seen, null);
  } catch (error) {
    if (error instanceof Differs) return verdictOf(seen, error.difference);
    throw error;
  }
}

interface Seen {
  steps: number;
  starts: number;
  first: Replayed | null;
  last: Replayed | null;
}

function count(seen: Seen, taken: Replayed): void {
  seen.steps += 1;
  seen.first ??= taken;
  seen.last = taken;
}

const verdictOf = ({ steps, starts, first, last }: Seen, difference: Difference | null): Verdict => ({
  steps,
  starts,
  firstStep: first?.step ?? null,
  lastStep: last?.step ?? null,
  fromMs: first?.wallMs ?? null,
  toMs: last?.wallMs ?? null,
  difference,
});

/** Where the replay stands between two steps. */
interface Standing {
  readonly start: Start;
  readonly state: State;
  /** The step that comes next, and the sum before it. */
  readonly step: number;
  readonly chain: number;
}

/** Every step of a part, taken again in order. */
function* retake(recording: Recording, { fromMs, toMs }: Part, seen: Seen): Generator<Replayed> {
  let standing: Standing | null = null;
  for (const start of startsOf(recording, fromMs)) {
    if (toMs !== undefined && start.stamp.wallMs > toMs) return;
    const begun: Standing = beginning(recording, start, standing, standing === null ? fromMs : undefined);
    seen.starts += 1;
    standing = yield* retakeStart(recording, begun, toMs);
    if (standing === null) return;
  }
}

/** The starts from the one that was under way at `fromMs`. */
function startsOf({ starts }: Recording, fromMs: number | undefined): readonly Start[] {
  if (fromMs === undefined) return starts;
  const underWay = starts.findLastIndex(({ stamp }) => stamp.wallMs <= fromMs);
  return starts.slice(Math.max(underWay, 0));
}

/** The last snapshot of a start before `fromMs`, or its first; held against what came before it. */
function beginning(
  { db, plantOf }: Recording,
  start: Start,
  previous: Standing | null,
  fromMs: number | undefined,
): Standing {
  const places = snapshotPlaces(db, start.id);
  const place = places.findLast(({ wallMs }) => fromMs !== undefined && wallMs <= fromMs) ?? places[0];
  if (place === undefined) throw new Damaged(`no snapshot is left of the start before step ${start.step}`);
  const { state, step: at, chain } = snapshotIn(db, start, place.step);
  if (at === start.step && previous !== null) {
    if (start.cause !== 'gap' && previous.step !== at)
      throw new Damaged(`steps ${previous.step} to ${at - 1} are missing`);
    if (previous.chain !== chain) throw new Damaged(`step ${at} does not follow from what is before it`);
    if (start.cause === 'restored') compareRestart(plantOf(start).plant, start, previous.state, state);
  }
  return { start, state, step: at, chain };
}

/** @returns where it stands at the end of the start, or null where `toMs` was reached */
function* retakeStart(
  recording: Recording,
  begun: Standing,
  toMs: number | undefined,
): Generator<Replayed, Standing | null> {
  const { db, starts } = recording;
  const { start } = begun;
  const before = starts[starts.indexOf(start) + 1]?.step ?? Number.POSITIVE_INFINITY;
  const used = recording.plantOf(start);
  const snapshots = new Set(snapshotPlaces(db, start.id).map((place) => place.step));
  let { state, step: next, chain } = begun;
  for (const stretch of stretchesFrom(db, start, begun, used, before)) {
    const lastedMs = stretch.pairs.reduce((sum, { event }) => sum + event.elapsedMs, 0);
    let wallMs = stretch.stamp.wallMs - lastedMs;
    for (const { event, effects } of stretch.pairs) {
      wallMs += event.elapsedMs;
      if (toMs !== undefined && wallMs > toMs) return null;
      const at = { step: next, wallMs, event, software: start.software };
      const after = again(used.plant, state, at, effects);
      yield { plant: used.plant, start, step: next, wallMs, event, effects, before: state, after };
      state = after;
      next += 1;
    }
    const at = {
      step: next - 1,
      wallMs,
      event: stretch.pairs.at(-1)?.event ?? null,
      software: start.software,
    };
    compareState(state, stretch.digest, snapshots.has(next) ? snapshotIn(db, start, next).state : null, at);
    chain = stretch.chain;
  }
  for (const step of snapshots)
    if (step > next) throw new Damaged(`steps ${next} to ${step - 1} are missing`);
  return { start, state, step: next, chain };
}

type At = Pick<Difference, 'step' | 'wallMs' | 'event' | 'software'>;

/** Takes a step again. @returns the state after it */
function again(
  plant: Plant,
  state: State,
  at: At & { readonly event: Event },
  recorded: readonly Effect[],
): State {
  let done: ReturnType<typeof step>;
  try {
    done = step(plant, state, at.event);
  } catch (error) {
    const words = 'the core failed here, and did not when it was recorded';
    throw new Differs({ ...at, about: 'failure', recorded, replayed: (error as Error).message, words });
  }
  const replayed = done.effects;
  if (JSON.stringify(recorded) !== JSON.stringify(replayed))
    throw new Differs({ ...at, about: 'effects', recorded, replayed, words: 'the effects differ' });
  return done.state;
}

/** @param kept the state of a snapshot that was taken after this step, if there is one */
function compareState(replayed: State, digest: number | null, kept: State | null, at: At): void {
  const agrees = digest === null || digestOf(replayed) === digest;
  const differs = kept === null ? null : firstDifference(kept, replayed);
  if (agrees && differs === null) return;
  const place = differs ?? { path: '', recorded: null, replayed: null };
  const words =
    differs === null
      ? 'the states differ, although the effects agree'
      : `the states differ at ${place.path}, although the effects agree`;
  throw new Differs({ ...at, about: 'state', recorded: place.recorded, replayed: place.replayed, words });
}

/** A restart is a function of the state before it and of the gap. */
function compareRestart(plant: Plant, start: Start, before: State, began: State): void {
  const { step: at, software, stamp, gapMs } = start;
  const differs = firstDifference(began, restored(plant, before, gapMs));
  if (differs === null) return;
  const { path, recorded, replayed } = differs;
  const words = `after the restart the states differ at ${path}`;
  const about = 'restart';
  throw new Differs({
    step: at,
    wallMs: stamp.wallMs,
    event: null,
    software,
    about,
    recorded,
    replayed,
    words,
  });
}

interface Place {
  readonly path: string;
  readonly recorded: unknown;
  readonly replayed: unknown;
}

/** The first place, depth first, in which two plain values differ; null where they are equal. */
export function firstDifference(recorded: unknown, replayed: unknown, path = ''): Place | null {
  const isPart = (value: unknown): value is Record<string, unknown> =>
    typeof value === 'object' && value !== null;
  if (!isPart(recorded) || !isPart(replayed))
    return Object.is(recorded, replayed) || bothZero(recorded, replayed)
      ? null
      : { path, recorded, replayed };
  for (const key of new Set([...Object.keys(recorded), ...Object.keys(replayed)])) {
    const place = path === '' ? key : `${path}.${key}`;
    if (Object.hasOwn(recorded, key) !== Object.hasOwn(replayed, key))
      return { path: place, recorded: recorded[key] ?? null, replayed: replayed[key] ?? null };
    const inside = firstDifference(recorded[key], replayed[key], place);
    if (inside !== null) return inside;
  }
  return null;
}

/** JSON knows one zero. */
const bothZero = (a: unknown, b: unknown): boolean => a === 0 && b === 0;
