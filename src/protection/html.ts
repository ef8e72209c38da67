// The protection report as one page that needs nothing else: no script, no fetched font or picture, by day, by night and on A4.
import { contentsPart, pageOf } from '../plan/html.ts';
import { asMarkup, type Markup, markup } from '../plan/markup.ts';
import { EVENT_KINDS } from './events.ts';
import type { ProtectionReport, ReportedCause, ReportedGap, ReportedHazard, ReportedRow } from './report.ts';
import { OWN_STYLE } from './style.ts';
import {
  byFit,
  bypassWords,
  CAUSE_WORDS,
  COVERED,
  HARD_WIRED_WORDS,
  PROOF_WORDS,
  STEP_WORDS,
  TREE_WORDS,
  unplacedWords,
} from './text.ts';
import { ALL_LOST, cutsPart, FAILURE, LEGEND, ONE_MORE, SHARED, treePart } from './tree-html.ts';
import { counted } from './words.ts';

export function htmlOf(report: ProtectionReport): string {
  const { station, summary } = report;
  const sections = [
    hazards(report),
    coverage(report),
    rows(report),
    proofTests(report),
    causes(report),
    trees(report),
    hardWired(report),
    notClaimed(report),
  ];
  return pageOf(
    `${station.name}: protection report`,
    '',
    [
      markup`<p class="lead">It claims no conformity and no safety level.</p>
${summary.map((sentence) => markup`<p>${sentence}</p>\n`)}`,
      warnings(report),
      contentsPart(sections),
      ...sections.map(
        ({ id, title, body }) => markup`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title}</h2>
${body}</section>
`,
      ),
    ],
    { style: OWN_STYLE, footer: FOOTER },
  );
}

const FOOTER =
  'Software is the first layer, never the last. This report is no approval and claims no conformity and no safety level. Local codes and licensed practice come first.';

interface Part {
  readonly id: string;
  readonly title: string;
  readonly body: Markup;
}

const nothing = markup``;
const paragraph = (text: string): Markup => (text === '' ? nothing : markup`<p>${text}</p>\n`);
const BOX = markup`<span class="box"></span>`;

function warnings({ warnings: all }: ProtectionReport): Markup {
  if (all.length === 0) return nothing;
  return markup`<section id="warnings" aria-labelledby="warnings-title">
<h2 id="warnings-title">Warnings (${all.length})</h2>
<ul class="cautions">
${all.map(
  ({ id, words, fit }) => markup`<li class="danger">
<p class="tag">Common cause <span>${id}</span></p>
<p>${words}</p>
<p class="mend">To close the gap: ${fit}</p>
</li>
`,
)}</ul>
</section>
`;
}

function hazards({ hazards: all, causes: shared }: ProtectionReport): Part {
  return {
    id: 'hazards',
    title: `Hazards (${all.length})`,
    body: markup`${matrix(all, shared)}${all.map(hazard)}`,
  };
}

function hazard({ id, title, consequence, ownRows, generalRows }: ReportedHazard): Markup {
  const links = ownRows.map((key, at) => markup`${at === 0 ? '' : ', '}<a href="#${anchor(key)}">${key}</a>`);
  return markup`<div class="hazard">
<h3 id="${id}">${id} ${title}</h3>
<p class="consequence">${consequence}</p>
<p class="held">Safeguards: ${ownRows.length === 0 ? 'no interlock of its own' : links}; and ${counted(generalRows.length, 'interlock')} for readings, devices and the link on its way.</p>
</div>
`;
}

/** Of a row's key; the ids of a station have no underscore. */
const anchor = (key: string): string => key.replaceAll('/', '_');

