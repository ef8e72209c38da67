// From words to a number: finds the quantity, reads its inputs, refuses what does not fit, computes.
import { CurveError } from '../engineering/pump.ts';
import { isWithin, OutOfRange, writeRange } from '../engineering/range.ts';
import { TableError } from '../engineering/vessels.ts';
import { Coded } from '../errors/coded.ts';
import { nearestSpelling, parseQuantity, quantity, toUnit, UnitError } from '../units/quantity.ts';
import { CATALOGUE } from './catalogue.ts';
import {
  type ChoiceInput,
  type Entry,
  type Input,
  isChoice,
  isTable,
  mustBeFinite,
  type QuantityInput,
  type TableInput,
} from './entry.ts';

/** What the calculator answers. No value means that there is none, and the note says why. */
export interface Answer {
  readonly value: number | null;
  readonly unit: string;
  readonly note?: string;
}

/** A request that cannot be computed; the message names the input, what was found and what would do. */
export class CalcError extends Coded {
  override readonly name = 'CalcError';
}

/**
 * Computes a quantity.
 * @param name as in `calc --list`
 * @param given inputs by name: `240 L`, `{ value: 240, unit: 'L' }`, or for tables a text or a list of rows
 * @param unit for the answer; the quantity's own when left out
 * @throws CalcError
 */
export function evaluate(name: string, given: Readonly<Record<string, unknown>>, unit?: string): Answer {
  const entry = findEntry(name);
  const values = readInputs(name, entry, given);
  const outcome = guarded('', () => entry.compute(values));
  const { value, note } = typeof outcome === 'number' ? { value: outcome, note: undefined } : outcome;
  if (value !== null) guarded('', () => mustBeFinite(name, value));
  const target = unit ?? entry.unit;
  // A wrong unit is refused even where there is no value to convert.
  const shown = guarded('result: ', () => toUnit(quantity(value ?? 0, entry.unit, entry.dimension), target));
  return { value: value === null ? null : shown, unit: target, ...(note === undefined ? {} : { note }) };
}

/** @throws CalcError when there is no such quantity */
export function findEntry(name: string): Entry {
  const entry = CATALOGUE.get(name);
  if (entry !== undefined) return entry;
  const near = nearestSpelling(name, [...CATALOGUE.keys()], Math.max(2, Math.floor(name.length / 3)));
  const hint = near === undefined ? withThatWord(name) : meant(near);
  throw new CalcError('E-111', `there is no quantity '${name}'${hint}; 'calc --list' names them all`);
}

/** Who types `salt` means one of those whose name or description speaks of it. */
function withThatWord(word: string): string {
  const spoken = word.toLowerCase();
  const found = [...CATALOGUE].filter(
    ([name, { about }]) => spoken.length > 2 && `${name} ${about}`.toLowerCase().includes(spoken),
  );
  return found.length === 0 ? '' : ` (did you mean ${found.map(([name]) => name).join(', ')}?)`;
}

type Read = number | string | undefined | readonly Readonly<Record<string, number>>[];

function readInputs(name: string, entry: Entry, given: Readonly<Record<string, unknown>>): never {
  const known = Object.keys(entry.inputs);
  for (const found of Object.keys(given)) {
    if (known.includes(found)) continue;
    const near = nearestSpelling(found, known, Math.max(2, Math.floor(found.length / 2)));
    throw new CalcError(
      'E-112',
      `${name} has no input '${found}'${meant(near)}; it takes ${known.join(', ')}`,
    );
  }
  const values: Record<string, Read> = {};
  for (const [inputName, input] of Object.entries(entry.inputs)) {
    values[inputName] = readInput(name, inputName, input, given[inputName]);
  }
  // The registry has forgotten which names belong to which entry; `entry()` made the compiler check them there.
  return values as never;
}

function readInput(name: string, inputName: string, input: Input, found: unknown): Read {
  if (isTable(input)) return readTable(name, inputName, input, found);
  if (isChoice(input)) return readChoice(name, inputName, input, found);
  if (found === undefined) {
    if (input.default !== undefined) return typeof input.default === 'number' ? input.default : undefined;
    throw new CalcError('E-112', `${name} needs ${inputName}, ${input.about}: in ${describeQuantity(input)}`);
  }
  const value = readNumber(inputName, input, found);
  if (input.range !== undefined && !isWithin(value, input.range)) {
    const range = writeRange(input.range);
    throw new CalcError('E-113', `${inputName} is ${written(found)}, outside ${range}`);
  }
  return value;
}

