// A year of minutes in memory, and the last day finer, so that an hour and a year both open at once.
//
//   fine    one sample every few seconds, a ring of the last day
//   minute  the last sample of each minute, in chunks of one day that are made when they are needed
//   hour    the least and the most of each hour, in chunks of thirty days
//
// A query reads the coarsest tier that still fills its buckets and gives the least and the most of each bucket: a peak of
// one minute is seen in a year's picture, where a mean would have hidden it. Unknown is NaN inside and null outside.
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

export interface Series {
  /** One value for each channel, in the order given; null is unknown. A moment before the last one is left out. */
  readonly append: (atMs: number, values: readonly (number | null)[]) => void;
  readonly query: (
    channels: readonly string[],
    fromMs: number,
    toMs: number,
    points: number,
  ) => HistoryAnswer;
  readonly oldestMs: () => number | null;
}

export interface SeriesOptions {
  /** Whole days that are kept as minutes and hours; a leap year and a day by default. */
  readonly keepDays?: number;
}

type Visit = (atMs: number, least: number, most: number) => void;

/** What a tier gives: every sample of a channel in a span, oldest first. */
interface Tier {
  readonly append: (atMs: number, values: Float32Array) => void;
  readonly scan: (channel: number, fromMs: number, toMs: number, visit: Visit) => void;
  readonly oldestMs: () => number | null;
}

export function seriesOf(channels: readonly string[], options: SeriesOptions = {}): Series {
  const count = channels.length;
  const keepMs = (options.keepDays ?? 367) * DAY_MS;
  const fine = fineTier(count);
  const minute = minuteTier(count, keepMs);
  const hour = hourTier(count, keepMs);
  const now = new Float32Array(count);
  let lastMs = Number.NEGATIVE_INFINITY;

  const tierFor = (bucketMs: number, fromMs: number): Tier => {
    if (bucketMs >= HOUR_MS) return hour;
    if (bucketMs >= 2 * MINUTE_MS || fromMs < (fine.oldestMs() ?? Number.POSITIVE_INFINITY)) return minute;
    return fine;
  };

  return {
    append: (atMs, values) => {
      if (atMs < lastMs) return;
      lastMs = atMs;
      for (let i = 0; i < count; i += 1) now[i] = values[i] ?? Number.NaN;
      fine.append(atMs, now);
      minute.append(atMs, now);
      hour.append(atMs, now);
    },
    query: (wanted, fromMs, toMs, points) => {
      const buckets = Math.max(1, Math.min(Math.round(points), MOST_POINTS));
      const exactMs = Math.max(1, (toMs - fromMs) / buckets);
      const tier = tierFor(exactMs, fromMs);
      // No bucket is finer than what the tier holds: empty ones would look like gaps.
      const leastMs = tier === fine ? FINE_EVERY_MS : tier === minute ? MINUTE_MS : HOUR_MS;
      const bucketMs = Math.max(exactMs, leastMs);
      const firstMs = Math.floor(fromMs / bucketMs) * bucketMs;
      const size = Math.ceil((toMs - firstMs) / bucketMs);
      const atMs = Array.from({ length: size }, (_, i) => Math.round(firstMs + (i + 0.5) * bucketMs));
      const series: Record<string, { least: (number | null)[]; most: (number | null)[] }> = {};
      for (const id of wanted) {
        const channel = channels.indexOf(id);
        if (channel >= 0) series[id] = decimate(tier, channel, firstMs, toMs, bucketMs, size);
      }
      return { bucketMs, atMs, series };
    },
    oldestMs: () => minute.oldestMs(),
  };
}

function decimate(tier: Tier, channel: number, fromMs: number, toMs: number, bucketMs: number, size: number) {
  const least: (number | null)[] = new Array(size).fill(null);
  const most: (number | null)[] = new Array(size).fill(null);
  tier.scan(channel, fromMs, toMs, (atMs, low, high) => {
    const bucket = Math.floor((atMs - fromMs) / bucketMs);
    if (bucket < 0 || bucket >= size || Number.isNaN(low)) return;
    const before = least[bucket];
    if (before === null || before === undefined || low < before) least[bucket] = rounded(low);
    const above = most[bucket];
    if (above === null || above === undefined || high > above) most[bucket] = rounded(high);
  });
  return { least, most };
}

/** Single precision holds seven digits; the page needs no more than two decimals of them. */
const rounded = (value: number): number => Math.round(value * 1000) / 1000;

