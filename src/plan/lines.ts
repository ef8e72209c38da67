// A pump and its pipes in this room: what it lifts, what flows, how long a volume takes, and what a flow meter may show.
// A line without a pump falls by its own height. What a line does by itself when nothing asks is in `by-itself.ts`.
import { fallingFlowLpm, submergenceMm } from '../engineering/gravity.ts';
import { type HeadLoss, pipesInSeries } from '../engineering/hydraulics.ts';
import { kinematicViscosityM2PerS } from '../engineering/properties.ts';
import { expectedFlow, lastFlowLpm, type OperatingPoint, operatingPoint } from '../engineering/pump.ts';
import { MINUTES } from '../engineering/range.ts';
import { liftM } from '../engineering/standing.ts';
import { constantFlowMinutes, transferTime } from '../engineering/transfer.ts';
import type { Marks } from './marks.ts';
import type { Line, Site, Vat } from './site.ts';
import { levelMm, planAreaM2, rimM, UNFELT_AREA_M2 } from './vat-level.ts';

/** Head lost to wear, fouling and a low mains voltage. Common practice, no source. */
export const WEAR_SHARE = 0.1;
/** What a meter may show beyond what the curve says, and where the curve says nothing. No source. */
const BESIDE_CURVE = 0.02;
const WITHOUT_CURVE = 0.3;

/** What a flow meter may show; in the station file as it stands here, so nothing rounds it. */
export interface FlowRange {
  readonly leastLpm: number;
  readonly usualLpm: number;
  readonly mostLpm: number;
}

export interface LinePlan {
  readonly line: Line;
  readonly from: Vat;
  readonly standMm: number;
  readonly salinity: number;
  readonly temperatureC: number;
  readonly loss: HeadLoss;
  readonly outletM: number;
  /** With the source full, half down, and at its low float. */
  readonly leastLiftM: number;
  readonly usualLiftM: number;
  readonly mostLiftM: number;
  /** At the usual lift. */
  readonly point: OperatingPoint;
  /** At the most. */
  readonly worst: OperatingPoint;
  /** To reckon with, L/min; null where the water does not move all the way down. */
  readonly flowLpm: number | null;
  /** From a worn pump to a new one, by the curve; null where it does not say. */
  readonly expected: { readonly leastLpm: number; readonly mostLpm: number } | null;
  /** Null where nothing flows. */
  readonly range: FlowRange | null;
}

interface Waterway {
  readonly line: Line;
  readonly from: Vat;
  readonly marks: Marks;
  /** The height against which it works, at the least and at the most: an end in air has one, an end under water two. */
  readonly outletM: { readonly least: number; readonly most: number };
  readonly standMm: number;
  readonly salinity: number;
  readonly temperatureC: number;
}

export function transferLine(
  site: Site,
  fresh: Vat,
  mixing: Vat,
  marks: Marks,
  freshStandMm = site.vats.freshStandMm,
): LinePlan {
  const outletM = site.transfer.outletM ?? site.vats.mixingStandMm / 1000 + rimM(mixing);
  return linePlan({
    line: site.transfer,
    from: fresh,
    marks,
    outletM: { least: outletM, most: outletM },
    standMm: freshStandMm,
    salinity: 0,
    temperatureC: Math.min(site.room.temperatureC, ...site.inlet.temperaturesC),
  });
}

export function supplyLine(
  site: Site,
  mixing: Vat,
  marks: Marks,
  standMm = site.vats.mixingStandMm,
): LinePlan {
  const { outletM, endsUnderWater } = site.supply;
  const { levelM } = site.system;
  const isUnder = endsUnderWater && levelM !== null;
  return linePlan({
    line: site.supply,
    from: mixing,
    marks,
    outletM: {
      least: isUnder ? Math.max(outletM, levelM.least) : outletM,
      most: isUnder ? Math.max(outletM, levelM.most) : outletM,
    },
    standMm,
    salinity: site.system.salinity,
    // Cold water is thick; a batch may be delivered unheated.
    temperatureC: Math.min(site.room.temperatureC, site.system.temperatureC),
  });
}

