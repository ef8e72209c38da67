// Bends, valves and ends as loss coefficients: K = n f_T, after Crane Technical Paper 410.
//
// f_T is the friction factor of commercial steel of that size in fully rough flow: a property of the size, not of the
// pipe at hand nor of its flow. For plastic fittings all of this is good to a quarter at best.
import { PIPE_DIAMETER, STEEL_PIPE_MM } from './hydraulics.ts';
import { hold } from './range.ts';

/** Crane TP-410, pages. Tee values from memory. */
export const MULTIPLIERS = {
  'gate valve': 8,
  'ball valve, full bore': 3,
  'elbow 90': 30,
  'elbow 45': 16,
  'tee, through run': 20,
  'tee, through branch': 60,
  'swing check': 100,
  'globe valve': 340,
  'lift check, globe': 600,
} as const;

/** The ends of a pipe, whose K does not depend on size: Crane TP-410, page A-30 (0.78 from memory). */
export const END_COEFFICIENTS = {
  'entrance, flush': 0.5,
  'entrance, inward projecting': 0.78,
  exit: 1,
} as const;

export type Fitting = keyof typeof MULTIPLIERS;
export type PipeEnd = keyof typeof END_COEFFICIENTS;

/**
 * f_T = 0.25 / log10(e / 3.7 D)^2 with e of commercial steel: Colebrook-White where only roughness matters. Reproduces
 * Crane's table (1/2 in 0.026, 1 in 0.022, 2 in 0.019; older editions print one unit more for some sizes).
 * @param diameterMm inside, 5 to 1000 mm
 * @throws OutOfRange
 */
export function fullyTurbulentFactor(diameterMm: number): number {
  hold('pipe diameter', diameterMm, { ...PIPE_DIAMETER, least: 5 });
  return 0.25 / Math.log10(STEEL_PIPE_MM / diameterMm / 3.7) ** 2;
}

/** K of a fitting of the pipe's own size. @throws OutOfRange */
export function fittingLossCoefficient(fitting: Fitting | PipeEnd, diameterMm: number): number {
  return fitting in END_COEFFICIENTS
    ? END_COEFFICIENTS[fitting as PipeEnd]
    : MULTIPLIERS[fitting as Fitting] * fullyTurbulentFactor(diameterMm);
}
