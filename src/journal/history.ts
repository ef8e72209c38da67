// Lines for a picture, from the moments, the minutes or the hours, in no more points than were asked for.
import type { Database } from './driver.ts';
import { LIMITS, SPANS } from './limits.ts';
import {
  coarserThan,
  knownBetween,
  rowsBetween,
  type SampleRow,
  startOf,
  thinned,
  UPWARD,
} from './samples.ts';

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
  const [rows, ownMs] = rowsFor(db, fromMs, toMs, (toMs - fromMs) / most);
  const spanMs = ownMs * Math.max(1, Math.ceil((toMs - fromMs) / ownMs / most));
  const shown = thinned(rows, spanMs);
  const find = db.prepare<[string], { id: number; unit: string }>(
    'SELECT id, unit FROM channels WHERE name = ?',
  );
  const lines = channels.flatMap((channel): Line[] => {
    const found = find.get(channel);
    return found === undefined ? [] : [{ channel, unit: found.unit, points: pointsOf(shown, found.id) }];
  });
  return { spanMs, lines };
}

/** Too long a time for a span has too many of them to be read. */
const FINE: readonly (readonly [span: number, upToMs: number])[] = [
  [SPANS.moment, LIMITS.momentsUpToMs],
  [SPANS.minute, LIMITS.minutesUpToMs],
];

/** The finest spans that there are of the whole time, and no finer ones than a picture shows. */
function rowsFor(
  db: Database,
  fromMs: number,
  toMs: number,
  shownMs: number,
): readonly [SampleRow[], spanMs: number] {
  for (const [span, upToMs] of FINE) {
    if (toMs - fromMs > upToMs || shownMs >= (coarserThan(span) ?? 0)) continue;
    const rows = knownBetween(db, span, fromMs, toMs);
    if (reachesBack(db, span, rows, fromMs)) return [rows, span];
  }
  return [knownBetween(db, SPANS.hour, fromMs, toMs), SPANS.hour];
}

/** Nothing coarser is known of the time before the first: of last winter, and of the day whose minutes have just gone. */
function reachesBack(db: Database, span: number, rows: readonly SampleRow[], fromMs: number): boolean {
  const [first] = rows;
  if (first === undefined) return false;
  return UPWARD.filter((coarser) => coarser > span).every(
    (coarser) =>
      rowsBetween(db, coarser, startOf(coarser, fromMs), startOf(coarser, first.atMs)).length === 0,
  );
}

function pointsOf(rows: readonly SampleRow[], place: number): Point[] {
  return rows.flatMap(({ atMs, samples }) => {
    const sample = samples[place] ?? null;
    return sample === null ? [] : [{ atMs, least: sample[0], mean: sample[1], most: sample[2] }];
  });
}
