// What several sections need to know of a site, worked out once: which vats, their marks, what flows, what a batch takes.
// Pure; every formula is the engineering room's.
import { exchangedPerDayL } from '../engineering/consumption.ts';
import { heatingTime, type Warming } from '../engineering/heat.ts';
import { saltMassForFinalVolumeKg, waterForFinalVolumeL } from '../engineering/salting.ts';
import { exchangeFlowLpm } from '../engineering/standing.ts';
import type { TwoVats } from '../engineering/two-vats.ts';
import { type Choice, chooseVats } from './choice.ts';
import { USUAL_LOSS_W_PER_K } from './file/station-to-be.ts';
import { type LinePlan, minutesToMove, mostFlowLpm, supplyLine, transferLine } from './lines.ts';
import { type Marks, marksOf, usableFreshL, usableMixedL } from './marks.ts';
import { bestMonth, type MonthOutput, outputByMonth, worstMonth } from './purifier.ts';
import type { Site, Vat } from './site.ts';
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
/** A pump lease; see station.ts. */
export const PUMP_LEASE_S = 30;
/** Of a supply whose flow nobody knows yet, L/min: only so that a list of hardware can be read off. */
export const NOMINAL_LPM = 6;

export function designOf(site: Site): Design {
  const choice = chooseVats(site);
  const fresh = choice.fresh.vat;
  const mixing = choice.mixing.vat;
  const freshMarks = marksOf(fresh, 0);
  const transfer = transferLine(site, fresh, mixing, freshMarks);
  const mixingMarks = marksOf(mixing, (mostFlowLpm(transfer) * PUMP_LEASE_S) / 60);
  const supply = supplyLine(site, mixing, mixingMarks);
  const months = outputByMonth(site, site.vats.standMm / 1000 + rimM(fresh));
  const mixedL = usableMixedL(mixingMarks);
  const { schedule, system, salt } = site;
  const exchangePerDayL = exchangedPerDayL(system.volumeL, schedule.share, schedule.intervalDays);
  const waterShare = waterForFinalVolumeL(1, system.salinity, coldestC(site), salt.yield);
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
    drainLpm: site.drainLpm ?? supply.flowLpm ?? NOMINAL_LPM,
    circulationLpm: site.mixing.circulationLpm ?? (TURNOVERS_PER_HOUR * mixing.capacityL) / 60,
    months,
    worst: worstMonth(months),
    best: bestMonth(months),
    batch: batchOf(site, mixedL, mixingMarks, transfer, supply),
    exchangePerDayL,
    purifiedPerDayL: exchangePerDayL * waterShare + system.freshUsePerDayL,
  };
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
