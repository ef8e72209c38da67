// A year of minutes in memory, and the last day finer, so that an hour and a year both open at once.
//
//   fine    one sample every few seconds, a ring of the last day
//   minute  the last sample of each minute, in chunks of one day that are made when they are needed
//   hour    the least and the most of each hour, in chunks of thirty days
//
// A query reads the coarsest tier that still fills its buckets and gives the least and the most of each bucket: a peak of
// one minute is seen in a year's picture, where a mean would have hidden it. Unknown is NaN inside and null outside.
//
// The memory is shared between threads: the loop that runs the water writes into it, and a reader's thread reads it where it
// lies. A value that is written while somebody reads it is one point of a picture, the old one or the new one.
import type { HistoryAnswer } from './contract.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;
const FINE_EVERY_MS = 5_000;
const FINE_KEPT = DAY_MS / FINE_EVERY_MS;
const MINUTES_A_CHUNK = 1_440;
const HOURS_A_CHUNK = 720;
/** More buckets than a screen has pixels help nobody. */
export const MOST_POINTS = 2_000;

/** The memory itself. A message to another thread carries it without copying it. */
export interface SharedSeries {
  readonly channels: readonly string[];
  readonly fine: {
    readonly values: Float32Array;
    readonly times: Float64Array;
    /** Where the next sample goes, and how many there are. */
    readonly head: Int32Array;
  };
  /** By day, and by thirty days. */
  readonly minutes: ReadonlyMap<number, Float32Array>;
  readonly hours: ReadonlyMap<number, Float32Array>;
}

export interface Series {
  /** One value for each channel, in the order given; null is unknown. A moment before the last one is left out. */
  readonly append: (atMs: number, values: readonly (number | null)[]) => void;
  readonly shared: SharedSeries;
  /** Another number after a chunk was made or thrown away: other threads need `shared` anew. */
  readonly chunksMade: () => number;
}

export interface SeriesOptions {
  /** Whole days that are kept as minutes and hours; a leap year and a day by default. */
  readonly keepDays?: number;
}

type Visit = (atMs: number, least: number, most: number) => void;

/** Every sample of a channel in a span, oldest first. */
type Scan = (shared: SharedSeries, channel: number, fromMs: number, toMs: number, visit: Visit) => void;

export function seriesOf(channels: readonly string[], options: SeriesOptions = {}): Series {
  const count = channels.length;
  const keepMs = (options.keepDays ?? 367) * DAY_MS;
  const fine = {
    values: floats(FINE_KEPT * count),
    times: new Float64Array(new SharedArrayBuffer(FINE_KEPT * Float64Array.BYTES_PER_ELEMENT)).fill(
      Number.NaN,
    ),
    head: new Int32Array(new SharedArrayBuffer(2 * Int32Array.BYTES_PER_ELEMENT)),
  };
  const days = chunks(MINUTES_A_CHUNK * count, Math.ceil(keepMs / DAY_MS));
  const months = chunks(HOURS_A_CHUNK * count * 2, Math.ceil(keepMs / (HOURS_A_CHUNK * HOUR_MS)) + 1);
  const now = new Float32Array(count);
  let lastMs = Number.NEGATIVE_INFINITY;

  return {
    append: (atMs, values) => {
      if (atMs < lastMs) return;
      lastMs = atMs;
      for (let i = 0; i < count; i += 1) now[i] = values[i] ?? Number.NaN;
      intoFine(fine, atMs, now);
      const minute = Math.floor(atMs / MINUTE_MS);
      days.at(Math.floor(minute / MINUTES_A_CHUNK)).set(now, (minute % MINUTES_A_CHUNK) * count);
      const hour = Math.floor(atMs / HOUR_MS);
      widen(months.at(Math.floor(hour / HOURS_A_CHUNK)), (hour % HOURS_A_CHUNK) * count * 2, now);
    },
    shared: { channels, fine, minutes: days.kept, hours: months.kept },
    chunksMade: () => days.made() + months.made(),
  };
}

/** The least and the most in each bucket of a span. */
export function linesIn(
  shared: SharedSeries,
  wanted: readonly string[],
  fromMs: number,
  toMs: number,
  points: number,
): HistoryAnswer {
  const buckets = Math.max(1, Math.min(Math.round(points), MOST_POINTS));
  const exactMs = Math.max(1, (toMs - fromMs) / buckets);
  const [scan, ownMs] = tierFor(shared, exactMs, fromMs);
  // No bucket is finer than what the tier holds: empty ones would look like gaps.
  const bucketMs = Math.max(exactMs, ownMs);
  const firstMs = Math.floor(fromMs / bucketMs) * bucketMs;
  const size = Math.ceil((toMs - firstMs) / bucketMs);
  const atMs = Array.from({ length: size }, (_, i) => Math.round(firstMs + (i + 0.5) * bucketMs));
  const series: Record<string, { least: (number | null)[]; most: (number | null)[] }> = {};
  for (const id of wanted) {
    const channel = shared.channels.indexOf(id);
    if (channel < 0) continue;
    const least: (number | null)[] = new Array(size).fill(null);
    const most: (number | null)[] = new Array(size).fill(null);
    scan(shared, channel, firstMs, toMs, (sampleMs, low, high) => {
      const bucket = Math.floor((sampleMs - firstMs) / bucketMs);
      if (bucket < 0 || bucket >= size || Number.isNaN(low)) return;
      const before = least[bucket];
      if (before === null || before === undefined || low < before) least[bucket] = rounded(low);
      const above = most[bucket];
      if (above === null || above === undefined || high > above) most[bucket] = rounded(high);
    });
    series[id] = { least, most };
  }
  return { bucketMs, atMs, series };
}

