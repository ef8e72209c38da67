// What the judge knows about seawater. Written apart from `engineering/` on purpose: a slip in the formulas that size the
// salt must not also bend the ruler that the result is measured with.
//
// Practical salinity scale 1978 at atmospheric pressure: Fofonoff & Millard 1983, UNESCO Technical Papers in Marine
// Science 44; below 2 the extension of Hill, Dauphinee & Woods 1986, IEEE J. Oceanic Engineering OE-11, 109. The extension
// is not scaled to join at exactly 2; the step there is below 0.0005. C(35, 15 degC IPTS-68, 0) = 42.914 mS/cm: Culkin &
// Smith 1980. Density: one-atmosphere equation of state, Millero & Poisson 1981, Deep-Sea Research 28A, 625.

const STANDARD_MS_PER_CM = 42.914;
const RATIO = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9];
const SALINITY = [0.008, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
const CORRECTION = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];
const WATER = [999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9];
const SALT = [8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9];
const SALT_THREE_HALVES = [-5.72466e-3, 1.0227e-4, -1.6546e-6];
const SALT_SQUARED = 4.8314e-4;

/** Grams of salt in a kilogram of seawater of practical salinity 1: Millero et al. 2008, Deep-Sea Research I 55, 50. */
export const GRAMS_PER_KG_OF_PSS = 35.16504 / 35;

function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (let power = coefficients.length - 1; power >= 0; power--) sum = sum * x + (coefficients[power] ?? 0);
  return sum;
}

/** IPTS-68 from ITS-90, degC. The scale of 1978 speaks the older one: 0.005 in salinity at 25 degC. */
function olderScale(temperatureC: number): number {
  return 1.00024 * temperatureC;
}

function salinityOfRatio(ratio: number, older: number): number {
  const root = Math.sqrt(ratio);
  const warmth = (older - 15) / (1 + 0.0162 * (older - 15));
  const scale = polynomial(SALINITY, root) + warmth * polynomial(CORRECTION, root);
  if (scale >= 2) return scale;
  const x = 400 * ratio;
  const y = 100 * ratio;
  const low = 0.008 / (1 + x * (1.5 + x)) + (0.0005 * warmth) / (1 + Math.sqrt(y) + y * Math.sqrt(y));
  return Math.max(0, scale - low);
}

/** Practical salinity of water with this raw conductivity (mS/cm) at this temperature (degC, ITS-90). 0..42, -2..35 degC. */
export function salinityFromConductivity(conductivityMsPerCm: number, temperatureC: number): number {
  const older = olderScale(temperatureC);
  const ratio = Math.max(0, conductivityMsPerCm) / STANDARD_MS_PER_CM / polynomial(RATIO, older);
  return salinityOfRatio(ratio, older);
}

/** Raw conductivity, mS/cm, of water of this practical salinity at this temperature (degC, ITS-90). */
export function conductivityFromSalinity(salinity: number, temperatureC: number): number {
  if (salinity <= 0) return 0;
  const older = olderScale(temperatureC);
  // Halving is slow and cannot fail: salinity rises with the ratio over the whole range, across the step at 2 too.
  let low = 0;
  let high = 3;
  for (let halving = 0; halving < 50; halving++) {
    const middle = (low + high) / 2;
    if (salinityOfRatio(middle, older) < salinity) low = middle;
    else high = middle;
  }
  return ((low + high) / 2) * polynomial(RATIO, older) * STANDARD_MS_PER_CM;
}

/** Kilograms in a litre of water of this practical salinity at this temperature (degC, ITS-90). 0..42, 0..40 degC. */
export function densityKgPerL(salinity: number, temperatureC: number): number {
  const older = olderScale(temperatureC);
  const salt =
    salinity *
    (polynomial(SALT, older) +
      Math.sqrt(salinity) * polynomial(SALT_THREE_HALVES, older) +
      salinity * SALT_SQUARED);
  return (polynomial(WATER, older) + salt) / 1000;
}

/**
 * Heat capacity, J/(kg K). A straight line: within 0.4 % of Millero, Perron & Desnoyers 1973 from 5 to 35 degC, and the
 * vat's losses to the room are known far worse than that.
 */
export function specificHeat(salinity: number): number {
  return 4182 - 5.3 * salinity;
}
