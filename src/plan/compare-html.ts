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
${tablePart({ ...comparedTable(section), title: `${title}, figure by figure` })}${charts.map(
  ({ a, b }) => markup`<div class="pair">
${side(a, 'a')}${side(b, 'b')}</div>
`,
)}</section>
`;
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