function readNumber(where: string, input: Pick<QuantityInput, 'dimension' | 'unit'>, found: unknown): number {
  return guarded(`${where}: `, () => {
    if (typeof found === 'string') return toUnit(parseQuantity(found, input.dimension), input.unit);
    if (typeof found === 'number') return toUnit(parseQuantity(String(found), input.dimension), input.unit);
    if (isRecord(found) && typeof found.value === 'number' && typeof found.unit === 'string') {
      return toUnit(quantity(found.value, found.unit, input.dimension), input.unit);
    }
    throw new CalcError(
      'E-113',
      `${JSON.stringify(found)} is no quantity; write '12 ${input.unit}' or {"value": 12, "unit": "${input.unit}"}`,
    );
  });
}

function readChoice(name: string, inputName: string, input: ChoiceInput, found: unknown): string {
  if (typeof found === 'string' && input.choices.includes(found)) return found;
  const choices = input.choices.map((choice) => `'${choice}'`).join(', ');
  if (found === undefined)
    throw new CalcError('E-112', `${name} needs ${inputName}, ${input.about}: ${choices}`);
  const near = nearestSpelling(String(found), input.choices, 4);
  throw new CalcError('E-113', `${inputName} is ${written(found)}${meant(near)}; it is one of ${choices}`);
}

function readTable(name: string, inputName: string, input: TableInput, found: unknown) {
  const columns = Object.entries(input.columns);
  if (found === undefined) {
    throw new CalcError(
      'E-112',
      `${name} needs ${inputName}, ${input.about}: written '${exampleRow(input)}, ...'`,
    );
  }
  const rows = typeof found === 'string' ? found.split(',').map((row) => row.split(':')) : found;
  if (!Array.isArray(rows)) {
    throw new CalcError(
      'E-113',
      `${inputName} is no table; write '${exampleRow(input)}, ...' or a list of rows`,
    );
  }
  return rows.map((row: unknown, index) => {
    const where = `${inputName}, row ${index + 1}`;
    // A table of one column may list its values bare.
    const bare = (column: string) => columns.length === 1 && !(isRecord(row) && column in row);
    const cells = Array.isArray(row)
      ? row
      : columns.map(([column]) => (isRecord(row) && !bare(column) ? row[column] : row));
    if (cells.length !== columns.length) {
      throw new CalcError(
        'E-113',
        `${where} has ${cells.length} of ${columns.length} values; write '${exampleRow(input)}'`,
      );
    }
    return Object.fromEntries(
      columns.map(([column, cell], at) => [column, readNumber(`${where}, ${column}`, cell, cells[at])]),
    );
  });
}

/** `0 L/min:0 m`: how a row is written. */
export function exampleRow(input: TableInput): string {
  return Object.values(input.columns)
    .map((column) => `0 ${column.unit}`)
    .join(':');
}

/** Unit and range of an input, for messages and lists. */
export function describeQuantity(input: QuantityInput): string {
  return input.range === undefined ? input.unit : `${input.unit}, ${writeRange(input.range)}`;
}

/** Errors of the rooms below are refusals here; anything else is a fault and goes on up. */
function guarded<T>(where: string, act: () => T): T {
  try {
    return act();
  } catch (error) {
    if (error instanceof CalcError) throw new CalcError(error.code, `${where}${error.message}`);
    const refusals = [UnitError, OutOfRange, CurveError, TableError];
    if (refusals.some((refusal) => error instanceof refusal)) {
      throw new CalcError('E-113', `${where}${(error as Error).message}`);
    }
    throw error;
  }
}

function isRecord(found: unknown): found is Record<string, unknown> {
  return typeof found === 'object' && found !== null && !Array.isArray(found);
}

function written(found: unknown): string {
  if (isRecord(found)) return `${found.value} ${found.unit === '1' ? '' : found.unit}`.trim();
  return String(found);
}

function meant(near: string | undefined): string {
  return near === undefined ? '' : ` (did you mean '${near}'?)`;
}
