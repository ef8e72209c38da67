// Quantities in the house units, as files and wires of this service write them.
import type { Units } from './print.ts';

const PIECES: Readonly<Record<string, number>> = { d: 86_400_000, h: 3_600_000, min: 60_000, s: 1_000 };

const fixed = (value: number, digits: string): string =>
  digits === '' ? String(value) : value.toFixed(Number(digits));

const inUnit =
  (unit: string) =>
  (value: number, digits: string): string =>
    `${fixed(value, digits)} ${unit}`;

export const HOUSE_UNITS: Units = {
  volume: inUnit('L'),
  flow: inUnit('L/min'),
  temperature: inUnit('degC'),
  difference: inUnit('K'),
  mass: (kg, digits) => (digits === 'weighed' ? weighed(kg) : `${fixed(kg, digits)} kg`),
  duration,
  share: (part, digits) => `${fixed(100 * part, digits)} %`,
  salinity: fixed,
  count: fixed,
};

/** Below a kilogram in grams: that is what a kitchen scale shows. */
const weighed = (kg: number): string => (kg < 1 ? `${Math.round(kg * 1000)} g` : `${kg.toFixed(2)} kg`);

/** `min1`: in minutes with one decimal; without a number at most one, and none that is zero. */
function duration(ms: number, digits: string): string {
  const [, unit = 's', decimals = ''] = /^([a-z]+)(\d?)$/u.exec(digits) ?? [];
  const value = ms / (PIECES[unit] ?? 1);
  return `${decimals === '' ? Number(value.toFixed(1)) : value.toFixed(Number(decimals))} ${unit}`;
}
