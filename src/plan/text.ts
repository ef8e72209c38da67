// The report for a terminal: 100 columns, warnings first.
import {
  type Caution,
  type Column,
  cellText,
  type Report,
  type Section,
  type Table,
  valueText,
  type Weight,
} from './report.ts';

const WIDTH = 100;
const INDENT = '  ';

export const WEIGHT_WORDS: Readonly<Record<Weight, string>> = {
  danger: 'Danger',
  fails: 'Does not work',
  look: 'Consider',
};

export function textOf(report: Report): string {
  const { name, for: client, by, on } = report.site;
  const prepared = [
    client === null ? null : `for ${client}`,
    by === null ? null : `by ${by}`,
    on === null ? null : `on ${on}`,
  ].filter((part) => part !== null);
  const head = [
    `${name}: sizing of a saltwater mixing station`,
    ...(prepared.length === 0 ? [] : [`Prepared ${prepared.join(' ')}`]),
  ];
  return `${[...head, '', ...warnings(report.cautions), ...report.sections.flatMap(sectionText)].join('\n').trimEnd()}\n`;
}

export function warnings(cautions: readonly Caution[], title = 'Warnings'): string[] {
  if (cautions.length === 0) return [];
  return [
    ...heading(`${title} (${cautions.length})`),
    ...cautions.flatMap(({ id, weight, words, mend }) => [
      ...wrap(`${WEIGHT_WORDS[weight]} (${id}): ${words}`, INDENT),
      ...wrap(`What to do: ${mend}`, `${INDENT}    `),
      '',
    ]),
  ];
}

function sectionText({ title, says, figures, tables, sources }: Section): string[] {
  const widest = Math.max(0, ...figures.map(({ label }) => label.length));
  return [
    ...heading(title),
    ...says.flatMap((sentence) => wrap(sentence, INDENT)),
    ...(figures.length === 0 ? [] : ['']),
    ...figures.flatMap((each) => figureLine(each.label, valueText(each), widest)),
    ...tables.flatMap((table) => ['', ...tableText(table)]),
    ...(sources.length === 0 ? [] : ['', ...wrap(`Sources: ${sources.join(' ')}`, INDENT)]),
    '',
  ];
}

function figureLine(label: string, value: string, widest: number): string[] {
  const line = `${INDENT}${label.padEnd(widest)}  ${value}`;
  return line.length <= WIDTH ? [line] : [`${INDENT}${label}`, ...wrap(value, `${INDENT}    `)];
}

export function heading(title: string): string[] {
  return [title, '-'.repeat(title.length)];
}

/** Numbers to the right, words to the left; titles and words are wrapped where the table would grow too wide. */
export function tableText({ title, columns, rows }: Table): string[] {
  const isWords = columns.map(({ digits }) => digits === undefined);
  const texts = rows.map((row) => columns.map((column, index) => cellText(row[index] ?? null, column)));
  const widths = widthsOf(columns, texts, isWords);
  const lines = (cells: readonly string[]): string[] => {
    const wrapped = cells.map((cell, index) => wrap(cell, '', widths[index]));
    const height = Math.max(1, ...wrapped.map(({ length }) => length));
    return Array.from({ length: height }, (_, line) => {
      const parts = wrapped.map((cell, index) => {
        const part = cell[line] ?? '';
        const width = widths[index] ?? 0;
        return isWords[index] ? part.padEnd(width) : part.padStart(width);
      });
      return `${INDENT}${INDENT}${parts.join(GAP)}`.trimEnd();
    });
  };
  return [...wrap(title, INDENT), ...lines(columns.map(titleOf)), ...texts.flatMap(lines)];
}

const GAP = '  ';
const LEAST_WIDTH = 12;

function titleOf({ title, unit }: Column): string {
  return unit === undefined || unit === '' ? title : `${title} (${unit})`;
}

/** Numbers need their width and the longest word of their title; the widest words give way until the line fits. */
function widthsOf(
  columns: readonly Column[],
  texts: readonly (readonly string[])[],
  isWords: readonly boolean[],
): number[] {
  const longestWord = (text: string) => Math.max(0, ...text.split(' ').map(({ length }) => length));
  const widths = columns.map((column, index) => {
    const cells = Math.max(0, ...texts.map((row) => (row[index] ?? '').length));
    const title = titleOf(column);
    // A title of two words stands on two lines rather than make a column of numbers wide.
    return Math.max(cells, isWords[index] ? title.length : longestWord(title));
  });
  const most = WIDTH - 2 * INDENT.length - GAP.length * (columns.length - 1);
  for (let over = sum(widths) - most; over > 0; over = sum(widths) - most) {
    const widest = widths.reduce(
      (best, width, index) => (isWords[index] && width > (widths[best] ?? 0) ? index : best),
      isWords.indexOf(true),
    );
    const width = widths[widest];
    if (width === undefined || width <= LEAST_WIDTH) break;
    widths[widest] = width - 1;
  }
  return widths;
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, each) => total + each, 0);
}

/** Words of a text on lines of at most `width` columns, each behind `indent`. */
export function wrap(text: string, indent: string, width = WIDTH): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/u).filter((part) => part !== '')) {
    if (line !== '' && indent.length + line.length + 1 + word.length > width) {
      lines.push(indent + line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return line === '' ? lines : [...lines, indent + line];
}
