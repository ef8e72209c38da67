// The one page about many stations: HTML without a script, read anew every few seconds. What stations say is escaped.

import { NEEDS, type Row, type Shown } from '../hub/fleet.ts';
import { escaped } from '../plan/markup.ts';

/** Beyond so many at rest only their number is told. */
const MOST_AT_REST = 200;
const AGAIN_S = 10;

const WORDS: Readonly<Record<Row['need'], string>> = {
  urgent: '▲ urgent',
  silent: '◌ not heard',
  soon: '● soon',
  task: '■ task',
  notice: '· notice',
  none: 'nothing needed',
};

export function fleetPage({ isConnected, sinceMs, rows, leftOut }: Shown, nowMs: number): string {
  const needing = rows.filter(({ need }) => need !== 'none');
  const atRest = rows.filter(({ need }) => need === 'none');
  const counts = NEEDS.flatMap((need) => {
    const count = rows.filter((row) => row.need === need).length;
    return count === 0 ? [] : [`${WORDS[need]} ${count}`];
  });
  const warning = isConnected
    ? ''
    : `<p class="w">The central broker is away since ${at(sinceMs)}: what stands here is old.</p>`;
  const left =
    leftOut === 0 ? '' : `<p>${leftOut} messages were too long, or of stations beyond the most.</p>`;
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta http-equiv="refresh" content="${AGAIN_S}">
<meta name="viewport" content="width=device-width"><title>${needing.length} of ${rows.length} stations need somebody</title>
<style>body{font:16px/1.4 system-ui,sans-serif;margin:1rem;max-width:80rem}table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;padding:.3rem .6rem;border-bottom:1px solid #8888}.w,.urgent td:first-child{font-weight:700;color:#b00020}@media(prefers-color-scheme:dark){body{background:#111;color:#eee}.w,.urgent td:first-child{color:#ff8a80}}</style></head><body>
<h1>${needing.length} of ${rows.length} stations need somebody</h1>
<p>${escaped(counts.join(', '))}. ${at(nowMs)}</p>${warning}${left}
<table><thead><tr><th>Need</th><th>Station</th><th>What</th><th>Since</th><th>On the way</th></tr></thead><tbody>
${needing.map(rowHtml).join('\n')}
</tbody></table>
<p>Nothing needed: ${atRest
    .slice(0, MOST_AT_REST)
    .map(({ name }) => escaped(name))
    .join(', ')}${atRest.length > MOST_AT_REST ? ` and ${atRest.length - MOST_AT_REST} more` : ''}</p>
</body></html>
`;
}

const rowHtml = ({ need, name, station, what, sinceMs, coming }: Row): string =>
  `<tr class="${need}"><td>${WORDS[need]}</td><td>${escaped(name)}<br><small>${escaped(station)}</small></td><td>${what.slice(0, 3).map(escaped).join('<br>')}${what.length > 3 ? `<br>and ${what.length - 3} more` : ''}</td><td>${sinceMs === null ? '' : at(sinceMs)}</td><td>${escaped(coming ?? '')}</td></tr>`;

const at = (ms: number): string => new Date(ms).toISOString().replace('T', ' ').slice(0, 16);
