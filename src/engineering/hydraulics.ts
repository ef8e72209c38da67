// Head lost in pipes: Darcy-Weisbach with the Colebrook-White friction factor, and Hazen-Williams for comparison.
//
// Heads are metres of the liquid being moved, so salt changes nothing here but the viscosity; pressures and pump power
// grow with the density. Below 50 mm prefer Darcy-Weisbach: Hazen-Williams knows no viscosity and no laminar flow.
import { STANDARD_GRAVITY } from './constants.ts';
import { FLOW, hold, type Range } from './range.ts';

export const REYNOLDS: Range = { least: 1e-6, most: 1e8, unit: '1' };
/** To the rough end of Moody's chart. */
export const RELATIVE_ROUGHNESS: Range = { least: 0, most: 0.05, unit: '1' };
export const PIPE_LENGTH: Range = { least: 0, most: 1000, unit: 'm' };
export const PIPE_DIAMETER: Range = { least: 1, most: 1000, unit: 'mm' };
export const ROUGHNESS: Range = { least: 0, most: 5, unit: 'mm' };
export const MINOR_LOSS: Range = { least: 0, most: 1000, unit: '1' };
export const KINEMATIC_VISCOSITY: Range = { least: 1e-7, most: 1e-4, unit: 'm2/s' };
export const HAZEN_WILLIAMS: Range = { least: 60, most: 160, unit: '1' };

/** Drawn tubing and smooth plastic, mm (Crane TP-410; any handbook). */
export const SMOOTH_PIPE_MM = 0.0015;
/** Commercial steel, mm (Crane TP-410). */
export const STEEL_PIPE_MM = 0.045;

const LAMINAR_BELOW = 2000;
const TURBULENT_ABOVE = 4000;

/** How water flows in a pipe, by Reynolds number. Between 2000 and 4000 it may be either, and change its mind. */
export type Regime = 'laminar' | 'transitional' | 'turbulent';

/** @throws OutOfRange */
export function flowRegime(reynolds: number): Regime {
  hold('Reynolds number', reynolds, REYNOLDS);
  if (reynolds < LAMINAR_BELOW) return 'laminar';
  return reynolds > TURBULENT_ABOVE ? 'turbulent' : 'transitional';
}

/** Mean speed in a full pipe, m/s. @throws OutOfRange */
export function flowSpeedMPerS(flowLpm: number, diameterMm: number): number {
  hold('flow', flowLpm, FLOW);
  hold('pipe diameter', diameterMm, PIPE_DIAMETER);
  return flowLpm / 60_000 / (Math.PI * (diameterMm / 2000) ** 2);
}

/** Re = v D / nu. @throws OutOfRange */
export function reynoldsNumber(
  flowLpm: number,
  diameterMm: number,
  kinematicViscosityM2PerS: number,
): number {
  hold('kinematic viscosity', kinematicViscosityM2PerS, KINEMATIC_VISCOSITY);
  return (flowSpeedMPerS(flowLpm, diameterMm) * diameterMm) / 1000 / kinematicViscosityM2PerS;
}

/**
 * Darcy friction factor. Below Re 2000: 64 / Re (Hagen-Poiseuille). Above: the root of Colebrook-White,
 * 1/sqrt f = -2 log10(e/(3.7 D) + 2.51/(Re sqrt f)), Colebrook 1939, J. Inst. Civ. Eng. 11, 133-156.
 * From 2000 to 4000 no formula holds; the turbulent side is taken there, which loses more head and so errs towards a
 * pump that is strong enough. flowRegime says when that is so.
 * @param reynolds 0.000001 to 1e8
 * @param relativeRoughness roughness over inside diameter, 0 to 0.05
 * @throws OutOfRange
 */