/** What one failure and what a shared thing does to each hazard, at a glance. */
function matrix(all: readonly ReportedHazard[], shared: readonly ReportedCause[]): Markup {
  const cell = ({ losses }: ReportedCause, id: string): Markup => {
    const loss = losses.find((each) => each.id === id);
    if (loss === undefined) return markup`<td></td>`;
    return loss.left === 0 ? markup`<td>${ALL_LOST}</td>` : markup`<td>${ONE_MORE}</td>`;
  };
  // An empty field must not look like safety where nothing is known.
  const setCells = ({ tree, cuts }: ReportedHazard): Markup =>
    tree === null
      ? markup`<td colspan="3">none known</td>`
      : markup`${[cuts.ones.length, cuts.twos.length, cuts.more].map((sets) => markup`<td>${sets === 0 ? '' : sets}</td>`)}`;
  return markup`<div class="wide">
<table class="matrix">
<caption>At a glance: minimal sets of failures, and what shared things take away</caption>
<thead>
<tr><th scope="col">Hazard</th><th scope="col">of one</th><th scope="col">of two</th><th scope="col">of more</th>${shared.map(
    ({ id }) => markup`<th scope="col"><a href="#${id}">${id}</a></th>`,
  )}</tr>
</thead>
<tbody>
${all.map(
  (
    each,
  ) => markup`<tr><td><a href="#${each.id}-tree">${each.id}</a> ${each.title}</td>${setCells(each)}${shared.map((cause) => cell(cause, each.id))}</tr>
`,
)}</tbody>
</table>
</div>
<ul class="legend"><li>${SHARED} every barrier is lost with it</li><li>${FAILURE} one more failure is then enough</li></ul>
`;
}

function coverage({ coverage: { software, hardware, nothing: none } }: ProtectionReport): Part {
  const empty = none.single.length + none.withoutRows.length + none.missing.length === 0;
  return {
    id: 'coverage',
    title: 'What is held by software, by hardware only, by nothing',
    body: markup`<h3>By software</h3>
<p>${COVERED.software}</p>
<div class="wide">
<table>
<caption>Rows that hold each hazard</caption>
<thead>
<tr><th scope="col">Hazard</th><th scope="col" class="n">of its own</th><th scope="col" class="n">general</th></tr>
</thead>
<tbody>
${software.map(({ id, title, own, general }) => markup`<tr><td>${id} ${title}</td><td class="n">${own}</td><td class="n">${general}</td></tr>\n`)}</tbody>
</table>
</div>
<h3>By hardware only (${hardware.length})</h3>
<p>${COVERED.hardware}</p>
<ul class="plain">
${byFit(hardware).map(([fit, gaps]) => markup`<li>${BOX}${fit}\n<ul>\n${gaps.map(gapItem)}</ul>\n</li>\n`)}</ul>
<h3>By nothing</h3>
<p>${COVERED.nothing}</p>
${
  empty
    ? paragraph('Nothing that the station file could tell.')
    : markup`<ul class="plain">
${none.single.map(gapItem)}${none.withoutRows.map(({ id, title }) => markup`<li>${id} ${title}: no interlock of its own</li>\n`)}${none.missing.map(
  ({ id, words, fit }) => markup`<li><span class="key">${id}</span> ${words} ${fit}</li>\n`,
)}</ul>
`
}`,
  };
}

const gapItem = ({ id, when, hazards: all }: ReportedGap): Markup =>
  markup`<li><span class="key">${id}</span> ${when.join(' + ')} &rarr; ${all.map(
    (each, at) => markup`${at === 0 ? '' : ', '}<a href="#${each.id}">${each.id}</a>`,
  )}</li>\n`;

function rows({ chapters }: ProtectionReport): Part {
  const count = chapters.reduce((sum, chapter) => sum + chapter.rows.length, 0);
  return {
    id: 'rows',
    title: `Interlocks (${count})`,
    body: markup`${chapters.map(
      ({ title, rows: all }) => markup`<table class="fold">
<caption>${title} (${all.length})</caption>
<thead>
<tr><th scope="col" class="w2">Interlock</th><th scope="col" class="w4">Active while</th><th scope="col" class="w2">Does</th><th scope="col" class="w3">Latch and reset</th><th scope="col" class="w2">Needs</th><th scope="col" class="w5">A person</th></tr>
</thead>
<tbody>
${all.map(row)}</tbody>
</table>
`,
    )}`,
  };
}

function row({ key, words, does, latch, reset, bypass, hardware, steps }: ReportedRow): Markup {
  const where = bypassWords(bypass);
  const told = [
    ...steps.map(({ step, text }) => markup`<li><b>${STEP_WORDS[step]}</b> ${text}</li>\n`),
    ...(where === '' ? [] : [markup`<li>${where}</li>\n`]),
  ];
  // A long key may break where it is put together.
  const parts = key.split('/').map((part, at) => markup`${at === 0 ? '' : asMarkup('/<wbr>')}${part}`);
  return markup`<tr id="${anchor(key)}"><td class="key">${parts}</td><td data-label="Active while">${words}</td><td data-label="Does">${does}</td><td data-label="Latch and reset">${latch}; reset ${reset}</td><td data-label="Needs">${hardware}</td>${told.length === 0 ? markup`<td></td>` : markup`<td data-label="A person"><ol>${told}</ol></td>`}</tr>
`;
}

