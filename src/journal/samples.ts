// The lines of a picture, kept for a year: each minute the least, the mean over time and the most of every channel; hours
// are made of minutes. A restart inside a minute goes on with it; a power cut loses at most the minute that was running.
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import { type Channel, channelsOf } from './channels.ts';
import type { Database } from './driver.ts';
import { SPANS } from './limits.ts';

/** Of one channel over one span: least, mean over time, most; null where nobody knew. */
export type Sample = readonly [least: number, mean: number, most: number] | null;

export interface SampleRow {
  /** When the span began, ms of the wall clock. */
  readonly atMs: number;
  /** For how much of the span there are values, ms: the weight of the mean. */
  readonly lastedMs: number;
  /** By the position of the channel in the table of channels. */
  readonly samples: readonly Sample[];
}

interface Tally {
  least: number;
  most: number;
  sum: number;
  weightMs: number;
}

/** Sums up the running minute. */
export class Sampler {
  readonly #channels: readonly Channel[];
  #atMs: number | null = null;
  #lastedMs = 0;
  #tallies: (Tally | null)[] = [];
  #before: (readonly [number, number] | null)[] = [];

  constructor(plant: Plant) {
    this.#channels = channelsOf(plant);
  }

  get channels(): readonly Channel[] {
    return this.#channels;
  }

  /** The first state after a start; nothing has lasted yet. */
  begin(state: State): void {
    this.#before = this.#read(state);
  }

  /** @returns the minute that is over, when this step begins another */
  take(state: State, elapsedMs: number, wallMs: number): SampleRow | null {
    const atMs = Math.floor(wallMs / SPANS.minute) * SPANS.minute;
    const done = this.#atMs !== null && this.#atMs !== atMs ? this.end() : null;
    this.#atMs = atMs;
    const now = this.#read(state);
    // What was seen before has lasted until now.
    this.#lastedMs += elapsedMs;
    for (let index = 0; index < now.length; index++) {
      this.#count(index, this.#before[index] ?? null, elapsedMs);
      this.#count(index, now[index] ?? null, 0);
    }
    this.#before = now;
    return done;
  }

  /** The minute so far; the next one begins empty. */
  end(): SampleRow | null {
    if (this.#atMs === null) return null;
    const samples = this.#channels.map((_, index) => sampleOf(this.#tallies[index] ?? null));
    const row = { atMs: this.#atMs, lastedMs: this.#lastedMs, samples };
    this.#atMs = null;
    this.#lastedMs = 0;
    this.#tallies = [];
    return row;
  }

  #read(state: State): (readonly [number, number] | null)[] {
    return this.#channels.map(({ now }) => {
      const value = now(state);
      if (value === null) return null;
      return typeof value === 'number' ? [value, value] : value;
    });
  }

  #count(index: number, value: readonly [number, number] | null, weightMs: number): void {
    if (value === null) return;
    const [least, most] = value;
    const middle = (least + most) / 2;
    const tally = this.#tallies[index];
    if (tally) {
      tally.least = Math.min(tally.least, least);
      tally.most = Math.max(tally.most, most);
      tally.sum += middle * weightMs;
      tally.weightMs += weightMs;
    } else this.#tallies[index] = { least, most, sum: middle * weightMs, weightMs };
  }
}

function sampleOf(tally: Tally | null): Sample {
  if (tally === null) return null;
  const { least, most, sum, weightMs } = tally;
  return [round(least), round(weightMs > 0 ? sum / weightMs : (least + most) / 2), round(most)];
}

/** Five digits are more than any of these instruments has. */
const round = (value: number): number => Number(value.toPrecision(5));

/** Two parts of one span, or neighbours, as one. */
export function merged(atMs: number, rows: readonly SampleRow[]): SampleRow {
  const lastedMs = rows.reduce((sum, row) => sum + row.lastedMs, 0);
  const width = Math.max(0, ...rows.map(({ samples }) => samples.length));
  const samples = Array.from({ length: width }, (_, index) => mergedSample(rows, index));
  return { atMs, lastedMs, samples };
}

