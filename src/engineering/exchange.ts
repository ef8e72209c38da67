// Changing water: what stays of the old after batches or a trickle, with a system that goes on producing, and with flows
// that do not quite match.
//
// The system is taken as well mixed. A corner that does not mix keeps its old water, and a new pipe that ends beside the
// drain carries new water straight out; then every figure here is too good. Constant density: for waters a few g/kg
// apart the error is below 0.1 %.
import { decayMean } from './numeric.ts';
import { CONTENTS, FLOW, hold, MINUTES, type Range, SHARE, VOLUME } from './range.ts';

export const CHANGES: Range = { least: 0, most: 1e6, unit: '1' };
export const VOLUMES_EXCHANGED: Range = { least: 0, most: 1000, unit: '1' };
/** A remaining share that can still be reached. */
export const REMAINING: Range = { least: 1e-9, most: 1, unit: '1' };
/** A share that changes something and leaves something. */
export const CHANGE_SHARE: Range = { least: 1e-6, most: 1, unit: '1' };
/** And one whose logarithm is a number: a change of everything leaves nothing. */
export const PART_SHARE: Range = { ...CHANGE_SHARE, most: 0.999 };
export const CONCENTRATION: Range = { least: 0, most: 1e6, unit: 'mg/L' };
export const PRODUCTION: Range = { least: 0, most: 1e5, unit: 'mg/(L d)' };
export const TURNOVER: Range = { least: 0, most: 1000, unit: '1/d' };
export const DAYS: Range = { least: 0, most: 36_525, unit: 'd' };
export const INTERVAL: Range = { ...DAYS, least: 0.001 };

/**
 * Share of the old solute left after changes that draw first and then fill: (1 - share)^changes.
 * @param changes 0 to 1000000; whole or not
 * @param share of the system's volume in each change, 0 to 1
 * @throws OutOfRange
 */
export function soluteRemainingBatch(changes: number, share: number): number {
  hold('changes', changes, CHANGES);
  hold('share', share, SHARE);
  return (1 - share) ** changes;
}

/** The same when new water is put in before the old is drawn: (1 / (1 + share))^changes. Wastes some. @throws OutOfRange */
export function soluteRemainingFillFirst(changes: number, share: number): number {
  hold('changes', changes, CHANGES);
  hold('share', share, SHARE);
  return (1 + share) ** -changes;
}

/**
 * Share of the old solute left after a trickle in and out at equal flows: exp(-volumes), the washout of a stirred tank
 * (Danckwerts 1953, Chem. Eng. Sci. 2, 1-13; Levenspiel, Chemical Reaction Engineering). The same litres in batches
 * remove more.
 * @param volumesExchanged water exchanged over the system's volume, 0 to 1000
 * @throws OutOfRange
 */
export function soluteRemainingContinuous(volumesExchanged: number): number {
  hold('volumes exchanged', volumesExchanged, VOLUMES_EXCHANGED);
  return Math.exp(-volumesExchanged);
}

/** Changes (a real number: round up) that bring the solute down to a share. @throws OutOfRange */
export function changesNeeded(remaining: number, share: number): number {
  hold('remaining share', remaining, REMAINING);
  hold('share', share, PART_SHARE);
  return Math.log(remaining) / Math.log1p(-share);
}

/** Volumes of a trickle that bring the solute down to a share: -ln(remaining). @throws OutOfRange */
export function volumesNeeded(remaining: number): number {
  hold('remaining share', remaining, REMAINING);
  return -Math.log(remaining);
}

/**
 * Any well-mixed property after an exchange: incoming + (present - incoming) remaining. Salinity, solute, temperature.
 * @param remaining share of the old water left, from the functions above
 */
export function afterExchange(present: number, incoming: number, remaining: number): number {
  hold('remaining share', remaining, SHARE);
  return incoming + (present - incoming) * remaining;
}

/** The share at which changes every `otherDays` do what `share` does every `days`: 1 - (1 - share)^(other/days). @throws OutOfRange */
export function equalShare(share: number, days: number, otherDays: number): number {
  hold('share', share, PART_SHARE);
  hold('interval', days, INTERVAL);
  hold('other interval', otherDays, INTERVAL);
  return -Math.expm1((otherDays / days) * Math.log1p(-share));
}

/**
 * Concentration under a trickle while the system produces: dc/dt = p - n (c - c_in).
 * @param turnoverPerDay volumes exchanged per day, 0 for none
 * @returns mg/L
 * @throws OutOfRange
 */
