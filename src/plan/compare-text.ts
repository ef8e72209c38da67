// Two plans side by side, for a terminal.
import { type Comparison, comparedTable } from './compare.ts';
import { heading, tableText, warnings } from './text.ts';

export function compareText(comparison: Comparison): string {
  const { a, b, cautions, sections } = comparison;
  const lines = [
    `Two plans: A ${a.name} (${a.id}), B ${b.name} (${b.id})`,
    '',
    ...warnings(cautions.onlyA, 'Warnings of A alone'),
    ...warnings(cautions.onlyB, 'Warnings of B alone'),
    ...warnings(cautions.both, 'Warnings of both'),
    ...sections
      .filter(({ figures }) => figures.length > 0)
      .flatMap((section) => {
        const table = comparedTable(section);
        const [, ...body] = tableText({ ...table, title: section.title });
        return [...heading(section.title), ...body, ''];
      }),
  ];
  return `${lines.join('\n').trimEnd()}\n`;
}
