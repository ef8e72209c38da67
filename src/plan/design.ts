// What several sections need to know of a site, worked out once: which vats, their marks, what flows, what a batch takes.
// Pure; every formula is the engineering room's.
import { exchangedPerDayL } from '../engineering/consumption.ts';
import { heatingTime, type Warming } from '../engineering/heat.ts';
import { saltMassForFinalVolumeKg, waterForFinalVolumeL } from '../engineering/salting.ts';
import { exchangeFlowLpm } from '../engineering/standing.ts';
import type { TwoVats } from '../engineering/two-vats.ts';
import { atRest, type DrainRest, drainAtRest, type Rest } from './by-itself.ts';
import { type Choice, chooseVats } from './choice.ts';
import { USUAL_LOSS_W_PER_K } from './file/station-to-be.ts';
import { drawnAboveMm, type LinePlan, minutesToMove, supplyLine, throttled, transferLine } from './lines.ts';
import { type Marks, marksOf, RESTFUL, usableFreshL, usableMixedL } from './marks.ts';
import { bestMonth, type MonthOutput, outputByMonth, worstMonth } from './purifier.ts';
import type { Site, Vat } from './site.ts';
import { systemMarksOf } from './system-marks.ts';
import { rimM } from './vat-level.ts';

export interface Batch {
  /** What is made and can be delivered, L. */
  readonly mixedL: number;
  /** Purified water in it. */
  readonly purifiedL: number;
  readonly saltKg: number;
  /** The coldest that the water may be when heating begins. */
  readonly fromC: number;
  /** Null without a heater. */
  readonly heating: Warming | null;
  readonly transferMinutes: number | null;
  readonly supplyMinutes: number | null;
  /** From the last drop moved until it is ready, somebody standing by with the salt. */
  readonly preparationMinutes: number;
}

export interface Design {
  readonly site: Site;
  readonly choice: Choice;
  readonly fresh: Vat;
  readonly mixing: Vat;
  readonly freshMarks: Marks;
  readonly mixingMarks: Marks;
  /** Usable litres of the two when full. */
  readonly freshL: number;
  readonly mixedL: number;
  readonly transfer: LinePlan;
  readonly supply: LinePlan;
  readonly rest: { readonly transfer: Rest; readonly supply: Rest; readonly drain: DrainRest };
  readonly leases: Leases;
  readonly drainLpm: number;
  readonly circulationLpm: number;
  readonly months: readonly MonthOutput[];
  readonly worst: MonthOutput;
  readonly best: MonthOutput;
  readonly batch: Batch;
  /** Mixed water that the schedule takes on the average day, and purified water with what is drawn beside it. */
  readonly exchangePerDayL: number;
  readonly purifiedPerDayL: number;
}

/** Weighing and pouring, somebody being there. No source. */
export const SALTING_MINUTES = 15;
/** Until a measurement has stood still. */
export const STEADY_MINUTES = 5;
/** Circulation that turns the mixing vat over ten times in an hour. Common practice, no source. */
const TURNOVERS_PER_HOUR = 10;
/** How long a pump may run on unasked, the longest first: the first that fits below the brim is taken. */
const PUMP_LEASES_S = [30, 20, 12] as const;
const SHORTEST_LEASE_S = 12;

/** What the floats above a pump's end leave room for. */
export interface Leases {
  readonly transferS: number;
  readonly supplyS: number;
  /** Where not even the shortest lease fits: the pump has to be throttled to this, L/min. */
  readonly throttle: { readonly transferLpm: number | null; readonly supplyLpm: number | null };
}
/** Of a supply whose flow nobody knows yet, L/min: only so that a list of hardware can be read off. */
export const NOMINAL_LPM = 6;

export function designOf(given: Site): Design {
  const site = withOnePump(given);
  const choice = chooseVats(site);
  const fresh = choice.fresh.vat;
  const mixing = choice.mixing.vat;
  const asked = transferLine(site, fresh, mixing, marksOf(fresh, RESTFUL));
  const freshMarks = marksOf(fresh, { runOnL: 0, drawnAboveMm: drawnBy(asked) });
  const drawnAbove = drawnBy(supplyLine(site, mixing, marksOf(mixing, RESTFUL)));
  const moved = transferLine(site, fresh, mixing, freshMarks);
  const filling = fillingOf(mixing, moved.range?.mostLpm ?? 0, drawnAbove);
  const transfer = filling.throttleLpm === null ? moved : throttled(moved, filling.throttleLpm);
  const mixingMarks = filling.marks;
  const delivered = supplyLine(site, mixing, mixingMarks);
  const system = systemLease(site, delivered.range?.mostLpm ?? 0);
  const supply = system.throttleLpm === null ? delivered : throttled(delivered, system.throttleLpm);
  const months = outputByMonth(site, site.vats.freshStandMm / 1000 + rimM(fresh));
  const mixedL = usableMixedL(mixingMarks);
  const { schedule, salt } = site;
  const exchangePerDayL = exchangedPerDayL(site.system.volumeL, schedule.share, schedule.intervalDays);
  const waterShare = waterForFinalVolumeL(1, site.system.salinity, coldestC(site), salt.yield);
  return {
    site,
    choice,
    fresh,
    mixing,
    freshMarks,
    mixingMarks,
    freshL: usableFreshL(freshMarks),
    mixedL,
    transfer,
    supply,
    rest: {
      transfer: atRest(site, transfer, freshMarks, { vat: mixing, marks: mixingMarks }),
      supply: atRest(site, supply, mixingMarks, null),
      drain: drainAtRest(site),
    },
    leases: {
      transferS: filling.leaseS,
      supplyS: system.leaseS,
      throttle: { transferLpm: filling.throttleLpm, supplyLpm: system.throttleLpm },
    },
    drainLpm: site.drain.lpm ?? supply.flowLpm ?? NOMINAL_LPM,
    circulationLpm: site.mixing.circulationLpm ?? (TURNOVERS_PER_HOUR * mixing.capacityL) / 60,
    months,
    worst: worstMonth(months),
    best: bestMonth(months),
    batch: batchOf(site, mixedL, mixingMarks, transfer, supply),
    exchangePerDayL,
    purifiedPerDayL: exchangePerDayL * waterShare + site.system.freshUsePerDayL,
  };
}

