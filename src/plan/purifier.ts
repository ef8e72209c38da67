// What the purifier brings in each month of this site: temperature, line pressure, the back pressure of a tall vat, and
// the age of the membrane.
import { netDrivingPressureKpa, purifierOutput } from '../engineering/purification.ts';
import { agedOutputShare, MONTH_DAYS } from '../engineering/season.ts';
import { columnPressureKpa } from '../engineering/standing.ts';
import type { Site } from './site.ts';

/** Of what comes in; osmosis on the purified side hardly counts. Common practice, no source. */
const PASSED_SHARE = 0.03;
/** A litre and a half a day is a drip and no purifier. */
const LEAST_LPM = 0.001;

export const MONTHS = [
  'Jan',
  'Feb',
  'Mar',
  'Apr',
  'May',
  'Jun',
  'Jul',
  'Aug',
  'Sep',
  'Oct',
  'Nov',
  'Dec',
] as const;

export interface MonthOutput {
  readonly month: (typeof MONTHS)[number];
  readonly temperatureC: number;
  /** With a new membrane, and with one at the end of its life; 0 where the line is too weak. */
  readonly newLpm: number;
  readonly oldLpm: number;
}

/** @param rimM height over the floor to which the purified water is pressed */
export function outputByMonth(site: Site, rimM: number): MonthOutput[] {
  return site.inlet.temperaturesC.map((temperatureC, month) => {
    const newLpm = outputLpm(site, rimM, temperatureC, 0);
    return {
      month: MONTHS[month] ?? 'Jan',
      temperatureC,
      newLpm,
      oldLpm: outputLpm(site, rimM, temperatureC, site.purifier.lifeDays),
    };
  });
}

/** Output with a membrane of an age. @returns L/min, 0 where the pressure does not even pay the osmosis and the height */
export function outputLpm(site: Site, rimM: number, temperatureC: number, ageDays: number): number {
  const { purifier, inlet } = site;
  const ratedKpa = drivingKpa(purifier.ratedKpa, purifier.ratedMgPerL, 0, site, 25);
  if (ratedKpa <= 0) return 0;
  const backKpa = columnPressureKpa(rimM, 0, temperatureC);
  const nowKpa = drivingKpa(inlet.pressureKpa, inlet.dissolvedMgPerL, backKpa, site, temperatureC);
  const { ratedLpm, constantK, lossPerYear } = purifier;
  const output = purifierOutput(ratedLpm, ratedKpa, nowKpa, temperatureC, constantK);
  const lpm = output.kind === 'flows' ? output.outputLpm * agedOutputShare(ageDays, lossPerYear) : 0;
  return lpm < LEAST_LPM ? 0 : lpm;
}

function drivingKpa(
  pressureKpa: number,
  mgPerL: number,
  backKpa: number,
  { purifier }: Site,
  temperatureC: number,
): number {
  return netDrivingPressureKpa(
    pressureKpa,
    0,
    Math.max(0, backKpa),
    mgPerL,
    mgPerL * PASSED_SHARE,
    purifier.recovery,
    temperatureC,
  );
}

/**
 * Litres to the drain for each purified one. A fixed restrictor passes what it passes at the rating, as the root of the
 * line pressure goes, whatever the membrane gives: so the ratio climbs in the cold and with age. A valve that is set anew
 * keeps the recovery.
 */
export function rejectRatio({ purifier, inlet }: Site, outputLpm: number): number {
  const ofRecovery = 1 / purifier.recovery - 1;
  if (purifier.restrictor === 'set by hand' || outputLpm <= 0) return ofRecovery;
  const rejectLpm = purifier.ratedLpm * ofRecovery * Math.sqrt(inlet.pressureKpa / purifier.ratedKpa);
  return rejectLpm / outputLpm;
}

/** To the drain in a year, the membrane half worn in the mean. */
export function rejectPerYearL(months: readonly MonthOutput[], site: Site, purifiedPerDayL: number): number {
  return months.reduce((sum, { newLpm, oldLpm }, month) => {
    const ratio = rejectRatio(site, (newLpm + oldLpm) / 2);
    return sum + (MONTH_DAYS[month] ?? 30) * purifiedPerDayL * ratio;
  }, 0);
}

/** The month with the least output: where it is equal, the first. */
export function worstMonth(months: readonly MonthOutput[]): MonthOutput {
  return months.reduce((worst, month) => (month.oldLpm < worst.oldLpm ? month : worst));
}

export function bestMonth(months: readonly MonthOutput[]): MonthOutput {
  return months.reduce((best, month) => (month.newLpm > best.newLpm ? month : best));
}
