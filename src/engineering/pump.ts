// A pump against its pipes: where the curve meets the losses, and what flow an interlock may expect.
//
// A curve is the maker's points joined by straight lines, or one of two textbook forms. It is never read beyond its last
// point. That a pump cannot reach the height, or would run off its curve, is an answer and not an error.
import type { HeadLoss } from './hydraulics.ts';
import { crossing } from './numeric.ts';
import { FLOW, hold, OutOfRange, type Range, SHARE, SOME_FLOW } from './range.ts';

export const HEAD: Range = { least: 0, most: 500, unit: 'm' };
/** Negative where the water runs downhill. */
export const STATIC_HEAD: Range = { least: -100, most: 200, unit: 'm' };

export interface CurvePoint {
  readonly flowLpm: number;
  readonly headM: number;
}

export type PumpCurve =
  | { readonly kind: 'points'; readonly points: readonly CurvePoint[] }
  /** head = shutoffHeadM - coefficient * flowLpm ^ exponent, down to no head. */
  | {
      readonly kind: 'power';
      readonly shutoffHeadM: number;
      readonly coefficient: number;
      readonly exponent: number;
    };

/** A curve that is none: its points are too few, out of order, or rise. */
export class CurveError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'CurveError';
  }
}

/**
 * Points joined by straight lines: from no flow on, flows rising, heads never rising.
 * @throws CurveError, OutOfRange
 */
export function curveFromPoints(points: readonly CurvePoint[]): PumpCurve {
  if (points.length < 2) throw new CurveError('a pump curve needs at least two points');
  let last: CurvePoint | undefined;
  for (const point of points) {
    hold('flow of the pump curve', point.flowLpm, FLOW);
    hold('head of the pump curve', point.headM, HEAD);
    if (last === undefined && point.flowLpm !== 0) {
      throw new CurveError('a pump curve starts with its head at no flow (0 L/min)');
    }
    if (last !== undefined && point.flowLpm <= last.flowLpm) {
      throw new CurveError(`flows of a pump curve must rise: ${point.flowLpm} follows ${last.flowLpm} L/min`);
    }
    if (last !== undefined && point.headM > last.headM) {
      throw new CurveError(`heads of a pump curve must not rise: ${point.headM} follows ${last.headM} m`);
    }
    last = point;
  }
  return { kind: 'points', points };
}

/**
 * The curve through one duty point: shut-off at 4/3 of its head, no head at twice its flow
 * (EPANET 2 Users Manual, Rossman 2000, section 3.1).
 * @throws OutOfRange
 */
export function curveFromOnePoint({ flowLpm, headM }: CurvePoint): PumpCurve {
  hold('flow of the duty point', flowLpm, SOME_FLOW);
  hold('head of the duty point', headM, { ...HEAD, least: 0.001 });
  return {
    kind: 'power',
    shutoffHeadM: (4 * headM) / 3,
    coefficient: headM / (3 * flowLpm * flowLpm),
    exponent: 2,
  };
}

/**
 * The curve A - B Q^C through shut-off and two more points (EPANET 2 Users Manual, section 3.1).
 * @throws CurveError when the points do not fall, or the first is not at no flow; OutOfRange
 */
export function curveFromThreePoints(shutoff: CurvePoint, middle: CurvePoint, last: CurvePoint): PumpCurve {
  curveFromPoints([shutoff, middle, last]);
  const firstFall = shutoff.headM - middle.headM;
  const wholeFall = shutoff.headM - last.headM;
  if (firstFall <= 0 || wholeFall <= firstFall) throw new CurveError('the three heads must fall');
  const exponent = Math.log(wholeFall / firstFall) / Math.log(last.flowLpm / middle.flowLpm);
  return {
    kind: 'power',
    shutoffHeadM: shutoff.headM,
    coefficient: firstFall / middle.flowLpm ** exponent,
    exponent,
  };
}

/** Head at no flow. */
export function shutoffHeadM(curve: PumpCurve): number {
  return curve.kind === 'power' ? curve.shutoffHeadM : (curve.points[0] as CurvePoint).headM;
}

/** The flow at which the curve ends. */
export function lastFlowLpm(curve: PumpCurve): number {
  return curve.kind === 'power'
    ? (curve.shutoffHeadM / curve.coefficient) ** (1 / curve.exponent)
    : (curve.points.at(-1) as CurvePoint).flowLpm;
}

