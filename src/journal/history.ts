// Lines for a picture, from the minutes or the hours, in no more points than were asked for.
import type { Database } from './driver.ts';
import { LIMITS, SPANS } from './limits.ts';
import { hourOf, merged, rowsBetween, type SampleRow } from './samples.ts';

export interface HistoryQuery {
  /** Names as in `channels`; a name that no channel has gives no line. */
  readonly channels: readonly string[];
  /** Wall clock, ms since 1970; `toMs` not included. */
  readonly fromMs: number;
  readonly toMs: number;
  /** At most so many points in each line; usually 1,000. */
  readonly points?: number;
}

export interface Point {
  readonly atMs: number;
  readonly least: number;
  readonly mean: number;
  readonly most: number;
}

export interface Line {
  readonly channel: string;
  readonly unit: string;
  /** Rising in time. Where nobody knew the value there is no point. */
  readonly points: readonly Point[];
}

export interface History {
  /** What one point stands for, ms. */
  readonly spanMs: number;
  readonly lines: readonly Line[];
}

export function historyOf(db: Database, { channels, fromMs, toMs, points }: HistoryQuery): History {
  const most = Math.min(Math.max(1, Math.floor(points ?? LIMITS.points)), LIMITS.mostPoints);
  const inMinutes = toMs - fromMs <= LIMITS.minutesUpToMs ? minutes(db, fromMs, toMs) : [];
  // A day of last winter has its hours only.
  const [rows, ownMs] =
    inMinutes.length > 0 ? [inMinutes, SPANS.minute] : [hours(db, fromMs, toMs), SPANS.hour];
  const spanMs = ownMs * Math.max(1, Math.ceil((toMs - fromMs) / ownMs / most));
  const thinned = thin(rows, spanMs);
  const find = db.prepare<[string], { id: number; unit: string }>(
    'SELECT id, unit FROM channels WHERE name = ?',
  );
  const lines = channels.flatMap((channel): Line[] => {
    const found = find.get(channel);
    return found === undefined ? [] : [{ channel, unit: found.unit, points: pointsOf(thinned, found.id) }];
  });
  return { spanMs, lines };
}

const minutes = (db: Database, fromMs: number, toMs: number): SampleRow[] =>
  rowsBetween(db, SPANS.minute, fromMs, toMs);

/** The hours that are complete, and what there is of those that are not. */
function hours(db: Database, fromMs: number, toMs: number): SampleRow[] {
  const done = rowsBetween(db, SPANS.hour, hourOf(fromMs), toMs);
  const openFromMs = Math.max(hourOf(fromMs), (done.at(-1)?.atMs ?? Number.NEGATIVE_INFINITY) + SPANS.hour);
  return [...done, ...thin(minutes(db, openFromMs, toMs), SPANS.hour)];
}

function thin(rows: readonly SampleRow[], spanMs: number): SampleRow[] {
  const groups = new Map<number, SampleRow[]>();
  for (const row of rows) {
    const atMs = Math.floor(row.atMs / spanMs) * spanMs;
    groups.set(atMs, [...(groups.get(atMs) ?? []), row]);
  }
  return [...groups].map(([atMs, group]) => merged(atMs, group));
}

function pointsOf(rows: readonly SampleRow[], place: number): Point[] {
  return rows.flatMap(({ atMs, samples }) => {
    const sample = samples[place] ?? null;
    return sample === null ? [] : [{ atMs, least: sample[0], mean: sample[1], most: sample[2] }];
  });
}
