// A year's course: temperatures by month, and a membrane that grows old.
import { DAYS_PER_YEAR } from './consumption.ts';
import { DAYS } from './exchange.ts';
import { hold, SHARE } from './range.ts';

/** Days of the months of a common year, January first. */
export const MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;
const YEAR = 365;

/** The middle of each month, days since the year began. */
const MIDDLES: readonly number[] = MONTH_DAYS.map(
  (days, month) => MONTH_DAYS.slice(0, month).reduce<number>((sum, each) => sum + each, 0) + days / 2,
);

/**
 * The value at a day of the year from twelve means of months: by straight lines between the middles of the months, from
 * December on to January. A mean stands for the middle of its month; held for the whole month it would jump at its end.
 * @param monthly January first
 * @param day since the year began; any number, the years are alike
 */
export function onDayOfYear(monthly: readonly number[], day: number): number {
  if (monthly.length !== MIDDLES.length) throw new RangeError(`${monthly.length} months: a year has twelve`);
  const today = ((day % YEAR) + YEAR) % YEAR;
  const next = MIDDLES.findIndex((middle) => today < middle);
  const to = next === -1 ? 0 : next;
  const from = (to + MIDDLES.length - 1) % MIDDLES.length;
  const start = MIDDLES[from] as number;
  const span = ((MIDDLES[to] as number) - start + YEAR) % YEAR;
  const share = ((today - start + YEAR) % YEAR) / span;
  return (monthly[from] as number) + share * ((monthly[to] as number) - (monthly[from] as number));
}

/** The month (0 is January) in which a day of the year lies, days since the year began; the years are alike. */
export function monthOfDay(day: number): number {
  let left = ((day % YEAR) + YEAR) % YEAR;
  return MONTH_DAYS.findIndex((days) => {
    left -= days;
    return left < 0;
  });
}

/**
 * Share of its first output that a membrane still gives: (1 - loss)^years. That output falls with the years and by about
 * a twentieth to a tenth in each is common practice, without a source; log normalised outputs (normalisedOutputLpm) to
 * know your own.
 * @param lossPerYear 0 to 1
 * @throws OutOfRange
 */
export function agedOutputShare(ageDays: number, lossPerYear: number): number {
  hold('age', ageDays, DAYS);
  hold('loss per year', lossPerYear, SHARE);
  return (1 - lossPerYear) ** (ageDays / DAYS_PER_YEAR);
}
