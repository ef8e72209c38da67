// Ranges, and what happens outside them.
//
// Every formula of this room was fitted or derived for a stretch of its inputs. Outside it the number would still come
// out, and would still look like a number; so nothing is extrapolated and nothing returns NaN: an input out of range
// throws OutOfRange. That a pump is too low or a heater too weak is no error: it is an answer, and has its own type.

/** From `least` to `most`, both allowed. */
export interface Range {
  readonly least: number;
  readonly most: number;
  readonly unit: string;
}

/** An input outside the stretch in which its formula holds. */
export class OutOfRange extends RangeError {
  readonly quantity: string;
  readonly value: number;
  readonly range: Range;

  constructor(quantity: string, value: number, range: Range) {
    super(`${quantity} is ${withUnit(value, range.unit)}, outside ${writeRange(range)}`);
    this.name = 'OutOfRange';
    this.quantity = quantity;
    this.value = value;
    this.range = range;
  }
}

/** True when the value lies in the range. NaN lies in none. */
export function isWithin(value: number, range: Range): boolean {
  return value >= range.least && value <= range.most;
}

/**
 * Lets a value in range pass.
 * @throws OutOfRange when it is outside, or NaN.
 */
export function hold(quantity: string, value: number, range: Range): void {
  if (!isWithin(value, range)) throw new OutOfRange(quantity, value, range);
}

/** `2 to 42`, `0.001 to 1000000 L`. */
export function writeRange(range: Range): string {
  return `${range.least} to ${withUnit(range.most, range.unit)}`;
}

function withUnit(value: number, unit: string): string {
  return unit === '1' ? String(value) : `${value} ${unit}`;
}

// What several subjects share. The ends of sizes are not physics: they are where a typing slip (metres for millimetres)
// is likelier than a real station, and where a divisor is so near nothing that the quotient means nothing.
export const VOLUME: Range = { least: 0.001, most: 1e6, unit: 'L' };
export const CONTENTS: Range = { least: 0, most: 1e6, unit: 'L' };
export const FLOW: Range = { least: 0, most: 1e5, unit: 'L/min' };
/** A flow that something is divided by. */
export const SOME_FLOW: Range = { ...FLOW, least: 1e-6 };
export const SHARE: Range = { least: 0, most: 1, unit: '1' };
/** Dissolved sea salts over dry product. Wet mixes of hydrates come near 0.8; below 0.1 it is no salt mix. */
export const YIELD: Range = { least: 0.1, most: 1, unit: 'kg/kg' };
export const MINUTES: Range = { least: 0, most: 1e7, unit: 'min' };
