// The history as a table for other programs: one row a minute (or an hour, as where the journal's minutes have gone), house
// units, times in UTC (ISO 8601), the least and the most of each interval (RFC 4180). Written piece by piece: a year is never
// in memory as text.
import type { Plant } from '../station/plant.ts';
import type { Channel, HistoryAnswer, HistoryQuery } from './contract.ts';

const ROWS_AT_ONCE = 240;

export interface CsvQuery {
  readonly channels: readonly Channel[];
  readonly fromMs: number;
  readonly toMs: number;
  readonly everyMs: number;
}

export function csvHead(plant: Plant, { channels }: CsvQuery): string {
  const heads = channels.flatMap((channel) => {
    const name = headOf(plant, channel);
    return [`${name}, least`, `${name}, most`];
  });
  return `${['time (UTC)', ...heads].map(cell).join(',')}\r\n`;
}

/** Some rows, and where the next ones begin; null: these were the last. */
export function csvRows(
  history: (query: HistoryQuery) => HistoryAnswer,
  query: CsvQuery,
  atMs: number,
): { readonly text: string; readonly nextMs: number | null } {
  // Whole intervals, also the one in which the span ends: any other bucket would not begin with a minute.
  const lastMs = Math.ceil(query.toMs / query.everyMs) * query.everyMs;
  const endMs = Math.min(atMs + ROWS_AT_ONCE * query.everyMs, lastMs);
  if (atMs >= endMs) return { text: '', nextMs: null };
  const ids = query.channels.map(({ id }) => id);
  const points = Math.max(1, Math.round((endMs - atMs) / query.everyMs));
  const answer = history({ channels: ids, fromMs: atMs, toMs: endMs, points });
  let text = '';
  for (const [i, middleMs] of answer.atMs.entries()) {
    const values = ids.flatMap((id) => {
      const line = answer.series[id];
      return [line?.least[i] ?? '', line?.most[i] ?? ''];
    });
    // Nothing known of any line: a gap is left out, not written as empty cells.
    if (values.every((value) => value === '')) continue;
    const beganMs = middleMs - answer.bucketMs / 2;
    // Where minutes have gone there is a row an hour: one that began in the piece before is written there.
    if (beganMs < atMs && atMs > query.fromMs) continue;
    text += `${[new Date(beganMs).toISOString(), ...values].join(',')}\r\n`;
  }
  return { text, nextMs: endMs < lastMs ? endMs : null };
}

function headOf(plant: Plant, { kind, subject }: Channel): string {
  const name =
    subject === null ? '' : (plant.vessels[subject]?.name ?? plant.routes[subject]?.name ?? subject);
  switch (kind) {
    case 'least':
      return `${name}: certain contents (L)`;
    case 'most':
      return `${name}: possible contents (L)`;
    case 'salinity':
      return `${name}: practical salinity (1)`;
    case 'temperature':
      return `${name}: temperature (degC)`;
    case 'flow':
      return `${name}: flow (L/min)`;
    case 'output':
      return `${name}: output as at 25 degC (L/min)`;
    case 'delivered':
      return `${name}: delivered today (L)`;
    case 'difference':
      return `${name}: drained less delivered (L)`;
    case 'reserve':
      return 'reserve (share of the systems)';
  }
}

/** A name that begins like a formula would be one in a spreadsheet. */
function cell(text: string): string {
  const safe = /^[=+\-@\t\r]/u.test(text) ? `'${text}` : text;
  return /[",\r\n]/u.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