function linePlan(way: Waterway): LinePlan {
  const { line, from, marks, outletM, standMm } = way;
  const lift = (toM: number, contentsL: number) =>
    liftM(toM, standMm / 1000, levelMm(from, contentsL) / 1000);
  const loss = pipesInSeries(line.pipes, kinematicViscosityM2PerS(way.salinity, way.temperatureC));
  const leastLiftM = lift(outletM.least, marks.highL);
  const usualLiftM = lift((outletM.least + outletM.most) / 2, (marks.highL + marks.emptyL) / 2);
  const mostLiftM = lift(outletM.most, marks.emptyL);
  const worst = pointOf(line, mostLiftM, loss);
  const point = pointOf(line, usualLiftM, loss);
  const flowLpm = worst.kind === 'cannot reach' ? null : flowOf(point, line);
  const expected = expectedOf(line, leastLiftM, mostLiftM, loss);
  return {
    line,
    from,
    standMm,
    salinity: way.salinity,
    temperatureC: way.temperatureC,
    loss,
    outletM: outletM.most,
    leastLiftM,
    usualLiftM,
    mostLiftM,
    point,
    worst,
    flowLpm,
    expected,
    range: flowLpm === null ? null : rangeOf(expected, flowLpm),
  };
}

/** Where the pump meets its pipes; without a pump, what falls. */
function pointOf({ curve }: Line, staticM: number, loss: HeadLoss): OperatingPoint {
  if (curve !== null) return operatingPoint(curve, staticM, loss);
  return staticM >= 0
    ? { kind: 'cannot reach', shutoffHeadM: 0, staticHeadM: staticM }
    : { kind: 'flows', flowLpm: fallingFlowLpm(-staticM, loss), headM: -staticM };
}

/** Beyond its curve a pump moves at least what the curve's end says. */
function flowOf(point: OperatingPoint, { curve }: Line): number | null {
  if (point.kind === 'flows') return point.flowLpm;
  return point.kind === 'beyond the curve' && curve !== null ? lastFlowLpm(curve) : null;
}

function expectedOf(line: Line, leastLiftM: number, mostLiftM: number, loss: HeadLoss): LinePlan['expected'] {
  if (line.curve !== null) {
    const expected = expectedFlow(line.curve, leastLiftM, mostLiftM, loss, WEAR_SHARE);
    return expected.kind === 'between' ? expected : null;
  }
  // Height does not wear; dirt in the pipe does the same.
  const leastLpm = flowOf(pointOf(line, (1 - WEAR_SHARE) * mostLiftM, loss), line);
  const mostLpm = flowOf(pointOf(line, leastLiftM, loss), line);
  return leastLpm === null || mostLpm === null ? null : { leastLpm, mostLpm };
}

/** What the curve allows, and a little; a wide guess where the curve does not say. */
function rangeOf(expected: LinePlan['expected'], usualLpm: number): FlowRange {
  if (expected === null)
    return {
      leastLpm: (1 - WITHOUT_CURVE) * usualLpm,
      usualLpm,
      mostLpm: (1 + WITHOUT_CURVE) * usualLpm,
    };
  const { leastLpm, mostLpm } = expected;
  return {
    leastLpm: (1 - BESIDE_CURVE) * leastLpm,
    usualLpm: Math.min(Math.max(usualLpm, leastLpm), mostLpm),
    mostLpm: (1 + BESIDE_CURVE) * mostLpm,
  };
}

/** The same line behind a hand valve that lets no more through than so much. */
export function throttled(plan: LinePlan, mostLpm: number): LinePlan {
  const { range, flowLpm } = plan;
  if (range === null || flowLpm === null || range.mostLpm <= mostLpm) return plan;
  const share = mostLpm / range.mostLpm;
  return {
    ...plan,
    flowLpm: flowLpm * share,
    range: { leastLpm: range.leastLpm * share, usualLpm: range.usualLpm * share, mostLpm },
  };
}

/** The level in its vat at which a line must stop, so that its intake draws no air. */
export function drawnAboveMm(line: Line, flowLpm: number): number {
  return line.inletMm + submergenceMm(flowLpm, line.intakeMm);
}

/** Minutes to move a volume out of the source from a full mark down, its level falling; null where it does not move. */
export function minutesToMove(plan: LinePlan, volumeL: number): number | null {
  if (volumeL <= 0) return 0;
  const { line, loss, from, leastLiftM, flowLpm } = plan;
  if (flowLpm === null) return null;
  const steady = Math.min(constantFlowMinutes(volumeL, flowLpm), MINUTES.most);
  if (line.curve === null) return steady;
  const moved = transferTime(volumeL, line.curve, leastLiftM, loss, planAreaM2(from), UNFELT_AREA_M2);
  // Off the curve at the start only its last flow is known; it is on the safe side.
  return moved.kind === 'moved' ? moved.minutes : steady;
}
