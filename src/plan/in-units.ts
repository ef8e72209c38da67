// A report in the units of its reader: figures, tables, charts, and the quantities in its sentences.
import { SAID_OTHERWISE, type System, spokenIn } from '../units/systems.ts';
import type { Axis, Cell, Chart, Column, Figure, Report, Section, Table } from './report.ts';

interface Speech {
  readonly system: System;
  readonly isFloor: boolean;
  /** What the site calls its things stays as it is: a "Tank 300 L" is no tank of 79 gal. */
  readonly names: readonly string[];
}

/** @param names of the site's own things, never rewritten */
export function inUnits(report: Report, system: System, names: readonly string[] = []): Report {
  if (system === 'metric') return report;
  const speechOf = (section: string): Speech => ({ system, isFloor: section === 'floor', names });
  return {
    ...report,
    cautions: report.cautions.map((caution) => ({
      ...caution,
      words: sentence(caution.words, speechOf(caution.section)),
      mend: sentence(caution.mend, speechOf(caution.section)),
    })),
    sections: report.sections.map((section) => sectionIn(section, speechOf(section.id))),
  };
}

function sectionIn(section: Section, speech: Speech): Section {
  const say = (text: string) => sentence(text, speech);
  return {
    ...section,
    title: say(section.title),
    says: section.says.map(say),
    figures: section.figures.map((figure) => figureIn(figure, speech)),
    tables: section.tables.map((table) => tableIn(table, speech)),
    charts: section.charts.map((chart) => chartIn(chart, speech)),
    cautions: section.cautions.map((caution) => ({
      ...caution,
      words: say(caution.words),
      mend: say(caution.mend),
    })),
  };
}

function figureIn(figure: Figure, speech: Speech): Figure {
  const { label, value, unit, words } = figure;
  const shown = spokenIn(speech.system, value ?? 0, unit, speech.isFloor);
  return {
    ...figure,
    label: sentence(label, speech),
    ...(words === undefined ? {} : { words: sentence(words, speech) }),
    ...(shown === null ? {} : { ...shown, value: value === null ? null : shown.value }),
  };
}

function tableIn(table: Table, speech: Speech): Table {
  const numbers = (index: number) =>
    table.rows.flatMap((row) => (typeof row[index] === 'number' ? [row[index] as number] : []));
  const columns = table.columns.map((column, index) => columnIn(column, numbers(index), speech));
  return {
    ...table,
    title: sentence(table.title, speech),
    columns,
    rows: table.rows.map((row) => row.map((cell, index) => cellIn(cell, table.columns[index], speech))),
  };
}

/** As fine as its smallest number needs. */
function columnIn(column: Column, numbers: readonly number[], { system, isFloor }: Speech): Column {
  if (column.unit === undefined) return column;
  const shown = numbers.map((value) => spokenIn(system, value, column.unit ?? '', isFloor));
  const [first = spokenIn(system, 0, column.unit, isFloor)] = shown;
  if (first === null) return column;
  const most = Math.max(0, ...shown.map((each) => Math.abs(each?.value ?? 0)));
  const least = shown.find((each) => Math.abs(each?.value ?? 0) === most)?.digits ?? first.digits;
  return { ...column, unit: first.unit, ...(column.digits === undefined ? {} : { digits: least }) };
}

function cellIn(cell: Cell, column: Column | undefined, speech: Speech): Cell {
  if (typeof cell === 'string') return sentence(cell, speech);
  if (cell === null || column?.unit === undefined) return cell;
  return spokenIn(speech.system, cell, column.unit, speech.isFloor)?.value ?? cell;
}

function chartIn(chart: Chart, speech: Speech): Chart {
  const at = (axis: Axis, value: number) =>
    spokenIn(speech.system, value, axis.unit, speech.isFloor)?.value ?? value;
  const axisIn = (axis: Axis): Axis => ({
    ...axis,
    unit: spokenIn(speech.system, 0, axis.unit, speech.isFloor)?.unit ?? axis.unit,
    ...(axis.least === undefined ? {} : { least: at(axis, axis.least) }),
    ...(axis.most === undefined ? {} : { most: at(axis, axis.most) }),
  });
  return {
    ...chart,
    title: sentence(chart.title, speech),
    words: sentence(chart.words, speech),
    x: axisIn(chart.x),
    y: axisIn(chart.y),
    series: chart.series.map((series) => ({
      ...series,
      name: sentence(series.name, speech),
      points: series.points.map(([x, y]) => [at(chart.x, x), at(chart.y, y)] as const),
    })),
  };
}

const escaped = (text: string): string => text.replaceAll(/[.*+?^${}()|[\]\\]/gu, String.raw`\$&`);
/** `700 mm`, `1000 x 600 x 620 mm`, `16 / 25 / 34 mm`, `8 to 12 L`; not the litre of `mg/L`, nor the kilogram of `kg/kg`. */
const QUANTITY = String.raw`(?<![\w.,-])-?\d+(?:\.\d+)?(?:(?: x | / | to | and |, )-?\d+(?:\.\d+)?)* (?:${SAID_OTHERWISE.map(escaped).join('|')})(?![\w/])`;

/** The quantities of a sentence. */
export function sentence(text: string, { system, isFloor, names }: Speech): string {
  const kept = names.filter((name) => /\d/u.test(name)).map(escaped);
  return text.replaceAll(new RegExp([...kept, QUANTITY].join('|'), 'gu'), (found) => {
    if (names.includes(found)) return found;
    const split = found.lastIndexOf(' ');
    const unit = found.slice(split + 1);
    let said = unit;
    const numbers = found.slice(0, split).replaceAll(/-?\d+(?:\.\d+)?/gu, (digits) => {
      const shown = spokenIn(system, Number(digits), unit, isFloor);
      if (shown === null) return digits;
      said = shown.unit;
      return String(Number(shown.value.toFixed(shown.digits)));
    });
    return `${numbers} ${said}`;
  });
}
