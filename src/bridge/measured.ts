// A salinity as a person measured it: with a conductivity meter, a refractometer or hydrometer, or already as salinity.
import type { Measurement } from '../control/guard/asks.ts';
import { MOST_MEASURED } from '../control/guard/limits.ts';
import {
  GRAMS_PER_SALINITY,
  practicalSalinity,
  practicalSalinityFromRelativeDensity,
} from '../engineering/seawater.ts';
import { type Dimension, readQuantity, UnitError } from '../units/quantity.ts';

/** What is written of a measurement: may it be missing, and the hint. */
export const MEASURED = {
  value: {
    isNeeded: true,
    hint: `Practical salinity ("35 PSU", up to ${MOST_MEASURED} where a vat was salted twice), salt by mass ("35.2 g/kg"), conductivity ("53 mS/cm") with sampleTemperature, or a relative density ("1.0264") with both temperatures.`,
  },
  sampleTemperature: {
    isNeeded: false,
    hint: 'Of the water when it was measured. Of a conductivity meter that compensates: the temperature it compensates to, usually "25 degC".',
  },
  referenceTemperature: {
    isNeeded: false,
    hint: 'Of the pure water that the scale compares with; it is printed on the instrument.',
  },
} as const satisfies Readonly<Record<keyof Measurement, object>>;

export type Measured = Measurement & { readonly instrument: string };

/** A field of a request that can't be used; the message says how to mend it. */
export class FieldError extends Error {
  override readonly name = 'FieldError';
  readonly field: string;

  constructor(field: string, message: string) {
    super(message);
    this.field = field;
  }
}

/**
 * Practical salinity; beyond 42, where no scale reaches, salt by mass stands for it.
 * @throws FieldError for a value without a sense, or with a temperature missing that the value means nothing without.
 */
export function salinityOf(measurement: Measured): number {
  const { value, instrument } = measurement;
  if (instrument === 'relative-density' || /^\s*1\.0\d*\s*$/u.test(value))
    return fromRelativeDensity(measurement);
  if (isA(value, 'conductivity')) {
    const sampleC = temperatureOf(
      measurement,
      'sampleTemperature',
      'a conductivity means nothing without it',
    );
    return within('value', () => practicalSalinity(readQuantity(value, 'conductivity'), sampleC));
  }
  const salinity = within('value', () =>
    isA(value, 'mass-salinity')
      ? readQuantity(value, 'mass-salinity') / GRAMS_PER_SALINITY
      : readQuantity(value, 'practical-salinity'),
  );
  if (salinity < 0 || salinity > MOST_MEASURED)
    throw new FieldError('value', `${value} is not from 0 to ${MOST_MEASURED} PSU`);
  return salinity;
}

/** "1.0264" is anything from 34.4 to 39 PSU, by the pair of temperatures: nobody may guess it. */
function fromRelativeDensity(measurement: Measured): number {
  const why = 'a relative density means nothing without both temperatures';
  const sampleC = temperatureOf(measurement, 'sampleTemperature', why);
  const referenceC = temperatureOf(measurement, 'referenceTemperature', why);
  return within('value', () => {
    const relative = readQuantity(measurement.value, 'number');
    return practicalSalinityFromRelativeDensity(relative, sampleC, referenceC);
  });
}

function temperatureOf(
  measurement: Measured,
  field: 'sampleTemperature' | 'referenceTemperature',
  why: string,
): number {
  const text = measurement[field];
  if (text === undefined) throw new FieldError(field, `is missing, and ${why}: for example "25 degC"`);
  return within(field, () => readQuantity(text, 'temperature'));
}

function isA(text: string, dimension: Dimension): boolean {
  try {
    readQuantity(text, dimension);
    return true;
  } catch {
    return false;
  }
}

/** Units and ranges that do not fit are the person's slip and get their field; anything else is ours and goes on. */
export function within<T>(field: string, read: () => T): T {
  try {
    return read();
  } catch (error) {
    if (error instanceof UnitError || error instanceof RangeError) throw new FieldError(field, error.message);
    throw error;
  }
}