function mergedSample(rows: readonly SampleRow[], index: number): Sample {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  let sum = 0;
  let weight = 0;
  for (const { samples, lastedMs } of rows) {
    const sample = samples[index] ?? null;
    if (sample === null) continue;
    least = Math.min(least, sample[0]);
    most = Math.max(most, sample[2]);
    // A span in which no time passed still was a span.
    const weightMs = Math.max(lastedMs, 1);
    sum += sample[1] * weightMs;
    weight += weightMs;
  }
  return weight === 0 ? null : [least, round(sum / weight), most];
}

const inText = (samples: readonly Sample[]): string =>
  JSON.stringify(samples.map((sample) => (sample !== null && sample[0] === sample[2] ? sample[0] : sample)));

const fromText = (text: string): Sample[] =>
  (JSON.parse(text) as (number | Sample)[]).map((sample) =>
    typeof sample === 'number' ? [sample, sample, sample] : sample,
  );

interface Stored {
  readonly at: number;
  readonly lasted: number;
  readonly body: string;
}

export const hourOf = (atMs: number): number => Math.floor(atMs / SPANS.hour) * SPANS.hour;

/** @param toMs not included */
export function rowsBetween(db: Database, span: number, fromMs: number, toMs: number): SampleRow[] {
  return db
    .prepare<[number, number, number], Stored>(
      'SELECT at, lasted, body FROM samples WHERE span = ? AND at >= ? AND at < ? ORDER BY at',
    )
    .all(span, fromMs, toMs)
    .map(({ at, lasted, body }) => ({ atMs: at, lastedMs: lasted, samples: fromText(body) }));
}

/** Writes minutes, and the hours that they complete. */
export class SampleTable {
  readonly #db: Database;
  /** Where each of the station's channels stands in the table of channels, which only grows. */
  readonly #places: readonly number[];

  constructor(db: Database, channels: readonly Channel[]) {
    this.#db = db;
    const add = db.prepare('INSERT INTO channels (id, name, unit) VALUES (?, ?, ?) ON CONFLICT DO NOTHING');
    const find = db.prepare<[string], number>('SELECT id FROM channels WHERE name = ?').pluck();
    const last = db.prepare<[], number>('SELECT coalesce(max(id), -1) FROM channels').pluck();
    this.#places = channels.map(({ name, unit }) => {
      if (find.get(name) === undefined) add.run((last.get() ?? -1) + 1, name, unit);
      return find.get(name) ?? 0;
    });
  }

  add(row: SampleRow): void {
    const samples: Sample[] = [];
    for (const [index, place] of this.#places.entries()) samples[place] = row.samples[index] ?? null;
    const placed = { ...row, samples: Array.from(samples, (sample) => sample ?? null) };
    // The clock was set back, or the service came back within the minute: both parts count.
    const there = this.#at(SPANS.minute, row.atMs);
    this.#put(SPANS.minute, there === null ? placed : merged(row.atMs, [there, placed]));
    this.#rollUp(row.atMs);
  }

  /** The first minute of an hour completes the one before; a minute that came late changes the hour that it belongs to. */
  #rollUp(atMs: number): void {
    const hourMs = hourOf(atMs);
    if (this.#at(SPANS.hour, hourMs) !== null) this.#makeHour(hourMs);
    const bound = this.#db.prepare<[number, number], { first: number; before: number | null }>(
      `SELECT min(at) AS first, (SELECT max(at) FROM samples WHERE span = ${SPANS.minute} AND at < ?) AS before
       FROM samples WHERE span = ${SPANS.minute} AND at >= ?`,
    );
    const { first, before } = bound.get(hourMs, hourMs) ?? { first: 0, before: null };
    if (first === atMs && before !== null) this.#makeHour(hourOf(before));
  }

  #makeHour(hourMs: number): void {
    this.#put(SPANS.hour, merged(hourMs, rowsBetween(this.#db, SPANS.minute, hourMs, hourMs + SPANS.hour)));
  }

  #at(span: number, atMs: number): SampleRow | null {
    return rowsBetween(this.#db, span, atMs, atMs + 1)[0] ?? null;
  }

  #put(span: number, { atMs, lastedMs, samples }: SampleRow): void {
    this.#db
      .prepare('INSERT OR REPLACE INTO samples (span, at, lasted, body) VALUES (?, ?, ?, ?)')
      .run(span, atMs, lastedMs, inText(samples));
  }
}
