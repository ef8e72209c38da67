// The purifier: what a membrane gives at the water it gets.
//
// A membrane is rated at 25 degC and one pressure. Cold water is thick, and the same membrane gives two thirds at
// 12 degC; a line at half the pressure gives less than half, because the osmotic pressure is paid first. Tables of the
// temperature correction come in two conventions (divide or multiply) and differ by 3 to 7 % at 15 degC, so K is an
// input here: it belongs to the membrane.
import { ICE_POINT_K, REFERENCE_TEMPERATURE_C } from './constants.ts';
import { CONTENTS, FLOW, hold, type Range, SOME_FLOW } from './range.ts';

export const INLET_TEMPERATURE: Range = { least: 1, most: 45, unit: 'degC' };
export const MEMBRANE_CONSTANT: Range = { least: 1000, most: 6000, unit: 'K' };
export const LINE_PRESSURE: Range = { least: 0, most: 10_000, unit: 'kPa' };
export const DISSOLVED_SALT: Range = { least: 0, most: 50_000, unit: 'mg/L' };
/** A net driving pressure that something is divided by. */
export const DRIVING_PRESSURE: Range = { ...LINE_PRESSURE, least: 0.1 };
export const RECOVERY: Range = { least: 0.01, most: 0.95, unit: '1' };

/** Thin-film membranes, K (published membrane tables). */
export const COLD_CONSTANT_K = 3020;
export const WARM_CONSTANT_K = 2640;

/**
 * The temperature divisor: output at T = output at 25 degC / divisor.
 * exp(K (1/T - 1/298.15)), with K = 3020 K up to 25 degC and 2640 K above unless the membrane's own is given; agrees with
 * a printed thin-film table (15 degC 1.422, 10 degC 1.711, 28 degC 0.915) within 0.3 %.
 * @param temperatureC of the inlet water, 1 to 45 degC
 * @param constantK the membrane's K, 1000 to 6000 K
 * @returns more than 1 below 25 degC, less above
 * @throws OutOfRange
 */
export function permeateTemperatureDivisor(temperatureC: number, constantK?: number): number {
  hold('temperature', temperatureC, INLET_TEMPERATURE);
  const k = constantK ?? (temperatureC <= REFERENCE_TEMPERATURE_C ? COLD_CONSTANT_K : WARM_CONSTANT_K);
  hold('membrane constant', k, MEMBRANE_CONSTANT);
  return Math.exp(k * (1 / (temperatureC + ICE_POINT_K) - 1 / (REFERENCE_TEMPERATURE_C + ICE_POINT_K)));
}

/**
 * Osmotic pressure of dilute water, its salts counted as sodium chloride.
 * pi = 0.2654 C (t + 273.15) / (1000 - C/1000), ASTM D4516-19a (from memory; 0.93 of van 't Hoff's law near 2 g/L).
 * For seawater use osmoticPressureKpa of properties.ts.
 * @param saltMgPerL 0 to 50000 mg/L
 * @returns kPa
 * @throws OutOfRange
 */
export function diluteOsmoticPressureKpa(saltMgPerL: number, temperatureC: number): number {
  hold('dissolved salt', saltMgPerL, DISSOLVED_SALT);
  hold('temperature', temperatureC, INLET_TEMPERATURE);
  return (0.2654 * saltMgPerL * (temperatureC + ICE_POINT_K)) / (1000 - saltMgPerL / 1000);
}

/** Share of the inlet water that comes out purified: Q purified / Q inlet. @throws OutOfRange */
export function recovery(purifiedLpm: number, inletLpm: number): number {
  hold('purified flow', purifiedLpm, FLOW);
  hold('inlet flow', inletLpm, { ...SOME_FLOW, least: Math.max(purifiedLpm, SOME_FLOW.least) });
  return purifiedLpm / inletLpm;
}

/**
 * Water sent to the drain for a volume of purified water: V (1 / recovery - 1).
 * @param recoveryShare 0.01 to 0.95
 * @returns L
 * @throws OutOfRange
 */
export function rejectWaterL(purifiedL: number, recoveryShare: number): number {
  hold('purified volume', purifiedL, CONTENTS);
  hold('recovery', recoveryShare, RECOVERY);
  return purifiedL * (1 / recoveryShare - 1);
}

