// Numbers with units: read them, convert them, and refuse them with a mend.
//
// House rules of the file:
// - A quantity without a unit is refused. "temperature: 77" has drowned people in two scales at once.
// - A unit decides nothing by itself: `1 K` as a temperature is -272.15 degC and as a tolerance is 1 K, so whoever
//   reads says which dimension is meant.
// - What is refused is refused with the units that would do, and the nearest right spelling.
import { distance } from 'fastest-levenshtein';
import { type Dimension, SPOKEN, UNITS, type UnitRow } from './table.ts';

export type { Dimension } from './table.ts';

/** A value with the unit it was given in and what it is about. */
export interface Quantity {
  readonly value: number;
  readonly unit: string;
  readonly dimension: Dimension;
}

/** A quantity that cannot be understood. The message is whole; the fields are for those who build their own. */
export class UnitError extends Error {
  /** What was found, as written. */
  readonly found: string;
  /** The units that would have been accepted. */
  readonly accepted: readonly string[];
  /** The nearest right spelling, where one is near. */
  readonly suggestion: string | undefined;

  constructor(message: string, found: string, accepted: readonly string[], suggestion?: string) {
    super(message);
    this.name = 'UnitError';
    this.found = found;
    this.accepted = accepted;
    this.suggestion = suggestion;
  }
}

export const DIMENSIONS = Object.keys(UNITS) as readonly Dimension[];

/** The unit in which the project computes a dimension: L, L/min, degC, K, kPa, mm, m2, kg, ms, W, kWh, mS/cm, ... */
export function houseUnit(dimension: Dimension): string {
  return UNITS[dimension][0].unit;
}

/** The units accepted for a dimension, the house unit first. Alternative spellings (`l`, `°C`) are not listed. */
export function acceptedUnits(dimension: Dimension): readonly string[] {
  return UNITS[dimension].map((row) => row.unit);
}

/** Every spelling accepted for a dimension, alternatives included: for a schema's pattern. */
export function acceptedSpellings(dimension: Dimension): readonly string[] {
  return UNITS[dimension].flatMap((row) => [row.unit, ...(row.also ?? [])]);
}

const NUMBER = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(?![\d.,])\s*(.*)$/su;

/**
 * Reads `240 L`, `12.5 degC`, `20 %`. Without a dimension the unit's own first meaning holds (`K` is a temperature,
 * `1` a number with no dimension but ratio); where that matters, say the dimension.
 * @throws UnitError when there is no number, no unit, an unknown unit, or a value that is not finite.
 */
export function parseQuantity(text: string, dimension?: Dimension): Quantity {
  const accepted = dimension === undefined ? [] : acceptedUnits(dimension);
  const match = NUMBER.exec(text.trim());
  if (match === null) throw notANumber(text, accepted);
  const [, digits = '', unit = ''] = match;
  if (unit === '' && dimension !== 'number') throw missingUnit(text, accepted);
  return quantity(Number(digits), unit === '' ? '1' : unit, dimension ?? dimensionOf(unit));
}

/**
 * A value and a unit that are already apart, as in JSON `{ "value": 240, "unit": "L" }`.
 * @throws UnitError when the unit is not one of the dimension's, the value is not finite, or a temperature lies below
 * absolute zero.
 */
export function quantity(value: number, unit: string, dimension: Dimension): Quantity {
  const row = findRow(unit, dimension);
  if (row === undefined) throw wrongUnit(unit, dimension);
  const house = toHouse(value, row);
  if (!Number.isFinite(value) || !Number.isFinite(house)) {
    throw new UnitError(`'${value} ${unit}' is not a finite number`, String(value), acceptedUnits(dimension));
  }
  if (dimension === 'temperature' && house < -273.15) {
    throw new UnitError(`'${value} ${unit}' is below absolute zero`, String(value), acceptedUnits(dimension));
  }
  return { value, unit: row.unit, dimension };
}

/**
 * The number of the quantity in another unit of its dimension.
 * @throws UnitError when the unit is not one of the dimension's.
 */
export function toUnit(from: Quantity, unit: string): number {
  const source = findRow(from.unit, from.dimension);
  const target = findRow(unit, from.dimension);
  if (source === undefined) throw wrongUnit(from.unit, from.dimension);
  if (target === undefined) throw wrongUnit(unit, from.dimension);
  // The same unit must give the same bits: 0.1 L/s is 0.1 L/s and not 0.1 * 60 / 60.
  if (source === target) return from.value;
  // In doubles 4.1 bar * 100 is 409.99999999999994 kPa. Fifteen digits are all a double can promise, and people compare
  // what a page prints with what they typed.
  return Number(fromHouse(toHouse(from.value, source), target).toPrecision(15));
}