export function darcyFrictionFactor(reynolds: number, relativeRoughness: number): number {
  hold('Reynolds number', reynolds, REYNOLDS);
  hold('relative roughness', relativeRoughness, RELATIVE_ROUGHNESS);
  if (reynolds < LAMINAR_BELOW) return 64 / reynolds;
  // Newton on x = 1/sqrt f, started from Swamee & Jain 1976 (within 3 %): four steps reach the last bits, six are sure.
  const rough = relativeRoughness / 3.7;
  let x = -2 * Math.log10(rough + 5.74 / reynolds ** 0.9);
  for (let step = 0; step < 6; step++) {
    const inside = rough + (2.51 * x) / reynolds;
    const slope = 1 + (2 * 2.51) / (Math.LN10 * reynolds * inside);
    x -= (x + 2 * Math.log10(inside)) / slope;
  }
  return 1 / (x * x);
}

/** A straight run of pipe with all its fittings. */
export interface Pipe {
  readonly lengthM: number;
  /** Inside, not nominal. */
  readonly diameterMm: number;
  readonly roughnessMm: number;
  /** Sum of K of bends, valves, entrance and exit (see fittings.ts). */
  readonly minorLossCoefficient: number;
}

/**
 * Head lost in a pipe and its fittings: (f L/D + K) v^2 / 2g, Darcy-Weisbach.
 * @param flowLpm 0 to 100000 L/min
 * @param kinematicViscosityM2PerS see kinematicViscosityM2PerS of properties.ts; water at 20 degC 1.004e-6
 * @returns m of the liquid moved
 * @throws OutOfRange
 */
export function pipeHeadLossM(
  flowLpm: number,
  lengthM: number,
  diameterMm: number,
  roughnessMm: number,
  minorLossCoefficient: number,
  kinematicViscosityM2PerS: number,
): number {
  hold('pipe length', lengthM, PIPE_LENGTH);
  hold('roughness', roughnessMm, ROUGHNESS);
  hold('minor loss coefficient', minorLossCoefficient, MINOR_LOSS);
  const reynolds = reynoldsNumber(flowLpm, diameterMm, kinematicViscosityM2PerS);
  // At rest nothing is lost, and 64/0 is no factor.
  if (reynolds < REYNOLDS.least) return 0;
  const friction = darcyFrictionFactor(reynolds, roughnessMm / diameterMm);
  const losses = (friction * lengthM * 1000) / diameterMm + minorLossCoefficient;
  return losses * velocityHeadM(flowLpm, diameterMm);
}

/** v^2 / 2g. @throws OutOfRange */
export function velocityHeadM(flowLpm: number, diameterMm: number): number {
  return flowSpeedMPerS(flowLpm, diameterMm) ** 2 / (2 * STANDARD_GRAVITY);
}

/**
 * Head lost by Hazen-Williams: 10.67 L Q^1.852 / (C^1.852 D^4.871), SI (EPANET 2 Users Manual, Rossman 2000, table 3.1).
 * For water near 15 to 20 degC in turbulent flow, at its best above 50 mm.
 * @param coefficient C: 140 to 150 for plastic, 100 for old iron
 * @returns m, friction only
 * @throws OutOfRange
 */
export function hazenWilliamsHeadLossM(
  flowLpm: number,
  lengthM: number,
  diameterMm: number,
  coefficient: number,
): number {
  hold('flow', flowLpm, FLOW);
  hold('pipe length', lengthM, PIPE_LENGTH);
  hold('pipe diameter', diameterMm, PIPE_DIAMETER);
  hold('Hazen-Williams coefficient', coefficient, HAZEN_WILLIAMS);
  const flowM3PerS = flowLpm / 60_000;
  return (10.67 * lengthM * (flowM3PerS / coefficient) ** 1.852) / (diameterMm / 1000) ** 4.871;
}

/** What a way of water loses at a flow, m. */
export type HeadLoss = (flowLpm: number) => number;

/** The loss of pipes one after the other. */
export function pipesInSeries(pipes: readonly Pipe[], kinematicViscosityM2PerS: number): HeadLoss {
  return (flowLpm) =>
    pipes.reduce(
      (sum, pipe) =>
        sum +
        pipeHeadLossM(
          flowLpm,
          pipe.lengthM,
          pipe.diameterMm,
          pipe.roughnessMm,
          pipe.minorLossCoefficient,
          kinematicViscosityM2PerS,
        ),
      0,
    );
}
