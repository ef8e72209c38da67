// Lines from before this start of the service: what the journal kept, joined to what memory holds since.
import type { History, HistoryQuery as JournalQuery } from '../journal/history.ts';
import { nameOf } from './channels.ts';
import type { Channel, HistoryAnswer, HistoryQuery } from './contract.ts';

export interface Lines {
  readonly history: (query: JournalQuery) => History;
}

/**
 * @param now what memory says to the same query
 * @param sinceMs the first moment that memory knows
 */
export function withJournal(
  now: HistoryAnswer,
  journal: Lines,
  sinceMs: number,
  channels: readonly Channel[],
  { fromMs, toMs, points }: HistoryQuery,
): HistoryAnswer {
  const names = [...new Set(channels.map(nameOf))];
  const before = journal.history({ channels: names, fromMs, toMs: Math.min(toMs, sinceMs), points });
  return joined(now, before, channels);
}

/** The journal's points, poured into the buckets of the answer: a bucket that both know holds the least and the most of both. */
function joined(now: HistoryAnswer, before: History, channels: readonly Channel[]): HistoryAnswer {
  const firstMs = (now.atMs[0] ?? 0) - now.bucketMs / 2;
  const series = { ...now.series };
  for (const channel of channels) {
    const line = before.lines.find(({ channel: name }) => name === nameOf(channel));
    const own = series[channel.id];
    if (line === undefined || own === undefined) continue;
    const least = [...own.least];
    const most = [...own.most];
    for (const point of line.points) {
      // A point stands for a span: where buckets are finer, it fills all of them.
      const first = Math.max(0, Math.floor((point.atMs - firstMs) / now.bucketMs));
      const last = Math.min(
        most.length - 1,
        Math.floor((point.atMs + before.spanMs - 1 - firstMs) / now.bucketMs),
      );
      const low = channel.kind === 'most' ? point.most : point.least;
      const high = channel.kind === 'least' ? point.least : point.most;
      for (let at = first; at <= last; at += 1) {
        least[at] = Math.min(least[at] ?? low, low);
        most[at] = Math.max(most[at] ?? high, high);
      }
    }
    series[channel.id] = { least, most };
  }
  return { ...now, series };
}