function fineTier(count: number): Tier {
  const values = new Float32Array(FINE_KEPT * count);
  const times = new Float64Array(FINE_KEPT).fill(Number.NaN);
  let next = 0;
  let used = 0;
  let lastMs = Number.NEGATIVE_INFINITY;
  const oldest = () => (used === 0 ? null : (times[used < FINE_KEPT ? 0 : next] ?? null));
  return {
    append: (atMs, now) => {
      if (atMs - lastMs < FINE_EVERY_MS) return;
      lastMs = atMs;
      values.set(now, next * count);
      times[next] = atMs;
      next = (next + 1) % FINE_KEPT;
      used = Math.min(used + 1, FINE_KEPT);
    },
    scan: (channel, fromMs, toMs, visit) => {
      for (let i = 0; i < used; i += 1) {
        const at = used < FINE_KEPT ? i : (next + i) % FINE_KEPT;
        const atMs = times[at] as number;
        if (atMs < fromMs || atMs >= toMs) continue;
        const value = values[at * count + channel] as number;
        visit(atMs, value, value);
      }
    },
    oldestMs: oldest,
  };
}

/** Chunks by number, the oldest thrown away; a chunk that was never needed takes no room. */
function chunks(length: number, most: number) {
  const kept = new Map<number, Float32Array>();
  return {
    at: (index: number): Float32Array => {
      const found = kept.get(index);
      if (found) return found;
      const made = new Float32Array(length).fill(Number.NaN);
      kept.set(index, made);
      const oldest = Math.min(...kept.keys());
      if (kept.size > most) kept.delete(oldest);
      return made;
    },
    peek: (index: number): Float32Array | undefined => kept.get(index),
    first: (): number | null => (kept.size === 0 ? null : Math.min(...kept.keys())),
    last: (): number | null => (kept.size === 0 ? null : Math.max(...kept.keys())),
  };
}

function minuteTier(count: number, keepMs: number): Tier {
  const days = chunks(MINUTES_A_CHUNK * count, Math.ceil(keepMs / DAY_MS));
  return {
    append: (atMs, now) => {
      const minute = Math.floor(atMs / MINUTE_MS);
      days.at(Math.floor(minute / MINUTES_A_CHUNK)).set(now, (minute % MINUTES_A_CHUNK) * count);
    },
    scan: (channel, fromMs, toMs, visit) => {
      const first = Math.max(Math.floor(fromMs / DAY_MS), days.first() ?? 0);
      const last = Math.min(Math.floor(toMs / DAY_MS), days.last() ?? -1);
      for (let day = first; day <= last; day += 1) {
        const chunk = days.peek(day);
        if (chunk === undefined) continue;
        for (let minute = 0; minute < MINUTES_A_CHUNK; minute += 1) {
          const atMs = day * DAY_MS + minute * MINUTE_MS;
          if (atMs < fromMs || atMs >= toMs) continue;
          const value = chunk[minute * count + channel] as number;
          visit(atMs, value, value);
        }
      }
    },
    oldestMs: () => {
      const first = days.first();
      return first === null ? null : first * DAY_MS;
    },
  };
}

function hourTier(count: number, keepMs: number): Tier {
  const months = chunks(HOURS_A_CHUNK * count * 2, Math.ceil(keepMs / (HOURS_A_CHUNK * HOUR_MS)) + 1);
  return {
    append: (atMs, now) => {
      const hour = Math.floor(atMs / HOUR_MS);
      const chunk = months.at(Math.floor(hour / HOURS_A_CHUNK));
      const base = (hour % HOURS_A_CHUNK) * count * 2;
      for (let i = 0; i < count; i += 1) {
        const value = now[i] as number;
        if (Number.isNaN(value)) continue;
        const least = chunk[base + 2 * i] as number;
        const most = chunk[base + 2 * i + 1] as number;
        if (!(least <= value)) chunk[base + 2 * i] = value;
        if (!(most >= value)) chunk[base + 2 * i + 1] = value;
      }
    },
    scan: (channel, fromMs, toMs, visit) => {
      const span = HOURS_A_CHUNK * HOUR_MS;
      const first = Math.max(Math.floor(fromMs / span), months.first() ?? 0);
      const last = Math.min(Math.floor(toMs / span), months.last() ?? -1);
      for (let month = first; month <= last; month += 1) {
        const chunk = months.peek(month);
        if (chunk === undefined) continue;
        for (let hour = 0; hour < HOURS_A_CHUNK; hour += 1) {
          const atMs = month * span + hour * HOUR_MS;
          if (atMs + HOUR_MS <= fromMs || atMs >= toMs) continue;
          const at = (hour * count + channel) * 2;
          visit(Math.max(atMs, fromMs), chunk[at] as number, chunk[at + 1] as number);
        }
      }
    },
    oldestMs: () => {
      const first = months.first();
      return first === null ? null : first * HOURS_A_CHUNK * HOUR_MS;
    },
  };
}
