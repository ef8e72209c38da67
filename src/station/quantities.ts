// The quantities of a station file and of a site file. The schemas name a format beside each; this table says what
// dimension that is, so that the loader (which refuses) and the compiler (which converts) can never read one text in two
// ways.
import { type Range, writeRange } from '../engineering/range.ts';
import {
  acceptedSpellings,
  acceptedUnits,
  type Dimension,
  nearestSpelling,
  readQuantity,
  UnitError,
} from '../units/quantity.ts';

export type QuantityFormat =
  | 'volume'
  | 'flow'
  | 'duration-with-unit'
  | 'temperature'
  | 'temperature-difference'
  | 'salinity'
  | 'conductivity'
  | 'ratio'
  | 'mass'
  | 'mass-flow'
  | 'power'
  | 'pressure'
  | 'length'
  | 'height'
  | 'conductance'
  | 'concentration'
  | 'production'
  | 'membrane-constant'
  | 'energy';

interface FormatRow {
  /** Null: a mass over a duration, which is written as the two with a stroke between. */
  readonly dimension: Dimension | null;
  /** As it stands in a sentence. */
  readonly words: string;
  readonly example: string;
  /** May lie below zero. */
  readonly signed?: true;
}

export const FORMATS: Readonly<Record<QuantityFormat, FormatRow>> = {
  volume: { dimension: 'volume', words: 'a volume', example: '240 L' },
  flow: { dimension: 'flow', words: 'a flow', example: '12 L/min' },
  // `duration` alone is the ISO 8601 duration in JSON Schema, and nobody writes "PT20S" by hand.
  'duration-with-unit': { dimension: 'duration', words: 'a duration', example: '20 s' },
  temperature: { dimension: 'temperature', words: 'a temperature', example: '25 degC', signed: true },
  'temperature-difference': {
    dimension: 'temperature-difference',
    words: 'a temperature difference',
    example: '0.5 K',
  },
  salinity: { dimension: 'practical-salinity', words: 'a practical salinity', example: '35 PSU' },
  conductivity: { dimension: 'conductivity', words: 'a conductivity', example: '20 uS/cm' },
  ratio: { dimension: 'ratio', words: 'a ratio', example: '20 %' },
  mass: { dimension: 'mass', words: 'a mass', example: '8.6 kg' },
  'mass-flow': { dimension: null, words: 'a mass flow', example: '0.5 kg/min' },
  power: { dimension: 'power', words: 'a power', example: '600 W' },
  pressure: { dimension: 'pressure', words: 'a pressure', example: '4.1 bar' },
  length: { dimension: 'length', words: 'a length', example: '600 mm' },
  // Above a floor, or below it: a system in the cellar lies lower than its vats.
  height: { dimension: 'length', words: 'a height', example: '1.4 m', signed: true },
  conductance: { dimension: 'heat-loss', words: 'a heat loss', example: '8 W/K' },
  concentration: { dimension: 'mass-concentration', words: 'a concentration', example: '10 mg/L' },
  production: { dimension: 'production', words: 'a production', example: '0.4 mg/(L d)' },
  'membrane-constant': {
    dimension: 'absolute-temperature-constant',
    words: 'a membrane constant',
    example: '3020 K',
  },
  energy: { dimension: 'energy', words: 'an energy', example: '1 kWh' },
};

export function isQuantityFormat(format: string): format is QuantityFormat {
  return Object.hasOwn(FORMATS, format);
}

/** The units in which a quantity of this format may be written, the house unit first. */
export function unitsOf(format: QuantityFormat): readonly string[] {
  const { dimension } = FORMATS[format];
  if (dimension !== null) return acceptedUnits(dimension);
  return acceptedUnits('mass').flatMap((mass) => acceptedUnits('duration').map((time) => `${mass}/${time}`));
}

/** How such a quantity may be written, as a regular expression for the schema: editors know patterns, not our formats. */
export function patternOf(format: QuantityFormat): string {
  const { dimension, signed } = FORMATS[format];
  const spellings =
    dimension === null
      ? acceptedSpellings('mass').flatMap((mass) =>
          acceptedSpellings('duration').map((time) => `${mass}/${time}`),
        )
      : acceptedSpellings(dimension);
  const sign = signed ? '[+-]?' : '[+]?';
  const units = spellings.map((spelling) => spelling.replaceAll(/[()]/gu, String.raw`\$&`)).join('|');
  return `^\\s*${sign}(\\d+\\.?\\d*|\\.\\d+)([eE][+-]?\\d+)?(?![\\d.,])\\s*(${units})\\s*$`;
}

/**
 * Reads a quantity into the house unit of its format: L, L/min, ms, degC, K, practical salinity, mS/cm, 1, kg, kg/min,
 * W, kPa, mm, W/K, mg/L, mg/(L d), K, kWh.
 * @throws UnitError when there is no number, no unit or a wrong one, or when anything but a temperature or a height is
 * below zero: nothing else in such a file has a sense there.
 */
export function readStation(text: string, format: QuantityFormat): number {
  const { dimension, words, signed } = FORMATS[format];
  const value = dimension === null ? massFlow(text) : readQuantity(text, dimension);
  if (value < 0 && !signed) {
    throw new UnitError(`'${text}' is below zero, which ${words} can't be here`, text, unitsOf(format));
  }
  // The core counts whole milliseconds.
  return format === 'duration-with-unit' ? Math.round(value) : value;
}

const digits = (value: number): string => String(Number(value.toPrecision(4)));
const SPANS = [
  ['d', 86_400_000],
  ['h', 3_600_000],
  ['min', 60_000],
  ['s', 1_000],
] as const;

/** A value in the house unit of its format, as a person reads it. */
export function told(value: number, format: QuantityFormat): string {
  switch (format) {
    case 'duration-with-unit':
      return span(value);
    case 'ratio':
      return `${digits(100 * value)} %`;
    case 'salinity':
      return `${digits(value)} PSU`;
    default:
      return `${digits(value)} ${unitsOf(format)[0]}`;
  }
}

/** In the largest unit that says it without a fraction; what has one in every unit is said in hours, or in seconds. */
function span(ms: number): string {
  const whole = SPANS.find(([, spanMs]) => ms >= spanMs && ms % spanMs === 0);
  const [unit, spanMs] = (ms % 60_000 === 0 ? whole : undefined) ?? (ms >= 3_600_000 ? SPANS[1] : SPANS[3]);
  return `${digits(ms / spanMs)} ${unit}`;
}

/** `1 d to 366 d`, `at most 366 d`, `100 to 10000 mm`. Durations are kept in milliseconds, and nobody writes a week so. */
export function toldRange(range: Range): string {
  if (range.unit !== 'ms') return writeRange(range);
  return range.least === 0 ? `at most ${span(range.most)}` : `${span(range.least)} to ${span(range.most)}`;
}

function massFlow(text: string): number {
  const match = /^(.*\S)\s*\/\s*([a-z]+)\s*$/u.exec(text);
  const [, mass = '', time = ''] = match ?? [];
  if (match === null || !acceptedUnits('duration').includes(time)) {
    const units = unitsOf('mass-flow');
    const written = text.replace(/^[\s\d.,+-]+/u, '');
    throw new UnitError(
      `'${text}' is no mass over a time, for example '0.5 kg/min'`,
      text,
      units,
      nearestSpelling(written, units),
    );
  }
  return (readQuantity(mass, 'mass') * 60_000) / readQuantity(`1 ${time}`, 'duration');
}
