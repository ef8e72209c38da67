// Numbers as this person reads them. Conversions are the house's own (units, engineering); here is only which one, and
// with how many decimals.
import { practicalSalinityFromRelativeDensity, relativeDensity } from '../../engineering/seawater.ts';
import type { Units } from '../../language/print.ts';
import { type Dimension, houseUnit, quantity, toUnit } from '../../units/quantity.ts';
import type { Meaning } from '../contract.ts';
import { preferences } from './state/preferences.ts';

/** Specific gravity is meaningless without its pair of temperatures; the page always means this one. */
export const GRAVITY_PAIR_C = 25;

const SYMBOLS: Readonly<Record<string, string>> = {
  degC: '\u00b0C',
  degF: '\u00b0F',
  'gal/min': 'gal/min',
  PSU: 'PSU',
  SG: 'SG',
};
const symbolOf = (unit: string): string => SYMBOLS[unit] ?? unit;
const SPACE = '\u00a0';

export function number(value: number, digits: number): string {
  const { language } = preferences.value;
  return new Intl.NumberFormat(language, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
    useGrouping: Math.abs(value) >= 10_000,
  }).format(Object.is(Number(value.toFixed(digits)), -0) ? 0 : value);
}

const converted = (value: number, house: string, dimension: Dimension, unit: string): number =>
  toUnit(quantity(value, house, dimension), unit);

export const unitOf = {
  volume: (): string => preferences.value.volume,
  flow: (): string => (preferences.value.volume === 'gal' ? 'gal/min' : 'L/min'),
  temperature: (): string => preferences.value.temperature,
  mass: (): string => preferences.value.mass,
  salinity: (): string => preferences.value.salinity,
};

/** A house number in the person's unit, still a number: for charts and fields. */
export const inUnit = {
  volume: (litres: number): number => converted(litres, 'L', 'volume', unitOf.volume()),
  flow: (lpm: number): number => converted(lpm, 'L/min', 'flow', unitOf.flow()),
  temperature: (celsius: number): number => converted(celsius, 'degC', 'temperature', unitOf.temperature()),
  mass: (kg: number): number => converted(kg, 'kg', 'mass', unitOf.mass()),
  salinity: (salinity: number): number =>
    preferences.value.salinity === 'SG' ? gravityOf(salinity) : salinity,
};

/** And back, from what a person typed. */
export const fromUnit = {
  volume: (value: number): number => converted(value, unitOf.volume(), 'volume', 'L'),
  temperature: (value: number): number => converted(value, unitOf.temperature(), 'temperature', 'degC'),
  mass: (value: number): number => converted(value, unitOf.mass(), 'mass', 'kg'),
  salinity: (value: number): number =>
    preferences.value.salinity === 'SG'
      ? practicalSalinityFromRelativeDensity(value, GRAVITY_PAIR_C, GRAVITY_PAIR_C)
      : value,
};

function gravityOf(salinity: number): number {
  // The formula ends at 42; a probe in brine may show more, and then the number it showed is what helps.
  return relativeDensity(Math.min(Math.max(salinity, 0), 42), GRAVITY_PAIR_C, GRAVITY_PAIR_C);
}

/** How many decimals a value in the person's unit deserves. */
export const DIGITS = {
  volume: (litres: number): number => (Math.abs(inUnit.volume(litres)) < 10 ? 1 : 0),
  salinity: (): number => (preferences.value.salinity === 'SG' ? 4 : 1),
};

export function volume(litres: number, digits = DIGITS.volume(litres)): string {
  return `${number(inUnit.volume(litres), digits)}${SPACE}${symbolOf(unitOf.volume())}`;
}

/** What is certain and what is possible; one number where they are as good as the same. */
export function between(leastL: number, mostL: number): string {
  const digits = Math.max(DIGITS.volume(mostL), DIGITS.volume(leastL));
  const [least, most] = [number(inUnit.volume(leastL), digits), number(inUnit.volume(mostL), digits)];
  const unit = `${SPACE}${symbolOf(unitOf.volume())}`;
  return least === most ? `${most}${unit}` : `${least}\u2013${most}${unit}`;
}

export function flow(lpm: number): string {
  const value = inUnit.flow(lpm);
  return `${number(value, Math.abs(value) < 1 ? 2 : 1)}${SPACE}${symbolOf(unitOf.flow())}`;
}

export function temperature(celsius: number, digits = 1): string {
  return `${number(inUnit.temperature(celsius), digits)}${SPACE}${symbolOf(unitOf.temperature())}`;
}

export function difference(kelvin: number): string {
  const unit = unitOf.temperature();
  const value = toUnit(quantity(kelvin, 'K', 'temperature-difference'), unit);
  return `${number(value, 1)}${SPACE}${symbolOf(unit)}`;
}

export function salinity(value: number): string {
  return `${number(inUnit.salinity(value), DIGITS.salinity())}${SPACE}${symbolOf(unitOf.salinity())}`;
}

export function mass(kg: number, digits = 2): string {
  const unit = unitOf.mass();
  if (unit === 'kg' && kg < 1) return `${number(kg * 1000, 0)}${SPACE}g`;
  return `${number(inUnit.mass(kg), digits)}${SPACE}${unit}`;
}

export function share(part: number, digits = 0): string {
  return `${number(100 * part, digits)}${SPACE}%`;
}

export function conductivity(mSPerCm: number): string {
  // Purified water is spoken of in millionths.
  return mSPerCm < 1
    ? `${number(mSPerCm * 1000, 0)}${SPACE}\u00b5S/cm`
    : `${number(mSPerCm, 1)}${SPACE}mS/cm`;
}

const PIECES = [
  ['d', 86_400_000],
  ['h', 3_600_000],
  ['min', 60_000],
  ['s', 1_000],
] as const;

/** `1 h 20 min`: at most two units, never more exact than a person can use. */
export function duration(ms: number): string {
  const whole = Math.max(0, Math.round(ms / 1000) * 1000);
  const at = PIECES.findIndex(([, size]) => whole >= size);
  const first = PIECES[at];
  if (first === undefined) return `0${SPACE}s`;
  const [unit, size] = first;
  const count = Math.floor(whole / size);
  const next = PIECES[at + 1];
  const rest = next === undefined ? 0 : Math.floor((whole - count * size) / next[1]);
  const tail = next === undefined || rest === 0 ? '' : ` ${rest}${SPACE}${next[0]}`;
  return `${count}${SPACE}${unit}${tail}`;
}

export function meant(value: number, as: Meaning): string {
  switch (as) {
    case 'volume':
      return volume(value, 1);
    case 'flow':
      return flow(value);
    case 'temperature':
      return temperature(value);
    case 'salinity':
      return salinity(value);
    case 'conductivity':
      return conductivity(value);
    case 'duration':
      return duration(value);
    case 'share':
      return share(value);
    case 'number':
      return number(value, Number.isInteger(value) ? 0 : 1);
    default:
      return `${number(value, 1)}${SPACE}${houseUnit(as)}`;
  }
}

const exact = (digits: string): number | undefined => (/^\d$/u.test(digits) ? Number(digits) : undefined);

/** The quantities of what the service says. */
export const UNITS: Units = {
  volume: (litres, digits) => volume(litres, exact(digits)),
  flow,
  temperature: (celsius, digits) => temperature(celsius, exact(digits)),
  difference,
  mass: (kg, digits) => mass(kg, exact(digits)),
  duration,
  share: (part, digits) => share(part, exact(digits)),
  salinity,
  count: (value, digits) => number(value, exact(digits) ?? (Number.isInteger(value) ? 0 : 1)),
};