/**
 * Reads a text straight into the house unit of the dimension: L, L/min, degC, K (differences), kPa, mm, kg, ms
 * (durations), W, mS/cm, 1 (practical salinity, also `35 PSU`), 1 (ratio, also `20 %`).
 * @throws UnitError naming what was found, the units accepted and the nearest right spelling.
 */
export function readQuantity(text: string, dimension: Dimension): number {
  return toUnit(parseQuantity(text, dimension), houseUnit(dimension));
}

/** A value in the house unit, written in any unit of the dimension: `writeQuantity(0.2, 'ratio', '%')` is `20 %`. */
export function writeQuantity(houseValue: number, dimension: Dimension, unit = houseUnit(dimension)): string {
  return `${toUnit(quantity(houseValue, houseUnit(dimension), dimension), unit)} ${unit}`;
}

function toHouse(value: number, { before = 0, times = 1, over = 1, after = 0 }: UnitRow): number {
  return ((value + before) * times) / over + after;
}

function fromHouse(house: number, { before = 0, times = 1, over = 1, after = 0 }: UnitRow): number {
  return ((house - after) * over) / times - before;
}

function findRow(unit: string, dimension: Dimension): UnitRow | undefined {
  return UNITS[dimension].find((row) => row.unit === unit || row.also?.includes(unit));
}

function dimensionOf(unit: string): Dimension {
  const found = DIMENSIONS.find((dimension) => findRow(unit, dimension) !== undefined);
  if (found !== undefined) return found;
  const all = [...new Set(DIMENSIONS.flatMap(acceptedUnits))];
  const suggestion = nearestSpelling(unit, all);
  throw new UnitError(`unknown unit '${unit}'${meant(suggestion)}`, unit, all, suggestion);
}

function notANumber(text: string, accepted: readonly string[]): UnitError {
  const mend = /^[+-]?\d+(?:[.,]\d+)*[.,]\d/u.test(text.trim())
    ? 'write the number with a point for decimals and nothing between thousands, as in 2400 or 5.5'
    : `write a number, a space and a unit${listed(accepted)}`;
  return new UnitError(`'${text}' does not start with a number: ${mend}`, text, accepted);
}

function missingUnit(text: string, accepted: readonly string[]): UnitError {
  const mend =
    accepted[0] === undefined
      ? ''
      : `: write it${listed(accepted)}, for example '${text.trim()} ${accepted[0]}'`;
  return new UnitError(`'${text}' has no unit${mend}`, text, accepted);
}

function wrongUnit(unit: string, dimension: Dimension): UnitError {
  const accepted = acceptedUnits(dimension);
  const suggestion = nearestSpelling(unit, accepted);
  const elsewhere = DIMENSIONS.find((other) => findRow(unit, other) !== undefined);
  const verdict =
    elsewhere === undefined ? `unknown unit '${unit}'` : `'${unit}' is a unit of ${words(elsewhere)}`;
  const message = `${verdict}: ${words(dimension)} is given${listed(accepted)}${meant(suggestion)}`;
  return new UnitError(message, unit, accepted, suggestion);
}

function words(dimension: Dimension): string {
  return dimension.replaceAll('-', ' ');
}

function listed(accepted: readonly string[]): string {
  return accepted.length === 0 ? '' : ` in ${accepted.join(', ')}`;
}

function meant(suggestion: string | undefined): string {
  return suggestion === undefined ? '' : ` (did you mean '${suggestion}'?)`;
}

/**
 * The candidate nearest to what was written, or nothing when none is near: at most so many strokes away and less than
 * the whole word, so that 'bananas' is not mended to 'bar'.
 */
export function nearestSpelling(
  written: string,
  candidates: readonly string[],
  mostStrokes = 2,
): string | undefined {
  const spoken = SPOKEN[written.toLowerCase()];
  if (spoken !== undefined && candidates.includes(spoken)) return spoken;
  let best: string | undefined;
  let strokes = mostStrokes + 1;
  for (const candidate of candidates) {
    const away = distance(written.toLowerCase(), candidate.toLowerCase());
    if (away < strokes && away < Math.max(written.length, candidate.length)) {
      best = candidate;
      strokes = away;
    }
  }
  return best;
}
