// A pump and its pipes in this room: what it lifts, what flows, and how long a volume takes.
import { type HeadLoss, pipesInSeries } from '../engineering/hydraulics.ts';
import { kinematicViscosityM2PerS } from '../engineering/properties.ts';
import {
  type ExpectedFlow,
  expectedFlow,
  lastFlowLpm,
  type OperatingPoint,
  operatingPoint,
} from '../engineering/pump.ts';
import { liftM } from '../engineering/standing.ts';
import { constantFlowMinutes, transferTime } from '../engineering/transfer.ts';
import type { Marks } from './marks.ts';
import type { Line, Site, Vat } from './site.ts';
import { levelMm, planAreaM2, rimM, UNFELT_AREA_M2 } from './vat-level.ts';

/** Head lost to wear, fouling and a low mains voltage. Common practice, no source. */
export const WEAR_SHARE = 0.1;

export interface LinePlan {
  readonly line: Line;
  readonly from: Vat;
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
  /** What a flow meter may show from a new pump to a worn one. */
  readonly expected: ExpectedFlow;
  /** To reckon with, L/min; null where the water does not move all the way down. */
  readonly flowLpm: number | null;
}

interface Waterway {
  readonly line: Line;
  readonly from: Vat;
  readonly marks: Marks;
  readonly outletM: number;
  readonly standMm: number;
  readonly salinity: number;
  readonly temperatureC: number;
}

export function transferLine(site: Site, fresh: Vat, mixing: Vat, marks: Marks): LinePlan {
  const standM = site.vats.standMm / 1000;
  return linePlan({
    line: site.transfer,
    from: fresh,
    marks,
    outletM: site.transfer.outletM ?? standM + rimM(mixing),
    standMm: site.vats.standMm,
    salinity: 0,
    temperatureC: Math.min(site.room.temperatureC, ...site.inlet.temperaturesC),
  });
}

export function supplyLine(site: Site, mixing: Vat, marks: Marks, standMm = site.vats.standMm): LinePlan {
  return linePlan({
    line: site.supply,
    from: mixing,
    marks,
    outletM: site.supply.outletM,
    standMm,
    salinity: site.system.salinity,
    // Cold water is thick; a batch may be delivered unheated.
    temperatureC: Math.min(site.room.temperatureC, site.system.temperatureC),
  });
}

function linePlan(way: Waterway): LinePlan {
  const { line, from, marks, outletM, standMm } = way;
  const lift = (contentsL: number) => liftM(outletM, standMm / 1000, levelMm(from, contentsL) / 1000);
  const loss = pipesInSeries(line.pipes, kinematicViscosityM2PerS(way.salinity, way.temperatureC));
  const leastLiftM = lift(marks.highL);
  const usualLiftM = lift((marks.highL + marks.emptyL) / 2);
  const mostLiftM = lift(marks.emptyL);
  const worst = operatingPoint(line.curve, mostLiftM, loss);
  return {
    line,
    from,
    loss,
    outletM,
    leastLiftM,
    usualLiftM,
    mostLiftM,
    point: operatingPoint(line.curve, usualLiftM, loss),
    worst,
    expected: expectedFlow(line.curve, leastLiftM, mostLiftM, loss, WEAR_SHARE),
    flowLpm:
      worst.kind === 'cannot reach' ? null : flowOf(operatingPoint(line.curve, usualLiftM, loss), line),
  };
}

/** Beyond its curve a pump moves at least what the curve's end says. */
function flowOf(point: OperatingPoint, { curve }: Line): number | null {
  if (point.kind === 'flows') return point.flowLpm;
  return point.kind === 'beyond the curve' ? lastFlowLpm(curve) : null;
}

/** Greatest flow that the line may have, L/min, for what runs on after a float spoke; 0 where nothing flows. */
export function mostFlowLpm({ line, leastLiftM, loss }: LinePlan): number {
  return flowOf(operatingPoint(line.curve, leastLiftM, loss), line) ?? 0;
}

/** Minutes to move a volume out of the source from a full mark down, its level falling; null where it does not move. */
export function minutesToMove(plan: LinePlan, volumeL: number): number | null {
  if (volumeL <= 0) return 0;
  const { line, loss, from, leastLiftM, flowLpm } = plan;
  if (flowLpm === null) return null;
  const moved = transferTime(volumeL, line.curve, leastLiftM, loss, planAreaM2(from), UNFELT_AREA_M2);
  // Off the curve at the start only its last flow is known; it is on the safe side.
  return moved.kind === 'moved' ? moved.minutes : constantFlowMinutes(volumeL, flowLpm);
}