/** One pump for all is the supply's. */
function withOnePump(site: Site): Site {
  if (!site.onePump) return site;
  const { model, curve, powerW } = site.supply;
  return { ...site, transfer: { ...site.transfer, model, curve, powerW } };
}

/** The level down to which a line may draw; its bare intake where nothing flows. */
function drawnBy({ line, range }: LinePlan): number {
  return range === null ? line.inletMm : drawnAboveMm(line, range.usualLpm);
}

/** Rounding of the file's litres and flows, together. */
const ROUNDING = 1.01;
const ROUNDING_L = 0.3;

/** The longest lease with which the mixing vat keeps its usual high float, else the shortest, else a throttle. */
function fillingOf(mixing: Vat, mostLpm: number, drawnAbove: number) {
  const marksWith = (leaseS: number, lpm: number) =>
    marksOf(mixing, {
      runOnL: (ROUNDING * lpm * leaseS) / 60 + ROUNDING_L,
      drawnAboveMm: drawnAbove,
    });
  const leaseS = PUMP_LEASES_S.find((s) => fits(marksWith(s, mostLpm), s, mostLpm)) ?? SHORTEST_LEASE_S;
  const marks = marksWith(leaseS, mostLpm);
  if (fits(marks, leaseS, mostLpm)) return { leaseS, marks, throttleLpm: null };
  const throttleLpm = (roomAboveL(marks) * 60) / leaseS / ROUNDING;
  return { leaseS, marks: marksWith(leaseS, throttleLpm), throttleLpm };
}

const roomAboveL = ({ capacityL, marginL, highL, toleranceL }: Marks): number =>
  capacityL - marginL - highL - toleranceL - ROUNDING_L;

const fits = (marks: Marks, leaseS: number, lpm: number): boolean =>
  (ROUNDING * lpm * leaseS) / 60 <= roomAboveL(marks);

/** The same at the system, whose marks are shares of what it can take. */
function systemLease(site: Site, mostLpm: number) {
  const { capacityL, marginL, highL, toleranceL } = systemMarksOf(site);
  const roomL = capacityL - marginL - highL - toleranceL - ROUNDING_L;
  const leaseS = PUMP_LEASES_S.find((s) => (ROUNDING * mostLpm * s) / 60 <= roomL) ?? SHORTEST_LEASE_S;
  const isFit = (ROUNDING * mostLpm * leaseS) / 60 <= roomL;
  return { leaseS, throttleLpm: isFit ? null : Math.max(0.05, (roomL * 60) / leaseS / ROUNDING) };
}

/** A vat fills in about a day: its water is somewhere between the inlet's temperature and the room's. */
export function coldestC({ room, inlet }: Site): number {
  return Math.min(room.temperatureC, ...inlet.temperaturesC);
}

function batchOf(site: Site, mixedL: number, marks: Marks, transfer: LinePlan, supply: LinePlan): Batch {
  const { system, salt, mixing } = site;
  const fromC = coldestC(site);
  const heating = heatingOf(site, marks.batchL, fromC);
  const heatMinutes = heating?.kind === 'reached' ? heating.hours * 60 : 0;
  const purifiedL = waterForFinalVolumeL(mixedL, system.salinity, fromC, salt.yield);
  return {
    mixedL,
    purifiedL,
    saltKg: saltMassForFinalVolumeKg(mixedL, system.salinity, fromC, salt.yield),
    fromC,
    heating,
    transferMinutes: minutesToMove(transfer, purifiedL),
    supplyMinutes: minutesToMove(supply, mixedL),
    preparationMinutes:
      SALTING_MINUTES + mixing.dissolveMinutes + mixing.settleMinutes + STEADY_MINUTES + heatMinutes,
  };
}

function heatingOf(site: Site, litres: number, fromC: number): Warming | null {
  if (site.heater === null) return null;
  const { powerW, lossWPerK } = site.heater;
  const { salinity, temperatureC } = site.system;
  if (fromC >= temperatureC) return { kind: 'reached', hours: 0 };
  return heatingTime(litres, salinity, fromC, temperatureC, powerW, lossWPerK, site.room.temperatureC);
}

export const lossWPerK = ({ heater }: Site): number => heater?.lossWPerK ?? USUAL_LOSS_W_PER_K;

/** The two vats at an output of the purifier; null where a pump or the purifier moves nothing. */
export function twoVats(design: Design, outputLpm: number): TwoVats | null {
  const { transfer, supply, drainLpm, freshL, mixedL, batch } = design;
  if (transfer.flowLpm === null || supply.flowLpm === null || outputLpm <= 0) return null;
  return {
    freshL,
    mixedL,
    outputLpm,
    transferLpm: transfer.flowLpm,
    // An exchange drains a step and then delivers it: a litre takes both.
    supplyLpm: exchangeFlowLpm(drainLpm, supply.flowLpm),
    preparationMinutes: batch.preparationMinutes,
  };
}
