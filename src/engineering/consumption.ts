// What a station uses, in a year and in money.
import { DAYS } from './exchange.ts';
import { POWER } from './heat.ts';
import { CONTENTS, hold, MINUTES, type Range, SHARE, SOME_FLOW, VOLUME } from './range.ts';

/** The Julian year, d: 365.25 by definition (IAU). Over decades no calendar is nearer. */
export const DAYS_PER_YEAR = 365.25;

export const PRICE: Range = { least: 0, most: 1e9, unit: '1' };

/** Water changed in a year: volume x share x (365.25 / interval). @returns L @throws OutOfRange */
export function exchangedPerYearL(systemVolumeL: number, share: number, intervalDays: number): number {
  hold('system volume', systemVolumeL, VOLUME);
  hold('share', share, SHARE);
  hold('interval', intervalDays, { ...DAYS, least: 0.001 });
  return (systemVolumeL * share * DAYS_PER_YEAR) / intervalDays;
}

/** Water a schedule needs on the average day. @returns L @throws OutOfRange */
export function exchangedPerDayL(systemVolumeL: number, share: number, intervalDays: number): number {
  return exchangedPerYearL(systemVolumeL, share, intervalDays) / DAYS_PER_YEAR;
}

/** Batches that a volume takes: the next whole number. @throws OutOfRange */
export function batchesNeeded(volumeL: number, batchL: number): number {
  hold('volume', volumeL, CONTENTS);
  hold('batch', batchL, VOLUME);
  // A hair above a whole number is rounding and no further batch.
  return Math.max(0, Math.ceil(volumeL / batchL - 1e-9));
}

/** Whole bags that a mass takes. @throws OutOfRange */
export function bagsNeeded(massKg: number, bagKg: number): number {
  hold('mass', massKg, { least: 0, most: 1e6, unit: 'kg' });
  hold('bag', bagKg, { least: 0.001, most: 1e4, unit: 'kg' });
  return Math.max(0, Math.ceil(massKg / bagKg - 1e-9));
}

/**
 * Hours until enough purified water is there: (needed - on hand) / output, 0 when it is there.
 * @throws OutOfRange
 */
export function waitForWaterHours(neededL: number, onHandL: number, outputLpm: number): number {
  hold('water needed', neededL, CONTENTS);
  hold('water on hand', onHandL, CONTENTS);
  hold('output', outputLpm, SOME_FLOW);
  return Math.max(0, neededL - onHandL) / outputLpm / 60;
}

/** Share of its time for which a purifier must run to make a daily amount; above 1 it can't. @throws OutOfRange */
export function dutyShare(perDayL: number, outputLpm: number): number {
  hold('daily use', perDayL, CONTENTS);
  hold('output', outputLpm, SOME_FLOW);
  return perDayL / (outputLpm * 1440);
}

/** Energy that a device takes from the mains. @returns kWh @throws OutOfRange */
export function energyKwh(powerW: number, minutes: number): number {
  hold('power', powerW, POWER);
  hold('time', minutes, MINUTES);
  return (powerW * minutes) / 60_000;
}

/** What an amount costs at a price for so much of it. The same unit for both amounts. @throws OutOfRange */
export function cost(amount: number, price: number, per: number): number {
  hold('amount', amount, { least: 0, most: 1e9, unit: '1' });
  hold('price', price, PRICE);
  hold('priced amount', per, { least: 1e-9, most: 1e9, unit: '1' });
  return (amount / per) * price;
}