function proofTests({ proof: { schedule, tests, untried } }: ProtectionReport): Part {
  return {
    id: 'proof-tests',
    title: `Proof-test plan (${tests.length})`,
    body: markup`<p>${PROOF_WORDS} ${schedule}</p>
<table class="fold">
<caption>What to move, how often, and what must happen</caption>
<thead>
<tr><th scope="col" class="w2">Row</th><th scope="col" class="w4">Sensor</th><th scope="col" class="w6">What to do</th><th scope="col" class="w1">Every</th><th scope="col" class="w1">Within</th><th scope="col" class="w2">Done on, by</th></tr>
</thead>
<tbody>
${tests.map(
  ({
    row: key,
    sensorName,
    instruction,
    everyDays,
    seconds,
  }) => markup`<tr><td class="key"><a href="#${anchor(key)}">${key}</a></td><td data-label="Sensor">${sensorName}</td><td data-label="What to do">${instruction}</td><td data-label="Every">${everyDays} d</td><td data-label="Within">${seconds} s</td><td data-label="Done on, by">${BOX}</td></tr>
`,
)}</tbody>
</table>
<h3>Without a test by hand</h3>
<ul>
${untried.map(([ids, why]) => markup`<li>${ids}: ${why}</li>\n`)}</ul>
`,
  };
}

function causes({ causes: all, unplaced }: ProtectionReport): Part {
  return {
    id: 'common-causes',
    title: `Common causes (${all.length})`,
    body: markup`<p>${CAUSE_WORDS}</p>
${all.map(cause)}${paragraph(unplacedWords(unplaced))}`,
  };
}

function cause({ id, name, members, words, losses }: ReportedCause): Markup {
  const list = (left: 0 | 1, mark: Markup, title: string): Markup => {
    const lost = losses.filter((loss) => loss.left === left);
    if (lost.length === 0) return nothing;
    const names = lost.map(
      (each, at) => markup`${at === 0 ? '' : '; '}<a href="#${each.id}">${each.id}</a> ${each.title}`,
    );
    return markup`<p class="sets">${mark} <b>${title}</b> ${names}.</p>\n`;
  };
  return markup`<h3 id="${id}">${id} ${name}</h3>
<p>On it: ${members.join('; ')}. ${words}</p>
${list(0, SHARED, 'Every barrier lost:')}${list(1, FAILURE, 'One more failure is then enough:')}${losses.length === 0 ? paragraph('No hazard loses its last barriers by it.') : nothing}`;
}

function trees({ hazards: all }: ProtectionReport): Part {
  return {
    id: 'fault-trees',
    title: 'Fault trees',
    body: markup`<p>${TREE_WORDS}</p>
${LEGEND}<ul>
${EVENT_KINDS.map(([kind, words]) => markup`<li><i>${kind}</i>: ${words}</li>\n`)}</ul>
${all.map(
  (each) => markup`<div class="hazard">
<h3 id="${each.id}-tree">${each.id} ${each.title}</h3>
${each.tree === null ? nothing : treePart(each.tree)}${cutsPart(each)}</div>
`,
)}`,
  };
}

function hardWired({ askedFor, besides }: ProtectionReport): Part {
  return {
    id: 'hard-wired',
    title: 'The hard-wired layer that is asked for',
    body: markup`<p>${HARD_WIRED_WORDS}</p>
<ul class="plain">
${askedFor.map(([what, words]) => markup`<li>${BOX}<b>${what}.</b> ${words}</li>\n`)}</ul>
${besides.map(paragraph)}`,
  };
}

function notClaimed({ notClaimed: all }: ProtectionReport): Part {
  return {
    id: 'not-claimed',
    title: 'What is not claimed',
    body: markup`<ul>
${all.map((sentence) => markup`<li>${sentence}</li>\n`)}</ul>
`,
  };
}
