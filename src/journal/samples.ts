// The lines of a picture, kept for a year: each moment (5 s) the least, the mean over time and the most of every channel;
// minutes are made of moments and hours of minutes. A restart inside a moment goes on with it; a power cut loses at most the
// moment that was running.
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

/** Sums up the running moment. */
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

  /** @returns the moment that is over, when this step begins another */
  take(state: State, elapsedMs: number, wallMs: number): SampleRow | null {
    const atMs = startOf(SPANS.moment, wallMs);
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

  /** The moment so far; the next one begins empty. */
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

/** When the span began that this falls into. */
export const startOf = (span: number, atMs: number): number => Math.floor(atMs / span) * span;

export const UPWARD: readonly number[] = [SPANS.moment, SPANS.minute, SPANS.hour];
export const coarserThan = (span: number): number | null => UPWARD[UPWARD.indexOf(span) + 1] ?? null;
const finerThan = (span: number): number | null => UPWARD[UPWARD.indexOf(span) - 1] ?? null;

/** @param toMs not included */
export function rowsBetween(db: Database, span: number, fromMs: number, toMs: number): SampleRow[] {
  return db
    .prepare<[number, number, number], Stored>(
      'SELECT at, lasted, body FROM samples WHERE span = ? AND at >= ? AND at < ? ORDER BY at',
    )
    .all(span, fromMs, toMs)
    .map(({ at, lasted, body }) => ({ atMs: at, lastedMs: lasted, samples: fromText(body) }));
}

/** The spans that are complete, and what there is of those that are not. */
export function knownBetween(db: Database, span: number, fromMs: number, toMs: number): SampleRow[] {
  const firstMs = startOf(span, fromMs);
  const done = rowsBetween(db, span, firstMs, toMs);
  const finer = finerThan(span);
  if (finer === null) return done;
  const openMs = Math.max(firstMs, (done.at(-1)?.atMs ?? Number.NEGATIVE_INFINITY) + span);
  return [...done, ...thinned(knownBetween(db, finer, openMs, toMs), span)];
}

export function thinned(rows: readonly SampleRow[], spanMs: number): SampleRow[] {
  const groups = new Map<number, SampleRow[]>();
  for (const row of rows) {
    const atMs = startOf(spanMs, row.atMs);
    const group = groups.get(atMs);
    if (group === undefined) groups.set(atMs, [row]);
    else group.push(row);
  }
  return [...groups].map(([atMs, group]) => merged(atMs, group));
}

/** Writes moments, the minutes that they complete, and the hours that those complete. */
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

  /** @param row of a moment */
  add(row: SampleRow): void {
    const samples: Sample[] = [];
    for (const [index, place] of this.#places.entries()) samples[place] = row.samples[index] ?? null;
    this.#take(SPANS.moment, { ...row, samples: Array.from(samples, (sample) => sample ?? null) });
  }

  /** A span that is there takes in what comes late: the clock was set back, or the service came back within it. */
  #take(span: number, row: SampleRow): void {
    const there = this.#at(span, row.atMs);
    this.#put(span, there === null ? row : merged(row.atMs, [there, row]));
    const coarser = coarserThan(span);
    if (coarser === null) return;
    const atMs = startOf(coarser, row.atMs);
    if (this.#at(coarser, atMs) === null) this.#completeBefore(span, coarser, row.atMs);
    else this.#take(coarser, { ...row, atMs });
  }

  /** The first of a coarser span completes the one before. */
  #completeBefore(span: number, coarser: number, atMs: number): void {
    const bound = this.#db.prepare<
      [number, number, number, number],
      { first: number; before: number | null }
    >(
      `SELECT min(at) AS first, (SELECT max(at) FROM samples WHERE span = ? AND at < ?) AS before
       FROM samples WHERE span = ? AND at >= ?`,
    );
    const fromMs = startOf(coarser, atMs);
    const { first, before } = bound.get(span, fromMs, span, fromMs) ?? { first: 0, before: null };
    if (first !== atMs || before === null) return;
    const madeMs = startOf(coarser, before);
    if (this.#at(coarser, madeMs) !== null) return;
    this.#take(coarser, merged(madeMs, rowsBetween(this.#db, span, madeMs, madeMs + coarser)));
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
