// The record of commissioning as one page to hand over: what was tried, by whom, when, what they stated, what was measured, what
// is not shown yet, and lines to sign. No script, nothing fetched; on a telephone its table folds into cards, on paper it is A4.
import { englishOf } from '../language/english.ts';
import { pageOf } from '../plan/html.ts';
import { type Markup, markup } from '../plan/markup.ts';
import type { Plant } from '../station/plant.ts';
import type { Stage } from './items.ts';
import type { RecordFile, Standard, Standing } from './record.ts';
import { commissionedBy } from './record.ts';

const STAGES: Readonly<Record<Stage, string>> = {
  hands: 'By hand, with nothing switched on',
  dry: 'Dry, one output at a time with its load isolated',
  listening: 'How often sensors speak',
  wet: 'Wet, one route at a time and watched',
  supervised: 'Under supervision, with the service at work',
};

const STANDINGS: Readonly<Record<Standing, string>> = {
  passed: 'passed',
  failed: 'FAILED',
  undone: 'not done',
  'never-tried': 'never tried',
  stale: 'entry changed since: not commissioned',
  waived: 'waived',
};

/** @param wallMs now, for the waiver and the date of the page */
export function handOverPage(
  plant: Plant,
  standings: readonly Standard[],
  record: RecordFile,
  wallMs: number,
): string {
  const title = `${plant.name}: record of commissioning`;
  return pageOf(
    title,
    '',
    [
      summary(standings, record, wallMs),
      ...Object.entries(STAGES).map(([stage, words]) =>
        section(
          plant,
          words,
          standings.filter(({ item }) => item.stage === stage),
        ),
      ),
      openItems(standings),
      signatures(),
    ],
    { style: STYLE, footer: FOOTER },
  );
}

const FOOTER =
  'It says what was tried on the day it was tried, and claims no conformity and no safety level. A changed device or a changed entry is commissioned again.';

const STYLE = `
:root { color-scheme: light dark; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e8e8e8; --soft: #b4b4b4; --mend: #cfcfcf; --rule: #8a8a8a; --hair: #3c3c3c; --wash: #262626; --paper: #161616; }
}
table.fold { width: 100%; table-layout: fixed; font-size: .8125rem; }
table.fold th, table.fold td { padding-right: .7rem; overflow-wrap: anywhere; text-align: left; vertical-align: top; }
table.fold .w1 { width: 22%; } table.fold .w2 { width: 13%; } table.fold .w3 { width: 20%; }
table.fold tr { break-inside: avoid; }
.sign { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 2.2rem 2rem; margin-top: 3rem; break-inside: avoid; }
.sign p { border-top: 1px solid var(--ink); padding-top: .3rem; margin: 0; }
@media (max-width: 44rem) {
  table.fold, table.fold tbody, table.fold tr, table.fold td { display: block; width: auto; }
  table.fold thead { display: none; }
  table.fold tr { border-top: 1px solid var(--ink); padding: .45rem 0 .6rem; }
  table.fold td { border: 0; padding: .08rem 0; font-size: .9375rem; }
  table.fold td[data-label]::before { content: attr(data-label) ": "; color: var(--soft); font-size: .875rem; }
  table.fold td:empty { display: none; }
}
@media print { table.fold, table.fold th { font-size: 8pt; } }
`;

const day = (wallMs: number): string => new Date(wallMs).toISOString().slice(0, 10);

function summary(standings: readonly Standard[], record: RecordFile, wallMs: number): Markup {
  const passed = standings.filter(({ standing }) => standing === 'passed').length;
  const { waiver, missing } = commissionedBy(
    standings.map(({ item }) => item),
    record,
    wallMs,
  );
  return markup`<p><b>${passed} of ${standings.length} items have passed</b> on ${day(wallMs)}.${
    missing === 0 ? '' : ' Until all have, nothing starts by itself.'
  }</p>
${
  waiver === null
    ? ''
    : markup`<p>${waiver.who} has waived the rest until ${day(wallMs + waiver.leftMs)}: ${waiver.reason}</p>
`
}`;
}

function section(plant: Plant, title: string, standings: readonly Standard[]): Markup {
  if (standings.length === 0) return markup``;
  const inEnglish = englishOf(plant);
  return markup`<section>
<h2>${title}</h2>
<table class="fold">
<thead><tr><th class="w1">Item</th><th class="w2">Result</th><th>Measured</th><th class="w3">Stated</th><th class="w2">By, on</th></tr></thead>
<tbody>
${standings.map(
  ({
    item,
    standing,
    last,
  }) => markup`<tr><td data-label="Item">${item.key}</td><td data-label="Result">${STANDINGS[standing]}</td><td data-label="Measured">${
    last === null ? '' : inEnglish(last.words)
  }</td><td data-label="Stated">${last === null ? '' : statedIn(last.stated)}</td><td data-label="By, on">${
    last === null ? '' : `${last.who}, ${day(last.wallMs)}`
  }</td></tr>
`,
)}</tbody></table>
</section>
`;
}

/** What was said, without the questions that were answered by a mere Enter. */
const statedIn = (stated: Readonly<Record<string, string>>): string =>
  Object.entries(stated)
    .filter(([, answer]) => answer !== '')
    .map(([question, answer]) => `${question}: ${answer}`)
    .join(', ');

function openItems(standings: readonly Standard[]): Markup {
  const open = standings.filter(({ standing }) => standing !== 'passed');
  if (open.length === 0) return markup``;
  return markup`<section>
<h2>Not shown (${open.length})</h2>
<p>Nobody has shown these on the devices. A thermal cut-out and the hard-wired layer are not part of this record: the protection report lists what is to be inspected.</p>
<ul>
${open.map(
  ({ item, standing }) => markup`<li>${item.key}: ${STANDINGS[standing]}</li>
`,
)}</ul>
</section>
`;
}

const signatures = (): Markup => markup`<section class="sign">
<p>Commissioned by: name, date, signature</p>
<p>Taken over by: name, date, signature</p>
</section>
`;
