// Lines for a picture or a table, as the journal has them: the least and the most of each bucket, so that a peak of one
// minute is seen in a year's picture, where a mean would have hidden it.
import type { Queries } from '../journal/queries.ts';
import { nameOf } from './channels.ts';
import type { Channel, HistoryAnswer, HistoryQuery } from './contract.ts';

/** More buckets than a screen has pixels help nobody. */
export const MOST_POINTS = 2_000;

export function linesIn(
  journal: Pick<Queries, 'history'>,
  channels: readonly Channel[],
  { fromMs, toMs, points }: Omit<HistoryQuery, 'channels'>,
): HistoryAnswer {
  const names = [...new Set(channels.map(nameOf))];
  const { spanMs, lines } = journal.history({ channels: names, fromMs, toMs, points });
  const firstMs = Math.floor(fromMs / spanMs) * spanMs;
  const size = Math.ceil((toMs - firstMs) / spanMs);
  const series: Record<string, { least: (number | null)[]; most: (number | null)[] }> = {};
  for (const { id, kind, subject } of channels) {
    const least: (number | null)[] = new Array(size).fill(null);
    const most: (number | null)[] = new Array(size).fill(null);
    const name = nameOf({ kind, subject });
    for (const point of lines.find(({ channel }) => channel === name)?.points ?? []) {
      const bucket = (point.atMs - firstMs) / spanMs;
      least[bucket] = rounded(kind === 'most' ? point.most : point.least);
      most[bucket] = rounded(kind === 'least' ? point.least : point.most);
    }
    series[id] = { least, most };
  }
  const atMs = Array.from({ length: size }, (_, bucket) => Math.round(firstMs + (bucket + 0.5) * spanMs));
  return { bucketMs: spanMs, atMs, series };
}

/** The page needs no more than two decimals. */
const rounded = (value: number): number => Math.round(value * 1000) / 1000;
