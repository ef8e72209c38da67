// The report as one page that needs nothing else: style and charts are in it, and there is no script.
import { svgOf } from './charts.ts';
import { asMarkup, type Markup, markup } from './markup.ts';
import { readOff } from './read-off.ts';
import {
  type Caution,
  type Chart,
  type Column,
  cellText,
  type Figure,
  type Report,
  type Section,
  type Table,
  valueText,
} from './report.ts';
import { STYLE } from './style.ts';
import { WEIGHT_WORDS } from './text.ts';

export function htmlOf(report: Report): string {
  const { name } = report.site;
  return pageOf(`${name}: sizing of a saltwater mixing station`, preparedWords(report), [
    ...(report.cautions.length === 0 ? [] : [warningsPart(report.cautions)]),
    contentsPart(report.sections),
    ...report.sections.map(sectionPart),
  ]);
}

const NO_APPROVAL =
  'This is a sizing report and no approval: not of the floor, not of the wiring, not of the connection to the drinking water. Local codes and licensed practice come first.';

/**
 * The frame that every page has.
 * @param own what a page has of its own: style after the common one, and its last words
 */
export function pageOf(
  title: string,
  prepared: string,
  parts: readonly Markup[],
  own: { readonly style?: string; readonly footer?: string } = {},
): string {
  const page = markup`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<style>${asMarkup(STYLE + (own.style ?? ''))}</style>
</head>
<body>
<header>
<h1>${title}</h1>
${prepared === '' ? '' : markup`<p class="prepared">${prepared}</p>`}
</header>
<main>
${parts}
</main>
<footer>
<p>${own.footer ?? NO_APPROVAL}</p>
</footer>
</body>
</html>
`;
  return page.markup;
}

export function preparedWords({ site }: Report): string {
  const parts = [
    site.for === null ? null : `for ${site.for}`,
    site.by === null ? null : `by ${site.by}`,
    site.on === null ? null : `on ${site.on}`,
  ].filter((part) => part !== null);
  return parts.length === 0 ? '' : `Prepared ${parts.join(' ')}`;
}

export function warningsPart(cautions: readonly Caution[], title = 'Warnings', id = 'warnings'): Markup {
  return markup`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title} (${cautions.length})</h2>
<ul class="cautions">
${cautions.map(
  ({ id: which, weight, words, mend }) => markup`<li class="${weight}">
<p class="tag">${WEIGHT_WORDS[weight]} <span>${which}</span></p>
<p>${words}</p>
<p class="mend">What to do: ${mend}</p>
</li>
`,
)}</ul>
</section>
`;
}

export function contentsPart(sections: readonly Pick<Section, 'id' | 'title'>[]): Markup {
  return markup`<nav aria-label="Contents">
<ol>
${sections.map(
  ({ id, title }) => markup`<li><a href="#${id}">${title}</a></li>
`,
)}</ol>
</nav>
`;
}

function sectionPart({ id, title, says, figures, charts, tables, sources }: Section): Markup {
  return markup`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title}</h2>
${says.map(
  (sentence) => markup`<p>${sentence}</p>
`,
)}${figures.length === 0 ? '' : figuresPart(figures)}${charts.map(chartPart)}${tables.map(tablePart)}${
  sources.length === 0
    ? ''
    : markup`<p class="sources">Sources: ${sources.join(' ')}</p>
`
}</section>
`;
}

function figuresPart(figures: readonly Figure[]): Markup {
  return markup`<dl>
${figures.map(
  (each) => markup`<dt>${each.label}</dt><dd>${valueText(each)}</dd>
`,
)}</dl>
`;
}

const SHORT_ROWS = 16;

export function tablePart(table: Table): Markup {
  const { title, columns, rows } = table;
  // A short table stays on one page; a long one could not.
  const keep = rows.length <= SHORT_ROWS ? 'wide short' : 'wide';
  return markup`<div class="${keep}">
<table>
<caption>${title}</caption>
<thead>
<tr>${columns.map(headCell)}</tr>
</thead>
<tbody>
${rows.map(
  (
    row,
  ) => markup`<tr>${columns.map((column, index) => bodyCell(cellText(row[index] ?? null, column), column))}</tr>
`,
)}</tbody>
</table>
</div>
`;
}

function headCell({ title, unit, digits }: Column): Markup {
  const under = unit === undefined || unit === '' ? '' : markup`<span class="unit">${unit}</span>`;
  return digits === undefined
    ? markup`<th scope="col">${title}${under}</th>`
    : markup`<th scope="col" class="n">${title}${under}</th>`;
}

function bodyCell(text: string, { digits }: Column): Markup {
  return digits === undefined ? markup`<td>${text}</td>` : markup`<td class="n">${text}</td>`;
}

export function chartPart(chart: Chart): Markup {
  return markup`<figure>
<figcaption>${chart.title}</figcaption>
${asMarkup(svgOf(chart))}
<details>
<summary>The same in numbers</summary>
<p>${chart.words}</p>
${tablePart(readOff(chart))}</details>
</figure>
`;
}