function tierFor({ fine }: SharedSeries, bucketMs: number, fromMs: number): readonly [Scan, number] {
  if (bucketMs >= HOUR_MS) return [scanHours, HOUR_MS];
  const [next = 0, used = 0] = fine.head;
  const oldestMs =
    used === 0 ? Number.POSITIVE_INFINITY : (fine.times[used < FINE_KEPT ? 0 : next] as number);
  if (bucketMs >= 2 * MINUTE_MS || fromMs < oldestMs) return [scanMinutes, MINUTE_MS];
  return [scanFine, FINE_EVERY_MS];
}

/** Single precision holds seven digits; the page needs no more than two decimals of them. */
const rounded = (value: number): number => Math.round(value * 1000) / 1000;

const floats = (length: number): Float32Array =>
  new Float32Array(new SharedArrayBuffer(length * Float32Array.BYTES_PER_ELEMENT)).fill(Number.NaN);

function intoFine({ values, times, head }: SharedSeries['fine'], atMs: number, now: Float32Array): void {
  const [next = 0, used = 0] = head;
  const lastMs = used === 0 ? Number.NEGATIVE_INFINITY : times[(next + FINE_KEPT - 1) % FINE_KEPT];
  if (atMs - (lastMs as number) < FINE_EVERY_MS) return;
  values.set(now, next * now.length);
  times[next] = atMs;
  head[0] = (next + 1) % FINE_KEPT;
  head[1] = Math.min(used + 1, FINE_KEPT);
}

const scanFine: Scan = ({ channels, fine }, channel, fromMs, toMs, visit) => {
  const [next = 0, used = 0] = fine.head;
  for (let i = 0; i < used; i += 1) {
    const at = used < FINE_KEPT ? i : (next + i) % FINE_KEPT;
    const atMs = fine.times[at] as number;
    if (atMs < fromMs || atMs >= toMs) continue;
    const value = fine.values[at * channels.length + channel] as number;
    visit(atMs, value, value);
  }
};

/** Chunks by number, the oldest thrown away; a chunk that was never needed takes no room. */
function chunks(length: number, most: number) {
  const kept = new Map<number, Float32Array>();
  let count = 0;
  return {
    kept,
    made: () => count,
    at: (index: number): Float32Array => {
      const found = kept.get(index);
      if (found) return found;
      const made = floats(length);
      kept.set(index, made);
      count += 1;
      const oldest = Math.min(...kept.keys());
      if (kept.size > most) kept.delete(oldest);
      return made;
    },
  };
}

/** The chunks that a span touches, oldest first. */
function* touched(
  kept: ReadonlyMap<number, Float32Array>,
  chunkMs: number,
  fromMs: number,
  toMs: number,
): Generator<[startMs: number, chunk: Float32Array]> {
  const numbers = [...kept.keys()].filter((at) => (at + 1) * chunkMs > fromMs && at * chunkMs < toMs);
  for (const at of numbers.sort((a, b) => a - b)) yield [at * chunkMs, kept.get(at) as Float32Array];
}

const scanMinutes: Scan = ({ channels, minutes }, channel, fromMs, toMs, visit) => {
  for (const [startMs, chunk] of touched(minutes, DAY_MS, fromMs, toMs)) {
    const first = Math.max(0, Math.ceil((fromMs - startMs) / MINUTE_MS));
    const end = Math.min(MINUTES_A_CHUNK, Math.ceil((toMs - startMs) / MINUTE_MS));
    for (let minute = first; minute < end; minute += 1) {
      const value = chunk[minute * channels.length + channel] as number;
      visit(startMs + minute * MINUTE_MS, value, value);
    }
  }
};

/** Widens each channel's hour to what was seen now. */
function widen(chunk: Float32Array, base: number, now: Float32Array): void {
  for (const [i, value] of now.entries()) {
    if (Number.isNaN(value)) continue;
    const least = chunk[base + 2 * i] as number;
    const most = chunk[base + 2 * i + 1] as number;
    if (!(least <= value)) chunk[base + 2 * i] = value;
    if (!(most >= value)) chunk[base + 2 * i + 1] = value;
  }
}

const scanHours: Scan = ({ channels, hours }, channel, fromMs, toMs, visit) => {
  for (const [startMs, chunk] of touched(hours, HOURS_A_CHUNK * HOUR_MS, fromMs, toMs)) {
    for (let hour = 0; hour < HOURS_A_CHUNK; hour += 1) {
      const atMs = startMs + hour * HOUR_MS;
      if (atMs + HOUR_MS <= fromMs || atMs >= toMs) continue;
      const at = (hour * channels.length + channel) * 2;
      visit(Math.max(atMs, fromMs), chunk[at] as number, chunk[at + 1] as number);
    }
  }
};