/**
 * The pressure that drives water through the membrane: inlet less half the loss along it, less the back pressure of the
 * purified side, less the difference of osmotic pressures. A vat 1 m above the membrane is 10 kPa of back pressure.
 * NDP = P - dP/2 - Pp - (pi_inlet-reject - pi_purified), with the log-mean concentration Cin ln(1/(1-Y))/Y:
 * ASTM D4516-19a, section 6.1 (form seen quoted; log mean from memory).
 * @param inletKpa at the membrane, above atmosphere
 * @param lossKpa from inlet to reject
 * @param backKpa on the purified side, above atmosphere
 * @returns kPa; zero or less means that no water passes
 * @throws OutOfRange
 */
export function netDrivingPressureKpa(
  inletKpa: number,
  lossKpa: number,
  backKpa: number,
  inletMgPerL: number,
  purifiedMgPerL: number,
  recoveryShare: number,
  temperatureC: number,
): number {
  hold('inlet pressure', inletKpa, LINE_PRESSURE);
  hold('pressure loss', lossKpa, LINE_PRESSURE);
  hold('back pressure', backKpa, LINE_PRESSURE);
  hold('recovery', recoveryShare, RECOVERY);
  const mean = inletMgPerL * (Math.log(1 / (1 - recoveryShare)) / recoveryShare);
  const osmotic =
    diluteOsmoticPressureKpa(mean, temperatureC) - diluteOsmoticPressureKpa(purifiedMgPerL, temperatureC);
  return inletKpa - lossKpa / 2 - backKpa - osmotic;
}

/** What comes out of a purifier. */
export type PurifierOutput =
  | { readonly kind: 'flows'; readonly outputLpm: number }
  /** The line does not even pay the osmotic and back pressure. */
  | { readonly kind: 'no output'; readonly drivingKpa: number };

/**
 * Output at a temperature and a net driving pressure, from the rating at 25 degC and the rating's pressure:
 * Q = Q_rated (NDP / NDP_rated) / divisor, ASTM D4516-19a, section 6.1.
 * @param ratedLpm output at 25 degC and ratedDrivingKpa
 * @param ratedDrivingKpa net driving pressure of the rating, 0.1 to 10000 kPa
 * @param drivingKpa net driving pressure now, from netDrivingPressureKpa
 * @throws OutOfRange
 */
export function purifierOutput(
  ratedLpm: number,
  ratedDrivingKpa: number,
  drivingKpa: number,
  temperatureC: number,
  constantK?: number,
): PurifierOutput {
  hold('rated output', ratedLpm, SOME_FLOW);
  hold('rated driving pressure', ratedDrivingKpa, DRIVING_PRESSURE);
  hold('driving pressure', drivingKpa, { ...LINE_PRESSURE, least: -LINE_PRESSURE.most });
  const divisor = permeateTemperatureDivisor(temperatureC, constantK);
  if (drivingKpa <= 0) return { kind: 'no output', drivingKpa };
  return { kind: 'flows', outputLpm: (ratedLpm * drivingKpa) / ratedDrivingKpa / divisor };
}

/**
 * What the measured output would be at 25 degC and the rating's driving pressure: the figure to compare from month to
 * month, whose fall says that the membrane is fouling. The inverse of purifierOutput.
 * @throws OutOfRange
 */
export function normalisedOutputLpm(
  measuredLpm: number,
  drivingKpa: number,
  referenceDrivingKpa: number,
  temperatureC: number,
  constantK?: number,
): number {
  hold('measured output', measuredLpm, FLOW);
  hold('driving pressure', drivingKpa, DRIVING_PRESSURE);
  hold('reference driving pressure', referenceDrivingKpa, DRIVING_PRESSURE);
  const divisor = permeateTemperatureDivisor(temperatureC, constantK);
  return measuredLpm * divisor * (referenceDrivingKpa / drivingKpa);
}

/**
 * Hours to make a volume of purified water. @throws OutOfRange
 */
export function refillHours(volumeL: number, outputLpm: number): number {
  hold('volume', volumeL, CONTENTS);
  hold('output', outputLpm, SOME_FLOW);
  return volumeL / outputLpm / 60;
}

/**
 * Hours of refill in every month of a year of inlet temperatures, at unchanging pressure.
 * @param temperaturesC one for each period, in order (twelve months, or fifty-two weeks)
 * @returns hours, in the same order
 * @throws OutOfRange
 */
export function refillHoursByMonth(
  volumeL: number,
  outputAt25Lpm: number,
  temperaturesC: readonly number[],
  constantK?: number,
): number[] {
  return temperaturesC.map(
    (temperatureC) =>
      refillHours(volumeL, outputAt25Lpm) * permeateTemperatureDivisor(temperatureC, constantK),
  );
}
