// Two plans side by side, as one page.
import { type ComparedSection, type Comparison, comparedTable } from './compare.ts';
import { chartPart, contentsPart, pageOf, tablePart, warningsPart } from './html.ts';
import { type Markup, markup } from './markup.ts';
import type { Chart } from './report.ts';

export function compareHtml(comparison: Comparison): string {
  const { a, b, cautions } = comparison;
  const sections = comparison.sections.filter(({ figures }) => figures.length > 0);
  const lists = [
    [cautions.onlyA, 'Warnings of A alone', 'warnings-a'],
    [cautions.onlyB, 'Warnings of B alone', 'warnings-b'],
    [cautions.both, 'Warnings of both', 'warnings-both'],
  ] as const;
  return pageOf('Two plans side by side', `A: ${a.name} (${a.id}). B: ${b.name} (${b.id}).`, [
    ...lists.flatMap(([list, title, id]) => (list.length === 0 ? [] : [warningsPart(list, title, id)])),
    contentsPart(sections),
    ...sections.map(sectionPart),
  ]);
}

function sectionPart(section: ComparedSection): Markup {
  const { id, title, charts } = section;
  return markup`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title}</h2>
${tablePart({ ...comparedTable(section), title: 'Figure by figure' })}${charts.map(
  ({ a, b }) => markup`<div class="pair">
${side(onOneScale(a, b), 'a')}${side(onOneScale(b, a), 'b')}</div>
`,
)}</section>
`;
}

/** Two charts to be compared have one scale, and it ends in a number that reads well. */
function onOneScale(chart: Chart | null, other: Chart | null): Chart | null {
  if (chart === null || other === null) return chart;
  const points = [chart, other].flatMap(({ series }) => series.flatMap((each) => each.points));
  const end = (which: 0 | 1) => roundUp(Math.max(...points.map((point) => point[which])));
  const x = chart.x.categories === undefined ? { ...chart.x, most: chart.x.most ?? end(0) } : chart.x;
  return { ...chart, x, y: { ...chart.y, most: end(1) } };
}

/** The next multiple of half a power of ten: 35.5 to 40, 0.138 to 0.15. */
function roundUp(value: number): number {
  if (!(value > 0)) return 0;
  const step = 10 ** Math.floor(Math.log10(value)) / 2;
  return Number((Math.ceil(value / step - 1e-9) * step).toPrecision(6));
}

/** Two charts of one id on one page: each gets a name of its own. */
function side(chart: Chart | null, which: 'a' | 'b'): Markup {
  if (chart === null)
    return markup`<p>${which.toUpperCase()}: no such chart.</p>
`;
  return chartPart({
    ...chart,
    id: `${which}-${chart.id}`,
    title: `${which.toUpperCase()}: ${chart.title}`,
  });
}
