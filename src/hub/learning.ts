// What is learned from what changes while a person moves one thing: pure, and within bounds. A contact goes there and comes
// back; a reading moves; a command comes just before what it moved.
import { type Place, placesOf } from './draft.ts';

export type Scalar = string | number | boolean;

export interface Found {
  readonly topic: string;
  readonly at: string | null;
  /** As it was before. */
  readonly rest: Scalar;
  /** What it became: a contact's other word, a reading's last value. */
  readonly moved: Scalar;
}

export interface Command {
  readonly topic: string;
  readonly on: unknown;
  readonly off: unknown;
}

export interface Learner {
  readonly hear: (topic: string, text: string, isStored: boolean, nowMs: number) => void;
  /** From now on a person moves something. @param isAgain the same as before */
  readonly begin: (isAgain?: boolean) => void;
  readonly contacts: () => readonly Found[];
  readonly readings: () => readonly Found[];
  /** What was said just before a contact went, and before it came back; null: nothing, or nothing clear. */
  readonly commandFor: (contact: Found) => Command | null;
  /** How often a topic repeats itself without a change, s; null where that was not heard often enough. */
  readonly repeatsS: (topic: string) => number | null;
  /** The last that was said there. */
  readonly last: (topic: string) => string | undefined;
  /** Topics with what was said on each, for what devices say of themselves. */
  readonly all: () => ReadonlyMap<string, string>;
  readonly leftOut: () => number;
}

const MOST_TOPICS = 2000;
const LONGEST = 4096;
const MOST_EVENTS = 20_000;
/** A relay answers within this. */
const ANSWER_MS = 5000;
/** Repeated so often it is a habit. */
const REPEATS = 3;

interface Track {
  readonly topic: string;
  readonly at: string | null;
  readonly before: Scalar | undefined;
  readonly values: Scalar[];
  readonly changesMs: number[];
}
interface Habit {
  lastText: string;
  lastMs: number;
  longestGapMs: number;
  repeats: number;
}

export function learner(): Learner {
  const texts = new Map<string, string>();
  const values = new Map<string, Scalar>();
  const habits = new Map<string, Habit>();
  /** How far each reading moved while something else was moved. */
  const unasked = new Map<string, number>();
  let tracks = new Map<string, Track>();
  let events: { readonly atMs: number; readonly topic: string; readonly text: string }[] = [];
  let leftOut = 0;
  const found = (holds: (track: Track, key: string) => Pick<Found, 'rest' | 'moved'> | null) =>
    [...tracks].flatMap(([key, track]): readonly Found[] => {
      const moved = holds(track, key);
      return moved === null ? [] : [{ topic: track.topic, at: track.at, ...moved }];
    });
  return {
    hear: (topic, text, isStored, nowMs) => {
      if (text.length > LONGEST || (!texts.has(topic) && texts.size >= MOST_TOPICS)) {
        leftOut++;
        return;
      }
      texts.set(topic, text);
      if (!isStored) {
        habits.set(topic, habitOf(habits.get(topic), text, nowMs));
        if (events.length < MOST_EVENTS) events.push({ atMs: nowMs, topic, text });
      }
      for (const place of placesOf({ topic, samples: [text] })) {
        const [value] = place.values;
        if (value === undefined) continue;
        const key = keyOf(place);
        const before = values.get(key);
        values.set(key, value);
        if (isStored) continue;
        const track = tracks.get(key) ?? { topic, at: place.at, before, values: [], changesMs: [] };
        tracks.set(key, track);
        if (value === (track.values.at(-1) ?? track.before)) continue;
        track.values.push(value);
        track.changesMs.push(nowMs);
      }
    },
    begin: (isAgain = false) => {
      if (!isAgain)
        for (const [key, track] of tracks) unasked.set(key, Math.max(unasked.get(key) ?? 0, movedBy(track)));
      tracks = new Map();
      events = [];
    },
    contacts: () =>
      found(({ before, values: seen }) => {
        const [moved] = seen;
        const rest = seen.at(-1);
        const words = new Set(before === undefined ? seen : [before, ...seen]);
        const isBack = seen.length >= 2 && (before === undefined || rest === before) && words.size === 2;
        if (!isBack || moved === undefined || rest === undefined || moved === rest) return null;
        return [...words].every(isWord) ? { rest, moved } : null;
      }),
    readings: () =>
      found((track, key) => {
        const { before, values: seen } = track;
        const last = seen.at(-1);
        if (!isNumber(before) || !isNumber(last)) return null;
        // What is never still has moved by itself.
        return movedBy(track) > CLEARLY * (unasked.get(key) ?? 0) ? { rest: before, moved: last } : null;
      }),
    commandFor: ({ topic, at }) => {
      const changes = tracks.get(keyOf({ topic, at }))?.changesMs ?? [];
      const [firstMs = 0, lastMs = 0] = [changes[0], changes.at(-1)];
      const before = (atMs: number) =>
        events.filter((one) => one.topic !== topic && one.atMs <= atMs && one.atMs >= atMs - ANSWER_MS);
      // A command topic says on and off, and nothing else.
      const isTalk = (of: string) =>
        new Set(events.filter((one) => one.topic === of).map(({ text }) => text)).size > 2;
      const offs = before(lastMs).filter((one) => one.atMs > firstMs);
      const pairs = before(firstMs).flatMap((on) =>
        !isTalk(on.topic) && offs.some((off) => off.topic === on.topic && off.text !== on.text)
          ? [
              {
                topic: on.topic,
                on: on.text,
                off: offs.findLast((off) => off.topic === on.topic)?.text ?? '',
              },
            ]
          : [],
      );
      const topics = new Set(pairs.map((pair) => pair.topic));
      const [pair] = pairs;
      if (topics.size !== 1 || pair === undefined) return null;
      return { topic: pair.topic, on: payloadOf(pair.on), off: payloadOf(pair.off) };
    },
    repeatsS: (topic) => {
      const habit = habits.get(topic);
      if (habit === undefined || habit.repeats < REPEATS) return null;
      return Math.max(1, Math.ceil(habit.longestGapMs / 1000));
    },
    last: (topic) => texts.get(topic),
    all: () => texts,
    leftOut: () => leftOut,
  };
}

/** More than it ever moved by itself, so many times. */
const CLEARLY = 3;
const movedBy = ({ before, values }: Track): number => {
  const last = values.at(-1);
  return isNumber(before) && isNumber(last) ? Math.abs(last - before) : 0;
};

const keyOf = ({ topic, at }: Pick<Place, 'topic' | 'at'>): string => `${topic}\u0000${at ?? ''}`;

function habitOf(habit: Habit | undefined, text: string, nowMs: number): Habit {
  if (habit === undefined) return { lastText: text, lastMs: nowMs, longestGapMs: 0, repeats: 0 };
  return {
    lastText: text,
    lastMs: nowMs,
    longestGapMs: Math.max(habit.longestGapMs, nowMs - habit.lastMs),
    repeats: habit.repeats + (text === habit.lastText ? 1 : 0),
  };
}

const isNumber = (value: unknown): value is number => typeof value === 'number';
/** A contact says words, or 0 and 1; any other number is a reading that happened to come back. */
const isWord = (value: unknown): boolean => !isNumber(value) || value === 0 || value === 1;

function payloadOf(text: string): unknown {
  try {
    const parsed = JSON.parse(text);
    return typeof parsed === 'object' && parsed !== null && !Array.isArray(parsed) ? parsed : text;
  } catch {
    return text;
  }
}
