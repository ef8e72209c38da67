// How long water takes to get from one vessel to another, by pump or by its own weight, while the levels move.
import { STANDARD_GRAVITY } from './constants.ts';
import { type HeadLoss, MINOR_LOSS, type Pipe, pipeHeadLossM, velocityHeadM } from './hydraulics.ts';
import { crossing, integral } from './numeric.ts';
import { type OperatingPoint, operatingPoint, type PumpCurve, STATIC_HEAD, shutoffHeadM } from './pump.ts';
import { FLOW, hold, type Range, SOME_FLOW, VOLUME } from './range.ts';

export const PLAN_AREA: Range = { least: 1e-3, most: 1e4, unit: 'm2' };
export const OPENING_AREA: Range = { least: 1e-6, most: 1, unit: 'm2' };
export const DISCHARGE: Range = { least: 0.01, most: 1, unit: '1' };
export const DRAIN_HEAD: Range = { least: 0, most: 20, unit: 'm' };

/** Pieces of the time integrals: the integrand is smooth, and twice as many change no sixth digit. */
const PIECES = 64;

/** V / Q at an unchanging flow. @returns minutes @throws OutOfRange */
export function constantFlowMinutes(volumeL: number, flowLpm: number): number {
  hold('volume', volumeL, VOLUME);
  hold('flow', flowLpm, SOME_FLOW);
  return volumeL / flowLpm;
}

export type Transfer =
  | { readonly kind: 'moved'; readonly minutes: number; readonly firstLpm: number; readonly lastLpm: number }
  /** The rising level meets the pump's highest head first: this much moves, and no more. */
  | { readonly kind: 'stalls'; readonly movedL: number }
  | Exclude<OperatingPoint, { readonly kind: 'flows' }>;

/**
 * Time for a pump to move a volume while the source falls and the target rises: the static head grows by
 * V (1/A_source + 1/A_target), and dV/dt = Q(static head).
 * @param staticHeadM target's level above the source's at the start, -100 to 200 m
 * @param sourceAreaM2 plan area of the source; a vessel with upright walls
 * @throws OutOfRange
 */
export function transferTime(
  volumeL: number,
  curve: PumpCurve,
  staticHeadM: number,
  loss: HeadLoss,
  sourceAreaM2: number,
  targetAreaM2: number,
): Transfer {
  hold('volume', volumeL, VOLUME);
  hold('source area', sourceAreaM2, PLAN_AREA);
  hold('target area', targetAreaM2, PLAN_AREA);
  const first = operatingPoint(curve, staticHeadM, loss);
  if (first.kind !== 'flows') return first;
  const headPerLitreM = (1 / sourceAreaM2 + 1 / targetAreaM2) / 1000;
  const lastHeadM = staticHeadM + volumeL * headPerLitreM;
  const last = operatingPoint(curve, Math.min(lastHeadM, STATIC_HEAD.most), loss);
  if (last.kind !== 'flows') {
    return { kind: 'stalls', movedL: (shutoffHeadM(curve) - staticHeadM) / headPerLitreM };
  }
  const minutesPerLitre = (movedL: number) => {
    const point = operatingPoint(curve, staticHeadM + movedL * headPerLitreM, loss);
    // Between two heads that both flow, every head flows.
    return point.kind === 'flows' ? 1 / point.flowLpm : Number.POSITIVE_INFINITY;
  };
  const minutes = integral(minutesPerLitre, 0, volumeL, PIECES);
  return { kind: 'moved', minutes, firstLpm: first.flowLpm, lastLpm: last.flowLpm };
}

/**
 * Time for the level of an upright vessel to fall through an opening in its bottom or side:
 * t = 2 A (sqrt h1 - sqrt h2) / (Cd a sqrt 2g) (Torricelli; FE Reference Handbook).
 * @param fromM height of the water above the opening at the start, 0 to 20 m
 * @param toM and at the end, 0 m to fromM
 * @param dischargeCoefficient 0.6 for a sharp edge, near 1 for a rounded one
 * @returns s
 * @throws OutOfRange
 */
export function drainThroughOpeningS(
  planAreaM2: number,
  openingAreaM2: number,
  fromM: number,
  toM: number,
  dischargeCoefficient: number,
): number {
  holdDrain(planAreaM2, fromM, toM);
  hold('opening area', openingAreaM2, OPENING_AREA);
  hold('discharge coefficient', dischargeCoefficient, DISCHARGE);
  const speed = dischargeCoefficient * openingAreaM2 * Math.sqrt(2 * STANDARD_GRAVITY);
  return (2 * planAreaM2 * (Math.sqrt(fromM) - Math.sqrt(toM))) / speed;
}

/** The lowest head a pipe is drained to: the last millimetre of friction flow takes for ever. */
export const LEAST_PIPE_HEAD_M = 0.001;

/**
 * Flow through a pipe under a head: h = (1 + K + f L/D) v^2 / 2g, the 1 being what leaves with the water.
 * @returns L/min
 * @throws OutOfRange
 */
export function gravityFlowLpm(headM: number, pipe: Pipe, kinematicViscosityM2PerS: number): number {
  hold('head', headM, { ...DRAIN_HEAD, least: LEAST_PIPE_HEAD_M });
  hold('minor loss coefficient', pipe.minorLossCoefficient, MINOR_LOSS);
  const used = (flowLpm: number) =>
    velocityHeadM(flowLpm, pipe.diameterMm) +
    pipeHeadLossM(
      flowLpm,
      pipe.lengthM,
      pipe.diameterMm,
      pipe.roughnessMm,
      pipe.minorLossCoefficient,
      kinematicViscosityM2PerS,
    );
  // Without any loss the water leaves at sqrt(2 g h): nothing flows faster.
  const areaM2 = Math.PI * (pipe.diameterMm / 2000) ** 2;
  const fastest = Math.sqrt(2 * STANDARD_GRAVITY * headM) * areaM2 * 60_000;
  return crossing(used, headM, 0, Math.min(fastest, FLOW.most));
}

/**
 * Time for the level of an upright vessel to fall while it drains through a pipe: A times the integral of dh / Q(h).
 * @param fromM height of the water above the pipe's end at the start, 0.001 to 20 m
 * @param toM and at the end, 0.001 m to fromM
 * @returns s
 * @throws OutOfRange
 */
export function drainThroughPipeS(
  planAreaM2: number,
  pipe: Pipe,
  fromM: number,
  toM: number,
  kinematicViscosityM2PerS: number,
): number {
  holdDrain(planAreaM2, fromM, toM);
  hold('lower head', toM, { ...DRAIN_HEAD, least: LEAST_PIPE_HEAD_M });
  // With h = u^2 the integrand is nearly a constant, because flow goes nearly as the root of head.
  const secondsPerRoot = (root: number) =>
    (2 * root * planAreaM2 * 60_000) / gravityFlowLpm(root * root, pipe, kinematicViscosityM2PerS);
  return integral(secondsPerRoot, Math.sqrt(toM), Math.sqrt(fromM), PIECES);
}

function holdDrain(planAreaM2: number, fromM: number, toM: number): void {
  hold('plan area', planAreaM2, PLAN_AREA);
  hold('upper head', fromM, DRAIN_HEAD);
  hold('lower head', toM, { least: 0, most: fromM, unit: 'm' });
}
