// What water does by itself when nothing pumps it: how fast it runs downhill or siphons, what leaves an open joint, and
// what a pump needs at its inlet.
import { ICE_POINT_K, STANDARD_GRAVITY } from './constants.ts';
import { flowSpeedMPerS, type HeadLoss, PIPE_DIAMETER, PIPE_LENGTH } from './hydraulics.ts';
import { crossing } from './numeric.ts';
import { FLOW, hold, type Range } from './range.ts';
import { seawaterDensity } from './seawater.ts';
import { DISCHARGE } from './transfer.ts';

/** How far the water can fall. */
export const FALL: Range = { least: 0, most: 100, unit: 'm' };
export const INTAKE: Range = { ...PIPE_DIAMETER, least: 5 };
export const LIQUID: Range = { least: 1, most: 99, unit: 'degC' };
export const ATMOSPHERE: Range = { least: 50, most: 110, unit: 'kPa' };
/** Negative where the pump stands above the water that it draws. */
export const SUCTION: Range = { least: -20, most: 100, unit: 'm' };

/** Mean pressure of the air at sea level, kPa: ISO 2533. A place at 1000 m has 89.9. */
export const STANDARD_ATMOSPHERE_KPA = 101.325;

/**
 * Flow of a full pipe that falls, or of a siphon: where its losses are the height between the two water levels, or between
 * the upper level and the open end. A pump at rest in the line would brake it by an amount that no maker states, so it is
 * left out: the flow is the most that can run.
 * @param loss from pipesInSeries, with the pipe's entrance and exit among its fittings
 * @returns L/min, 0 without a fall
 * @throws OutOfRange
 */
export function fallingFlowLpm(fallM: number, loss: HeadLoss): number {
  hold('fall', fallM, FALL);
  if (fallM === 0) return 0;
  let most = 1;
  while (loss(most) < fallM && most < FLOW.most) most = Math.min(2 * most, FLOW.most);
  return crossing(loss, fallM, 0, most);
}

/**
 * What leaves a joint that came off: Cd a sqrt(2 g h), Torricelli with the discharge coefficient of a sharp edge.
 * @param headM height of the water above the joint
 * @param discharge 0.6 for a sharp edge (FE Reference Handbook gives 0.61)
 * @returns L/min
 * @throws OutOfRange
 */
export function openJointLpm(headM: number, diameterMm: number, discharge = 0.6): number {
  hold('head', headM, FALL);
  hold('pipe diameter', diameterMm, PIPE_DIAMETER);
  hold('discharge coefficient', discharge, DISCHARGE);
  const areaM2 = Math.PI * (diameterMm / 2000) ** 2;
  return discharge * areaM2 * Math.sqrt(2 * STANDARD_GRAVITY * headM) * 60_000;
}

/**
 * Water that must stand above an intake so that no vortex draws air: S = D (1 + 2.3 F), F = v / sqrt(g D), v in the opening
 * D. ANSI/HI 9.8, section on submergence (from memory). Written for intakes far larger than these: for a small one it is
 * the best that is published, and on the safe side.
 * @param intakeMm inside diameter of the opening, 5 to 1000 mm
 * @returns mm
 * @throws OutOfRange
 */
export function submergenceMm(flowLpm: number, intakeMm: number): number {
  hold('intake', intakeMm, INTAKE);
  const froude = flowSpeedMPerS(flowLpm, intakeMm) / Math.sqrt((STANDARD_GRAVITY * intakeMm) / 1000);
  return intakeMm * (1 + 2.3 * froude);
}

/** Coefficients of the saturation line, IAPWS-IF97 region 4 (R7-97(2012), table 34; from memory, held by its check values). */
const SATURATION = [
  0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.1202082470247e5, -0.32325550322333e7,
  0.1491510861353e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
] as const;

/** Vapour pressure of pure water: IAPWS-IF97, equation 30. Salt lowers it by 2 % at 35 g/kg. @returns kPa @throws OutOfRange */
export function vapourPressureKpa(temperatureC: number): number {
  hold('temperature', temperatureC, LIQUID);
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = SATURATION;
  const kelvin = temperatureC + ICE_POINT_K;
  const t = kelvin + n9 / (kelvin - n10);
  const a = t * t + n1 * t + n2;
  const b = n3 * t * t + n4 * t + n5;
  const c = n6 * t * t + n7 * t + n8;
  return 1000 * ((2 * c) / (-b + Math.sqrt(b * b - 4 * a * c))) ** 4;
}

/**
 * Head above the vapour pressure that a pump finds at its inlet: (p_air - p_vapour) / rho g + height of the water above the
 * pump - loss of the suction pipe. ANSI/HI 9.6.1, definition of NPSHA (from memory). Compare it with what the maker states,
 * with a margin.
 * @param aboveM of the water's surface over the pump; negative where the pump draws it up
 * @returns m
 * @throws OutOfRange
 */
export function suctionHeadAvailableM(
  aboveM: number,
  lossM: number,
  salinity: number,
  temperatureC: number,
  atmosphereKpa: number = STANDARD_ATMOSPHERE_KPA,
): number {
  hold('height above the pump', aboveM, SUCTION);
  hold('loss of the suction', lossM, FALL);
  hold('pressure of the air', atmosphereKpa, ATMOSPHERE);
  const airM =
    ((atmosphereKpa - vapourPressureKpa(temperatureC)) * 1000) /
    (seawaterDensity(salinity, temperatureC) * STANDARD_GRAVITY);
  return airM + aboveM - lossM;
}

/** What a pipe holds: pi D^2 L / 4. A riser gives it back when its pump stops. @returns L @throws OutOfRange */
export function pipeContentsL(lengthM: number, diameterMm: number): number {
  hold('pipe length', lengthM, PIPE_LENGTH);
  hold('pipe diameter', diameterMm, PIPE_DIAMETER);
  return Math.PI * (diameterMm / 2000) ** 2 * lengthM * 1000;
}
