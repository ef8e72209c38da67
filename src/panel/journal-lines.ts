// Lines from before this start of the service: what the journal kept, joined to what memory holds since. Everything else
// of a source stays as it is.
import type { History, HistoryQuery as JournalQuery } from '../journal/history.ts';
import { channelsOf, nameOf } from './channels.ts';
import type { Channel, HistoryAnswer, HistoryQuery } from './contract.ts';
import type { Source } from './source.ts';

export interface Lines {
  readonly history: (query: JournalQuery) => History;
}

/** @param sinceMs the first moment that memory knows */
export function withJournal<S extends Source>(source: S, journal: Lines, sinceMs: number): S {
  return {
    ...source,
    history: async (query: HistoryQuery): Promise<HistoryAnswer> => {
      const now = await source.history(query);
      if (query.fromMs >= sinceMs) return now;
      const channels = channelsOf(source.plant()).filter(({ id }) => query.channels.includes(id));
      const names = [...new Set(channels.map(nameOf))];
      const { fromMs, points } = query;
      const before = journal.history({
        channels: names,
        fromMs,
        toMs: Math.min(query.toMs, sinceMs),
        points,
      });
      return joined(now, before, channels);
    },
  };
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
