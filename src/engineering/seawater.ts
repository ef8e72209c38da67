// Seawater: salinity from conductivity and back, density, relative density, salt by mass and by volume.
//
// Temperatures are ITS-90, as today's probes report them. PSS-78 and the equation of state were written for IPTS-68,
// whose degree is 0.024 % smaller: at 25 degC the difference is 0.006 K and leaving it out costs 0.005 in salinity,
// as much as a careful measurement is worth. Pressure is one atmosphere: nobody lowers a mixing vat to 2000 m.
//
// Everything takes numbers and returns a number; nothing allocates, so a simulator may call it at every tick.
import { crossing, derivative, polynomial } from './numeric.ts';
import { hold, type Range } from './range.ts';

/** PSS-78 holds from 2 to 42 and -2 to 35 degC (UNESCO 44); Hill et al. 1986 carry it down to nothing. */
export const PRACTICAL_SALINITY: Range = { least: 0, most: 42, unit: '1' };
export const CONDUCTIVITY_TEMPERATURE: Range = { least: -2, most: 35, unit: 'degC' };
/** Millero & Poisson 1981: salinity 0 to 42, -2 to 40 degC. */
export const DENSITY_TEMPERATURE: Range = { least: -2, most: 40, unit: 'degC' };
export const CONDUCTIVITY: Range = { least: 0, most: 100, unit: 'mS/cm' };
export const RELATIVE_DENSITY: Range = { least: 0.99, most: 1.05, unit: '1' };
/** The mass of salt that goes with PRACTICAL_SALINITY. */
export const MASS_SALINITY: Range = { least: 0, most: (42 * 35.16504) / 35, unit: 'g/kg' };

/** C(35, 15 degC IPTS-68, 0 dbar), mS/cm: Culkin & Smith 1980, IEEE J. Oceanic Eng. OE-5, 22-23. */
export const STANDARD_CONDUCTIVITY_MS_PER_CM = 42.914;

const PSS_A = [0.008, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
const PSS_B = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];
const PSS_C = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9];
/** Where the low-salinity extension takes over, and is made to join. */
const JOINT = 2;

/** IPTS-68 from ITS-90, degC: the conversion TEOS-10 uses (Saunders 1990, WOCE Newsletter 10). */
export function ipts68(temperatureC: number): number {
  return 1.00024 * temperatureC;
}

/**
 * Practical salinity from a conductivity that has NOT been compensated for temperature.
 * A compensated reading is the conductivity at 25 degC: evaluate it at 25, whatever the water's temperature.
 *
 * PSS-78: Fofonoff & Millard 1983, UNESCO Technical Papers in Marine Science 44. Below salinity 2: Hill, Dauphinee &
 * Woods 1986, IEEE J. Oceanic Eng. OE-11, 109-112, scaled so that both meet at 2 as in TEOS-10's library. Below about
 * 1.5 uS/cm the extension falls under nothing and is held at 0: the purest water has no salinity worth a digit.
 * @param conductivityMsPerCm 0 mS/cm to what salinity 42 has at the temperature
 * @param temperatureC -2 to 35 degC (ITS-90)
 * @returns practical salinity, 0 to 42
 * @throws OutOfRange
 */
export function practicalSalinity(conductivityMsPerCm: number, temperatureC: number): number {
  hold('temperature', temperatureC, CONDUCTIVITY_TEMPERATURE);
  hold('conductivity', conductivityMsPerCm, CONDUCTIVITY);
  const t68 = ipts68(temperatureC);
  const ratio = conductivityMsPerCm / STANDARD_CONDUCTIVITY_MS_PER_CM / polynomial(PSS_C, t68);
  const salinity = salinityFromRoot(Math.sqrt(ratio), temperatureFactor(t68));
  hold('practical salinity', salinity, PRACTICAL_SALINITY);
  return salinity;
}

/**
 * The conductivity of water of a given practical salinity: the inverse of practicalSalinity, by Newton's method.
 * @param salinity practical salinity, 0 to 42
 * @param temperatureC -2 to 35 degC (ITS-90)
 * @returns mS/cm at that temperature, not compensated
 * @throws OutOfRange
 */
export function conductivityMsPerCm(salinity: number, temperatureC: number): number {
  hold('practical salinity', salinity, PRACTICAL_SALINITY);
  hold('temperature', temperatureC, CONDUCTIVITY_TEMPERATURE);
  const t68 = ipts68(temperatureC);
  const root = rootFromSalinity(salinity, temperatureFactor(t68));
  return STANDARD_CONDUCTIVITY_MS_PER_CM * polynomial(PSS_C, t68) * root * root;
}

function temperatureFactor(t68: number): number {
  return (t68 - 15) / (1 + 0.0162 * (t68 - 15));
}

/** PSS-78 as it stands. `root` is the square root of Rt = C(S, t) / C(35, t). */
function pss78(root: number, factor: number): number {
  return polynomial(PSS_A, root) + factor * polynomial(PSS_B, root);
}

/** Hill et al. 1986 before it is made to join: equal to PSS-78 but for two terms that vanish as salinity grows. */
function hill(root: number, factor: number): number {
  const x = 400 * root * root;
  const y = 10 * root;
  return pss78(root, factor) - 0.008 / (1 + x * (1.5 + x)) - (0.0005 * factor) / (1 + y * (1 + y * (1 + y)));
}

function salinityFromRoot(root: number, factor: number): number {
  const salinity = pss78(root, factor);
  if (salinity >= JOINT) return salinity;
  return Math.max(0, (JOINT / hill(pss78Root(JOINT, factor), factor)) * hill(root, factor));
}

