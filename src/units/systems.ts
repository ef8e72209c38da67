// The units in which a trade on either side of the ocean speaks, and how fine it rounds. One row for each house unit that a
// report prints; what is not here (h, W, kWh, %, mg/L) is the same on both sides.
import { type Dimension, quantity, toUnit } from './quantity.ts';

export const SYSTEMS = ['metric', 'us'] as const;
export type System = (typeof SYSTEMS)[number];

interface Spoken {
  readonly dimension: Dimension;
  readonly unit: string;
  /** Digits for a value of this size; common practice, no source: whole gallons, pounds and degrees, tenths of an inch. */
  readonly digits: (value: number) => number;
}

const whole = (value: number): number => (Math.abs(value) < 10 ? 1 : 0);
const tenths = (value: number): number => (Math.abs(value) < 1 ? 2 : 1);

const US: Readonly<Record<string, Spoken>> = {
  L: { dimension: 'volume', unit: 'gal', digits: whole },
  m3: { dimension: 'volume', unit: 'gal', digits: whole },
  'L/min': { dimension: 'flow', unit: 'gal/min', digits: tenths },
  'L/h': { dimension: 'flow', unit: 'gal/h', digits: tenths },
  'L/d': { dimension: 'flow', unit: 'gal/d', digits: whole },
  degC: { dimension: 'temperature', unit: 'degF', digits: () => 0 },
  K: { dimension: 'temperature-difference', unit: 'degF', digits: tenths },
  mm: { dimension: 'length', unit: 'in', digits: tenths },
  cm: { dimension: 'length', unit: 'in', digits: tenths },
  m: { dimension: 'length', unit: 'ft', digits: tenths },
  m2: { dimension: 'area', unit: 'ft2', digits: whole },
  kg: { dimension: 'mass', unit: 'lb', digits: whole },
  kPa: { dimension: 'pressure', unit: 'psi', digits: tenths },
  bar: { dimension: 'pressure', unit: 'psi', digits: whole },
  'kN/m2': { dimension: 'pressure', unit: 'lbf/ft2', digits: () => 0 },
};

/** What a floor carries is said in pounds on a square foot, what a pipe holds in pounds on a square inch. */
const FLOOR_LOAD: Spoken = { dimension: 'pressure', unit: 'lbf/ft2', digits: () => 0 };

export interface Shown {
  readonly value: number;
  readonly unit: string;
  readonly digits: number;
}

/** A value in the unit of the trade; null where both sides say the same. @param isFloor pressures are loads of a floor */
export function spokenIn(system: System, value: number, unit: string, isFloor = false): Shown | null {
  const spoken = isFloor && unit === 'kPa' ? FLOOR_LOAD : US[unit];
  if (system === 'metric' || spoken === undefined) return null;
  // A constant of a formula in kelvin is no difference of temperatures that anybody feels.
  if (unit === 'K' && Math.abs(value) > 200) return null;
  const shown = toUnit(quantity(value, unit, spoken.dimension), spoken.unit);
  return { value: shown, unit: spoken.unit, digits: spoken.digits(shown) };
}

/** Every unit that is said otherwise, the longest first: `L/min` before `L`. */
export const SAID_OTHERWISE: readonly string[] = Object.keys(US).toSorted((a, b) => b.length - a.length);