export function concentrationAfterMgPerL(
  presentMgPerL: number,
  incomingMgPerL: number,
  productionMgPerLPerDay: number,
  turnoverPerDay: number,
  days: number,
): number {
  hold('concentration', presentMgPerL, CONCENTRATION);
  hold('incoming concentration', incomingMgPerL, CONCENTRATION);
  hold('production', productionMgPerLPerDay, PRODUCTION);
  hold('turnover', turnoverPerDay, TURNOVER);
  hold('time', days, DAYS);
  const passed = -Math.expm1(-turnoverPerDay * days);
  const produced = productionMgPerLPerDay * days * decayMean(turnoverPerDay * days);
  return presentMgPerL + (incomingMgPerL - presentMgPerL) * passed + produced;
}

/**
 * Where batch changes of a producing system settle: just before a change, incoming + p t / share. Just after, the same
 * less p t.
 * @param share 0.000001 to 1
 * @returns mg/L, the highest the system sees
 * @throws OutOfRange
 */
export function settledPeakMgPerL(
  incomingMgPerL: number,
  productionMgPerLPerDay: number,
  share: number,
  intervalDays: number,
): number {
  hold('incoming concentration', incomingMgPerL, CONCENTRATION);
  hold('production', productionMgPerLPerDay, PRODUCTION);
  hold('share', share, CHANGE_SHARE);
  hold('interval', intervalDays, INTERVAL);
  return incomingMgPerL + (productionMgPerLPerDay * intervalDays) / share;
}

export type Drift =
  | { readonly kind: 'contents'; readonly volumeL: number; readonly salinity: number }
  | { readonly kind: 'runs dry'; readonly afterMinutes: number }
  | { readonly kind: 'overflows'; readonly afterMinutes: number };

/**
 * Volume and salinity while water flows in and out at flows that need not match: V = V0 + (Qi - Qo) t,
 * S = Si + (S0 - Si) (V/V0)^(-Qi/(Qi-Qo)), whose limit for equal flows is the exponential.
 * @param salinity and incoming: any salinity, practical or by mass, the same for both
 * @param capacityL of the vessel, at least volumeL
 * @throws OutOfRange
 */
export function driftedContents(
  volumeL: number,
  salinity: number,
  inflowLpm: number,
  incoming: number,
  outflowLpm: number,
  minutes: number,
  capacityL: number,
): Drift {
  hold('volume', volumeL, VOLUME);
  hold('salinity', salinity, { least: 0, most: 50, unit: '1' });
  hold('incoming salinity', incoming, { least: 0, most: 50, unit: '1' });
  hold('inflow', inflowLpm, FLOW);
  hold('outflow', outflowLpm, FLOW);
  hold('time', minutes, MINUTES);
  hold('capacity', capacityL, { ...CONTENTS, least: volumeL });
  const net = inflowLpm - outflowLpm;
  const after = volumeL + net * minutes;
  if (after <= 0) return { kind: 'runs dry', afterMinutes: volumeL / -net };
  if (after > capacityL) return { kind: 'overflows', afterMinutes: (capacityL - volumeL) / net };
  // ln(V/V0) / net, whose limit for equal flows is t / V0, without the cancellation near that limit.
  const growth = (net * minutes) / volumeL;
  const turns = (inflowLpm * minutes * (growth === 0 ? 1 : Math.log1p(growth) / growth)) / volumeL;
  return { kind: 'contents', volumeL: after, salinity: afterExchange(salinity, incoming, Math.exp(-turns)) };
}

export type Autonomy =
  | { readonly kind: 'lasts'; readonly days: number }
  /** As much is made as is used. */
  | { readonly kind: 'for ever' };

/** Days that water (or salt) on hand lasts at a daily use, less what is made daily. Any unit, the same for all three. @throws OutOfRange */
export function daysOfAutonomy(onHand: number, usePerDay: number, madePerDay: number): Autonomy {
  hold('on hand', onHand, CONTENTS);
  hold('daily use', usePerDay, CONTENTS);
  hold('made daily', madePerDay, CONTENTS);
  if (usePerDay <= madePerDay) return { kind: 'for ever' };
  const days = onHand / (usePerDay - madePerDay);
  return Number.isFinite(days) ? { kind: 'lasts', days } : { kind: 'for ever' };
}

export const TOLERANCE: Range = { least: 0.001, most: 40, unit: 'K' };
export const SYSTEM_TEMPERATURE: Range = { least: -2, most: 40, unit: 'degC' };

/**
 * Largest share of unheated (or uncooled) water that changes a system's temperature by no more than so much, in one
 * change drawn first and filled after: share = dT / |Ts - Tin|, at most 1.
 * @param toleranceK 0.001 to 40 K
 * @throws OutOfRange
 */
export function largestShareForTemperature(toleranceK: number, systemC: number, incomingC: number): number {
  hold('tolerance', toleranceK, TOLERANCE);
  hold('system temperature', systemC, SYSTEM_TEMPERATURE);
  hold('incoming temperature', incomingC, SYSTEM_TEMPERATURE);
  const apart = Math.abs(systemC - incomingC);
  return apart <= toleranceK ? 1 : toleranceK / apart;
}
