// What a section says, before it is text, JSON or a page: plain data, every number with its unit and its digits.

/** How much a caution weighs. `danger` can hurt somebody or the building; `fails`: it does not work so; `look`: think. */
export type Weight = 'danger' | 'fails' | 'look';

export interface Caution {
  /** `P-03`. */
  readonly id: string;
  readonly weight: Weight;
  /** What is wrong. */
  readonly words: string;
  /** What to do about it. */
  readonly mend: string;
}

/** One number and what it is. */
export interface Figure {
  /** Unique in its section; the same in every report, so that two can be compared. */
  readonly id: string;
  readonly label: string;
  /** Null: there is none, and `words` says why. */
  readonly value: number | null;
  readonly unit: string;
  readonly digits: number;
  readonly words?: string;
}

export type Cell = string | number | null;

export interface Column {
  readonly title: string;
  readonly unit?: string;
  /** Of its numbers; absent: its cells are words. */
  readonly digits?: number;
}

export interface Table {
  readonly id: string;
  readonly title: string;
  readonly columns: readonly Column[];
  readonly rows: readonly (readonly Cell[])[];
}

export interface Axis {
  readonly name: string;
  readonly unit: string;
  /** Bars: the names of the categories. */
  readonly categories?: readonly string[];
  readonly least?: number;
  readonly most?: number;
}

export interface Series {
  readonly name: string;
  /** Told apart by stroke and grey, never by colour. */
  readonly stroke: 'solid' | 'dashed' | 'dotted' | 'points' | 'bars' | 'hollow bars';
  readonly points: readonly (readonly [x: number, y: number])[];
}

export interface Chart {
  readonly id: string;
  readonly title: string;
  /** What somebody who can't see it should know: its text alternative. */
  readonly words: string;
  readonly x: Axis;
  readonly y: Axis;
  readonly series: readonly Series[];
}

export interface Section {
  readonly id: string;
  readonly title: string;
  /** The answer, in sentences. */
  readonly says: readonly string[];
  readonly figures: readonly Figure[];
  readonly tables: readonly Table[];
  readonly charts: readonly Chart[];
  readonly cautions: readonly Caution[];
  /** Where its formulas and rules of thumb come from. */
  readonly sources: readonly string[];
}

export interface Report {
  readonly format: 1;
  readonly site: {
    readonly id: string;
    readonly name: string;
    readonly for: string | null;
    readonly by: string | null;
    readonly on: string | null;
  };
  /** Every caution of every section, the heaviest first. */
  readonly cautions: readonly (Caution & { readonly section: string })[];
  readonly sections: readonly Section[];
}

/** A section with what it does not need left out. */
export function section(parts: Pick<Section, 'id' | 'title' | 'says'> & Partial<Section>): Section {
  return { figures: [], tables: [], charts: [], cautions: [], sources: [], ...parts };
}

export function figure(
  id: string,
  label: string,
  value: number | null,
  unit: string,
  digits = 0,
  words?: string,
): Figure {
  return { id, label, value, unit, digits, ...(words === undefined ? {} : { words }) };
}

/** `24.1 h`, `1 batch`, or the words that stand for no number. */
export function valueText({ value, unit, digits, words }: Figure): string {
  if (value === null) return words ?? 'none';
  const number = value.toFixed(digits);
  return unit === '' ? number : `${number} ${unit}`;
}

export function cellText(cell: Cell, { digits }: Column): string {
  if (cell === null) return '-';
  return typeof cell === 'string' ? cell : cell.toFixed(digits ?? 0);
}

/** `2 d 4 h`, `3.5 h`, `40 min`: as people say a time. */
export function timeText(hours: number): string {
  if (hours < 1) return `${Math.round(hours * 60)} min`;
  if (hours < 36) return `${Number(hours.toFixed(1))} h`;
  const whole = Math.round(hours);
  const rest = whole % 24;
  return `${Math.floor(whole / 24)} d${rest === 0 ? '' : ` ${rest} h`}`;
}
