// Two plans side by side: figure by figure, warning by warning.
import { heavierFirst } from './cautions.ts';
import type { Caution, Chart, Column, Figure, Report, Section, Table } from './report.ts';
import { valueText } from './report.ts';

export interface ComparedFigure {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly digits: number;
  /** Null where a plan has none. */
  readonly a: Figure | null;
  readonly b: Figure | null;
  /** b - a; null unless both have a number in one unit. */
  readonly difference: number | null;
}

export interface ComparedSection {
  readonly id: string;
  readonly title: string;
  readonly figures: readonly ComparedFigure[];
  /** Charts of the two, in pairs; null where one has none. */
  readonly charts: readonly { readonly a: Chart | null; readonly b: Chart | null }[];
}

export interface Comparison {
  readonly format: 1;
  readonly a: Report['site'];
  readonly b: Report['site'];
  readonly cautions: {
    readonly onlyA: readonly Caution[];
    readonly onlyB: readonly Caution[];
    /** In both; where their numbers differ the words are those of A, then those of B. */
    readonly both: readonly Caution[];
  };
  readonly sections: readonly ComparedSection[];
}

export function compare(a: Report, b: Report): Comparison {
  const ids = (report: Report) => new Set(report.cautions.map(({ id }) => id));
  const [inA, inB] = [ids(a), ids(b)];
  const bare = ({ id, weight, words, mend }: Caution): Caution => ({ id, weight, words, mend });
  return {
    format: 1,
    a: a.site,
    b: b.site,
    cautions: {
      onlyA: a.cautions.filter(({ id }) => !inB.has(id)).map(bare),
      onlyB: b.cautions.filter(({ id }) => !inA.has(id)).map(bare),
      both: [...inA]
        .filter((id) => inB.has(id))
        .map((id) => together(bothWords(a, id), bothWords(b, id), a, id))
        .toSorted(heavierFirst),
    },
    sections: united(a.sections, b.sections, ({ id }) => id).map(([one, other]) =>
      comparedSection(one, other),
    ),
  };
}

/** A caution may hold several times: once for each substance, each vat. */
function bothWords({ cautions }: Report, id: string): string {
  return cautions
    .filter((caution) => caution.id === id)
    .map(({ words }) => words)
    .join(' ');
}

function together(inA: string, inB: string, { cautions }: Report, id: string): Caution {
  const some = cautions.find((caution) => caution.id === id) as Caution;
  const words = inA === inB ? inA : `A: ${inA} B: ${inB}`;
  return { id, weight: some.weight, words, mend: some.mend };
}

/** The members of two lists in pairs by a key: those of the first in their order, then what only the second has. */
function united<T>(
  first: readonly T[],
  second: readonly T[],
  keyOf: (member: T) => string,
): (readonly [T | null, T | null])[] {
  const find = (list: readonly T[], key: string) => list.find((member) => keyOf(member) === key) ?? null;
  const keys = [...new Set([...first, ...second].map(keyOf))];
  return keys.map((key) => [find(first, key), find(second, key)] as const);
}

function comparedSection(a: Section | null, b: Section | null): ComparedSection {
  const some = a ?? (b as Section);
  return {
    id: some.id,
    title: some.title,
    figures: united(a?.figures ?? [], b?.figures ?? [], ({ id }) => id).map(([one, other]) =>
      comparedFigure(one, other),
    ),
    charts: united(a?.charts ?? [], b?.charts ?? [], ({ id }) => id).map(([one, other]) => ({
      a: one,
      b: other,
    })),
  };
}

function comparedFigure(a: Figure | null, b: Figure | null): ComparedFigure {
  const some = a ?? (b as Figure);
  const numbers = a !== null && b !== null && a.value !== null && b.value !== null && a.unit === b.unit;
  return {
    id: some.id,
    // A label that names a month or an amount differs from plan to plan; then both stand there.
    label: a !== null && b !== null && a.label !== b.label ? `${a.label} / ${b.label}` : some.label,
    unit: some.unit,
    digits: some.digits,
    a,
    b,
    difference: numbers ? (b.value ?? 0) - (a.value ?? 0) : null,
  };
}

/** One section as a table, for text and page. */
export function comparedTable({ id, title, figures }: ComparedSection): Table {
  const columns: Column[] = [
    { title: 'What' },
    { title: 'A', digits: 0 },
    { title: 'B', digits: 0 },
    { title: 'B - A', digits: 0 },
  ];
  return {
    id: `${id}-compared`,
    title,
    columns,
    rows: figures.map(({ label, a, b, difference, digits, unit }) => [
      label,
      a === null ? null : valueText(a),
      b === null ? null : valueText(b),
      difference === null ? null : signed(difference, digits, unit),
    ]),
  };
}

function signed(difference: number, digits: number, unit: string): string {
  const text = difference.toFixed(digits);
  // Minus nothing is nothing.
  const number = Number(text) === 0 ? (0).toFixed(digits) : difference > 0 ? `+${text}` : text;
  return unit === '' ? number : `${number} ${unit}`;
}
