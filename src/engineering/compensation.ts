// Conductivity referred to 25 degC, in and out, in the three ways meters do it.
//
// A compensated reading has thrown its temperature away. To get salinity from it, first ask which way the meter went,
// undo it, and evaluate at the water's own temperature; or, if the meter compensates as seawater does, evaluate at 25.
// The common 2 %/K is right for seawater only near 25 degC: from 15 degC it is 1 % off, 0.4 in salinity.
import { REFERENCE_TEMPERATURE_C } from './constants.ts';
import { hold, type Range } from './range.ts';
import { CONDUCTIVITY, conductivityMsPerCm, practicalSalinity } from './seawater.ts';

/** Where a straight line through 25 degC stays above zero for every usual coefficient. */
export const LINEAR_TEMPERATURE: Range = { least: -2, most: 60, unit: 'degC' };
export const LINEAR_COEFFICIENT: Range = { least: 0, most: 0.035, unit: '1/K' };
/** ISO 7888:1985 tabulates natural waters from 0 to 36 degC (and from 60 to 1000 uS/cm). */
export const NATURAL_WATER_TEMPERATURE: Range = { least: 0, most: 36, unit: 'degC' };

/** The usual coefficient of meters, 1/K (ISO 7888 names about 2 %/K; Standard Methods 2510 B has 1.91 %/K). */
export const USUAL_COEFFICIENT_PER_K = 0.02;

/**
 * What a meter with linear compensation shows.
 * kappa25 = kappa / (1 + alpha (t - 25)), ISO 7888:1985.
 * @param coefficientPerK alpha referred to 25 degC, 0 to 0.035 1/K
 * @throws OutOfRange
 */
export function linearlyCompensated(
  conductivity: number,
  temperatureC: number,
  coefficientPerK: number = USUAL_COEFFICIENT_PER_K,
): number {
  return conductivity / linearFactor(conductivity, temperatureC, coefficientPerK);
}

/**
 * What the water truly conducts when a meter with linear compensation shows `compensated`.
 * @throws OutOfRange
 */
export function linearlyUncompensated(
  compensated: number,
  temperatureC: number,
  coefficientPerK: number = USUAL_COEFFICIENT_PER_K,
): number {
  return compensated * linearFactor(compensated, temperatureC, coefficientPerK);
}

function linearFactor(conductivity: number, temperatureC: number, coefficientPerK: number): number {
  hold('conductivity', conductivity, CONDUCTIVITY);
  hold('temperature', temperatureC, LINEAR_TEMPERATURE);
  hold('temperature coefficient', coefficientPerK, LINEAR_COEFFICIENT);
  return 1 + coefficientPerK * (temperatureC - REFERENCE_TEMPERATURE_C);
}

/**
 * Practical salinity from a meter with linear compensation: its line is undone, and PSS-78 evaluated at the water's own
 * temperature. Giving the compensated reading to PSS-78 with the water's temperature is wrong by a quarter at 15 degC;
 * evaluating it at 25 degC as if the line were seawater's is wrong by 1 %.
 * @param compensated what the meter shows, mS/cm at 25 degC
 * @param temperatureC of the water, -2 to 35 degC
 * @throws OutOfRange
 */
export function practicalSalinityFromLinear(
  compensated: number,
  temperatureC: number,
  coefficientPerK: number = USUAL_COEFFICIENT_PER_K,
): number {
  return practicalSalinity(linearlyUncompensated(compensated, temperatureC, coefficientPerK), temperatureC);
}

/**
 * The conductivity the same seawater has at 25 degC: through its salinity (PSS-78), with no straight line in it.
 * @param conductivity mS/cm at the temperature
 * @param temperatureC -2 to 35 degC
 * @returns mS/cm at 25 degC
 * @throws OutOfRange
 */
export function seawaterCompensated(conductivity: number, temperatureC: number): number {
  return conductivityMsPerCm(practicalSalinity(conductivity, temperatureC), REFERENCE_TEMPERATURE_C);
}

/** The inverse of seawaterCompensated. @throws OutOfRange */
export function seawaterUncompensated(compensated: number, temperatureC: number): number {
  return conductivityMsPerCm(practicalSalinity(compensated, REFERENCE_TEMPERATURE_C), temperatureC);
}

/**
 * The factor that refers the conductivity of a natural fresh water to 25 degC. For purified and tap water, never for
 * seawater.
 * ISO 7888:1985 (EN 27888:1993): kappa25 / kappa = (1 - a) + a eta^n against its own value at 25 degC, with the
 * relative viscosity of water eta. The constants were read from a citation of the standard, and the result agrees with
 * the six printed values of its table at hand to the last printed digit.
 * @param temperatureC 0 to 36 degC
 * @throws OutOfRange
 */
export function naturalWaterFactor(temperatureC: number): number {
  hold('temperature', temperatureC, NATURAL_WATER_TEMPERATURE);
  return naturalWaterTerm(temperatureC) / naturalWaterTerm(REFERENCE_TEMPERATURE_C);
}

function naturalWaterTerm(temperatureC: number): number {
  const relativeViscosity = -0.198058 + Math.exp(-1.992186 + 231.17628 / (temperatureC + 86.39123));
  return 1 - 0.962144 + 0.962144 * relativeViscosity ** 0.965078;
}

/**
 * What a meter set to natural water ("nLF") shows for purified or tap water.
 * @param conductivity mS/cm at the temperature
 * @throws OutOfRange
 */
export function naturalWaterCompensated(conductivity: number, temperatureC: number): number {
  hold('conductivity', conductivity, CONDUCTIVITY);
  return conductivity * naturalWaterFactor(temperatureC);
}
