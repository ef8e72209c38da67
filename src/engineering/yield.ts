// What the salt on hand really yields, learned from finished batches.
//
// A label does not say how much water is in a mix, an opened bag draws more, and a vat's litres are only as good as its
// marks. All of that is one number, and every finished batch measures it once.
import { hold, type Range, VOLUME } from './range.ts';
import { SALT } from './salting.ts';
import { referenceSalinityGPerKg, seawaterDensity } from './seawater.ts';

export const SALT_ADDED: Range = { ...SALT, least: 1e-6 };
/** A batch may well measure a little over 1: marks and probes err. Beyond this a number was mistyped. */
export const MEASURED_YIELD: Range = { least: 0, most: 2, unit: 'kg/kg' };

/**
 * What one finished batch says of the yield: f = (m1 (S2 - S1) + x S2) / (1000 x), the mass balance of saltMassKg solved
 * for the yield.
 * @param volumeL before salting
 * @param present practical salinity before, 0 to 42
 * @param reached practical salinity after dissolving, 0 to 42
 * @param saltKg dry product put in, 0.000001 to 100000 kg
 * @param temperatureC -2 to 40 degC
 * @returns kg/kg; outside 0 to 1 when a measurement was wrong
 * @throws OutOfRange
 */
export function batchYield(
  volumeL: number,
  present: number,
  reached: number,
  saltKg: number,
  temperatureC: number,
): number {
  hold('volume', volumeL, VOLUME);
  hold('salt mass', saltKg, SALT_ADDED);
  const from = referenceSalinityGPerKg(present);
  const to = referenceSalinityGPerKg(reached);
  const waterKg = (volumeL * seawaterDensity(present, temperatureC)) / 1000;
  return (waterKg * (to - from) + saltKg * to) / (1000 * saltKg);
}

/** A yield with how sure it is, or why there is none yet. */
export type LearnedYield =
  | { readonly kind: 'too few'; readonly batches: number; readonly needed: number }
  | {
      readonly kind: 'learned';
      readonly batches: number;
      readonly yieldKgPerKg: number;
      /** Standard deviation of one batch. */
      readonly scatterKgPerKg: number;
      /** Standard error of the mean: scatter over the root of the number of batches. */
      readonly standardErrorKgPerKg: number;
      /** The mean lies between these with 95 % confidence, if batches scatter normally. */
      readonly leastKgPerKg: number;
      readonly mostKgPerKg: number;
    };

/** Two batches have a spread of one number; three are the fewest from which a spread means anything. */
export const FEWEST_BATCHES = 3;

/** Student's t, two-sided 95 %, for 2 to 30 degrees of freedom (any table; NIST/SEMATECH e-Handbook 1.3.6.7.2). */
const STUDENT_T = [
  4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.16, 2.145, 2.131, 2.12, 2.11,
  2.101, 2.093, 2.086, 2.08, 2.074, 2.069, 2.064, 2.06, 2.056, 2.052, 2.048, 2.045, 2.042,
];
const NORMAL_QUANTILE = 1.96;

/**
 * The mean of the batches' yields with its standard error and 95 % interval (Student's t). A yield measured the same way
 * each time errs the same way each time: the interval covers the scatter, not a vat whose litre marks are wrong.
 * @param yields one per finished batch, from batchYield
 * @throws OutOfRange when a yield is not within 0 to 2
 */
export function learnedYield(yields: readonly number[]): LearnedYield {
  for (const each of yields) hold('measured yield', each, MEASURED_YIELD);
  const batches = yields.length;
  if (batches < FEWEST_BATCHES) return { kind: 'too few', batches, needed: FEWEST_BATCHES };
  const mean = yields.reduce((sum, each) => sum + each, 0) / batches;
  const squares = yields.reduce((sum, each) => sum + (each - mean) ** 2, 0);
  const scatterKgPerKg = Math.sqrt(squares / (batches - 1));
  const standardErrorKgPerKg = scatterKgPerKg / Math.sqrt(batches);
  const reach = (STUDENT_T[batches - FEWEST_BATCHES] ?? NORMAL_QUANTILE) * standardErrorKgPerKg;
  return {
    kind: 'learned',
    batches,
    yieldKgPerKg: mean,
    scatterKgPerKg,
    standardErrorKgPerKg,
    leastKgPerKg: mean - reach,
    mostKgPerKg: mean + reach,
  };
}