/** Head of the curve at a flow from 0 to its end. @throws OutOfRange */
export function pumpHeadM(curve: PumpCurve, flowLpm: number): number {
  const last = lastFlowLpm(curve);
  if (!(flowLpm >= 0 && flowLpm <= last)) {
    throw new OutOfRange('flow', flowLpm, { least: 0, most: last, unit: 'L/min' });
  }
  if (curve.kind === 'power') return curve.shutoffHeadM - curve.coefficient * flowLpm ** curve.exponent;
  for (let next = 1; next < curve.points.length; next++) {
    const right = curve.points[next] as CurvePoint;
    if (flowLpm > right.flowLpm) continue;
    const left = curve.points[next - 1] as CurvePoint;
    const share = (flowLpm - left.flowLpm) / (right.flowLpm - left.flowLpm);
    return left.headM + share * (right.headM - left.headM);
  }
  return (curve.points.at(-1) as CurvePoint).headM;
}

export type OperatingPoint =
  | { readonly kind: 'flows'; readonly flowLpm: number; readonly headM: number }
  /** The pump's highest head does not exceed the height: no water moves, and the pump heats what it holds. */
  | { readonly kind: 'cannot reach'; readonly shutoffHeadM: number; readonly staticHeadM: number }
  /** Even at the curve's last point the pump has head to spare: the flow is more, but the curve does not say how much. */
  | { readonly kind: 'beyond the curve'; readonly lastFlowLpm: number };

/**
 * The flow at which the pump's head is the static head plus the losses.
 * @param loss from pipesInSeries, or any loss that grows with the flow
 * @param staticHeadM height of the water's end above its start, -100 to 200 m
 * @throws OutOfRange
 */
export function operatingPoint(curve: PumpCurve, staticHeadM: number, loss: HeadLoss): OperatingPoint {
  hold('static head', staticHeadM, STATIC_HEAD);
  const shutoff = shutoffHeadM(curve);
  if (shutoff <= staticHeadM) return { kind: 'cannot reach', shutoffHeadM: shutoff, staticHeadM };
  const last = lastFlowLpm(curve);
  const missing = (flowLpm: number) => staticHeadM + loss(flowLpm) - pumpHeadM(curve, flowLpm);
  if (missing(last) < 0) return { kind: 'beyond the curve', lastFlowLpm: last };
  const flowLpm = crossing(missing, 0, 0, last);
  return { kind: 'flows', flowLpm, headM: pumpHeadM(curve, flowLpm) };
}

export type ExpectedFlow =
  | { readonly kind: 'between'; readonly leastLpm: number; readonly mostLpm: number }
  | Exclude<OperatingPoint, { readonly kind: 'flows' }>;

/**
 * What a flow meter may show while the pump runs as it should: the lower limit of a no-flow interlock and the upper
 * limit beyond which a pipe is off. Least: a worn pump against the highest static head. Most: a new one against the
 * lowest.
 * @param wearShare of head lost to wear, fouling and a low mains voltage; 0 to 1, 0.1 is common practice without a source
 * @throws OutOfRange
 */
export function expectedFlow(
  curve: PumpCurve,
  leastStaticHeadM: number,
  mostStaticHeadM: number,
  loss: HeadLoss,
  wearShare: number,
): ExpectedFlow {
  hold('wear', wearShare, SHARE);
  hold('highest static head', mostStaticHeadM, { ...STATIC_HEAD, least: leastStaticHeadM });
  const worn = operatingPoint(weakened(curve, wearShare), mostStaticHeadM, loss);
  if (worn.kind !== 'flows') return worn;
  const fresh = operatingPoint(curve, leastStaticHeadM, loss);
  if (fresh.kind !== 'flows') return fresh;
  return { kind: 'between', leastLpm: worn.flowLpm, mostLpm: fresh.flowLpm };
}

function weakened(curve: PumpCurve, share: number): PumpCurve {
  const kept = 1 - share;
  return curve.kind === 'power'
    ? {
        ...curve,
        shutoffHeadM: curve.shutoffHeadM * kept,
        coefficient: curve.coefficient * kept,
      }
    : {
        kind: 'points',
        points: curve.points.map((point) => ({ flowLpm: point.flowLpm, headM: point.headM * kept })),
      };
}