/** Newton on PSS-78, whose slope is positive over its whole range; six steps are exact to the last bits. */
function pss78Root(salinity: number, factor: number): number {
  let root = Math.sqrt(salinity / 35);
  for (let step = 0; step < 6; step++) {
    const slope = derivative(PSS_A, root) + factor * derivative(PSS_B, root);
    root -= (pss78(root, factor) - salinity) / slope;
  }
  return root;
}

/** Newton above the joint; halving below it, where the extension is flat near nothing and Newton would leap. */
function rootFromSalinity(salinity: number, factor: number): number {
  if (salinity >= JOINT) return pss78Root(salinity, factor);
  if (salinity === 0) return 0;
  const joint = pss78Root(JOINT, factor);
  return crossing((root) => hill(root, factor), (salinity / JOINT) * hill(joint, factor), 0, joint);
}

const PURE_WATER = [999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9];
const DENSITY_A = [8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9];
const DENSITY_B = [-5.72466e-3, 1.0227e-4, -1.6546e-6];
const DENSITY_C = 4.8314e-4;

/**
 * Density of seawater at one atmosphere.
 * Millero & Poisson 1981, Deep-Sea Res. 28A, 625-629 (UNESCO 44, p. 15-19); standard error 0.0036 kg/m3, within 0.01
 * kg/m3 of TEOS-10 over the whole range.
 * @param salinity practical salinity, 0 to 42
 * @param temperatureC -2 to 40 degC (ITS-90)
 * @returns kg/m3
 * @throws OutOfRange
 */
export function seawaterDensity(salinity: number, temperatureC: number): number {
  hold('practical salinity', salinity, PRACTICAL_SALINITY);
  hold('temperature', temperatureC, DENSITY_TEMPERATURE);
  const t68 = ipts68(temperatureC);
  return (
    polynomial(PURE_WATER, t68) +
    salinity * polynomial(DENSITY_A, t68) +
    salinity * Math.sqrt(salinity) * polynomial(DENSITY_B, t68) +
    salinity * salinity * DENSITY_C
  );
}

/**
 * Relative density ("specific gravity"): the sample at its temperature over pure water at the reference temperature.
 * The pair is part of the value: 1.0264 means 35.03 as 25/25, 34.73 as 20/20, 34.40 as 60F/60F and 39.0 as 25/4.
 * @param salinity practical salinity, 0 to 42
 * @param sampleTemperatureC -2 to 40 degC
 * @param referenceTemperatureC of the pure water, -2 to 40 degC
 * @returns dimensionless
 * @throws OutOfRange
 */
export function relativeDensity(
  salinity: number,
  sampleTemperatureC: number,
  referenceTemperatureC: number,
): number {
  hold('reference temperature', referenceTemperatureC, DENSITY_TEMPERATURE);
  return seawaterDensity(salinity, sampleTemperatureC) / seawaterDensity(0, referenceTemperatureC);
}

/**
 * Practical salinity from a relative density and both its temperatures: the inverse of relativeDensity. Density grows
 * with salinity everywhere in range, so there is one answer or none.
 * @returns practical salinity, 0 to 42
 * @throws OutOfRange also when no salinity from 0 to 42 has that relative density, naming the values that do
 */
export function practicalSalinityFromRelativeDensity(
  relative: number,
  sampleTemperatureC: number,
  referenceTemperatureC: number,
): number {
  const fresh = relativeDensity(0, sampleTemperatureC, referenceTemperatureC);
  const most = relativeDensity(PRACTICAL_SALINITY.most, sampleTemperatureC, referenceTemperatureC);
  hold('relative density', relative, { least: fresh, most, unit: '1' });
  const density = relative * seawaterDensity(0, referenceTemperatureC);
  return crossing(
    (salinity) => seawaterDensity(salinity, sampleTemperatureC),
    density,
    0,
    PRACTICAL_SALINITY.most,
  );
}

/** Grams of salt in a kilogram of seawater for 1 of practical salinity (reference salinity, see below). */
export const GRAMS_PER_SALINITY = 35.16504 / 35;

/**
 * Reference salinity, the best estimate of salt by mass ("ppt" in the trade). Exact and linear for standard seawater;
 * a salt mix of another composition may differ from it by a few tenths of a g/kg.
 * Millero, Feistel, Wright & McDougall 2008, Deep-Sea Res. I 55, 50-72.
 * @param salinity practical salinity, 0 to 42
 * @returns g of salt per kg of solution
 * @throws OutOfRange
 */
export function referenceSalinityGPerKg(salinity: number): number {
  hold('practical salinity', salinity, PRACTICAL_SALINITY);
  return salinity * GRAMS_PER_SALINITY;
}

/**
 * The inverse of referenceSalinityGPerKg: practical salinity from g of salt per kg of solution.
 * @throws OutOfRange
 */
export function practicalSalinityFromReferenceSalinity(massSalinityGPerKg: number): number {
  hold('salinity by mass', massSalinityGPerKg, MASS_SALINITY);
  return Math.min(PRACTICAL_SALINITY.most, massSalinityGPerKg / GRAMS_PER_SALINITY);
}

/**
 * Salt by volume. A litre of seawater weighs more than a kilogram: salinity 35 is 35.2 g/kg and 36.0 g/L.
 * @returns mg of salt per litre at the temperature
 * @throws OutOfRange
 */
export function saltConcentrationMgPerL(salinity: number, temperatureC: number): number {
  return referenceSalinityGPerKg(salinity) * seawaterDensity(salinity, temperatureC);
}
