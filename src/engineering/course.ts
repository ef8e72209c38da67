// How a solute moves over weeks in a system that produces it: in batches, or by a trickle, with the same water.
import {
  afterExchange,
  CHANGE_SHARE,
  CONCENTRATION,
  concentrationAfterMgPerL,
  DAYS,
  PRODUCTION,
  TURNOVER,
} from './exchange.ts';
import { hold } from './range.ts';

export interface Moment {
  readonly days: number;
  readonly mgPerL: number;
}

/** A change or a day more than anybody plans. */
const MOST_MOMENTS = 20_000;

/**
 * Concentration under batch changes, drawn first and filled after, each `intervalDays` after the one before: between
 * them it rises in a straight line by the production, at each it falls to incoming + (present - incoming)(1 - share)
 * (mass balance of a stirred vessel; Levenspiel, Chemical Reaction Engineering).
 * @returns the corners of the course: the beginning, each change twice (before and after), and the end
 * @throws OutOfRange
 */
export function courseOfBatches(
  presentMgPerL: number,
  incomingMgPerL: number,
  productionMgPerLPerDay: number,
  share: number,
  intervalDays: number,
  days: number,
): Moment[] {
  hold('concentration', presentMgPerL, CONCENTRATION);
  hold('incoming concentration', incomingMgPerL, CONCENTRATION);
  hold('production', productionMgPerLPerDay, PRODUCTION);
  hold('share', share, CHANGE_SHARE);
  hold('time', days, DAYS);
  // A finer rhythm than the list of corners can hold is a trickle, and has its own formula.
  hold('interval', intervalDays, { ...DAYS, least: Math.max(days / MOST_MOMENTS, 1e-3) });
  const course: Moment[] = [{ days: 0, mgPerL: presentMgPerL }];
  const changes = Math.floor(days / intervalDays + 1e-9);
  let mgPerL = presentMgPerL;
  for (let change = 1; change <= changes; change++) {
    mgPerL += productionMgPerLPerDay * intervalDays;
    course.push({ days: change * intervalDays, mgPerL });
    mgPerL = afterExchange(mgPerL, incomingMgPerL, 1 - share);
    course.push({ days: change * intervalDays, mgPerL });
  }
  const left = Math.max(0, days - changes * intervalDays);
  if (left > 0) course.push({ days, mgPerL: mgPerL + productionMgPerLPerDay * left });
  return course;
}

/** The same water as a trickle, or (turnover 0) none at all, at `points` equal distances. @throws OutOfRange */
export function courseOfTrickle(
  presentMgPerL: number,
  incomingMgPerL: number,
  productionMgPerLPerDay: number,
  turnoverPerDay: number,
  days: number,
  points = 57,
): Moment[] {
  return Array.from({ length: points }, (_, point) => {
    const at = (days * point) / (points - 1);
    return {
      days: at,
      mgPerL: concentrationAfterMgPerL(
        presentMgPerL,
        incomingMgPerL,
        productionMgPerLPerDay,
        turnoverPerDay,
        at,
      ),
    };
  });
}

export type Reached =
  | { readonly kind: 'reached'; readonly days: number }
  /** The course settles here, on the wrong side of the target. */
  | { readonly kind: 'never'; readonly settlesAtMgPerL: number };

/**
 * When a falling concentration reaches a target under a trickle: t = ln((c0 - c) / (ct - c)) / n, where
 * c = incoming + production / n is where it settles (concentrationAfterMgPerL solved for the time).
 * @param turnoverPerDay 0.000001 to 1000 per day
 * @throws OutOfRange
 */
export function daysToConcentration(
  presentMgPerL: number,
  targetMgPerL: number,
  incomingMgPerL: number,
  productionMgPerLPerDay: number,
  turnoverPerDay: number,
): Reached {
  hold('concentration', presentMgPerL, CONCENTRATION);
  hold('target concentration', targetMgPerL, CONCENTRATION);
  hold('incoming concentration', incomingMgPerL, CONCENTRATION);
  hold('production', productionMgPerLPerDay, PRODUCTION);
  hold('turnover', turnoverPerDay, { ...TURNOVER, least: 1e-6 });
  if (presentMgPerL <= targetMgPerL) return { kind: 'reached', days: 0 };
  const settlesAtMgPerL = incomingMgPerL + productionMgPerLPerDay / turnoverPerDay;
  if (settlesAtMgPerL >= targetMgPerL) return { kind: 'never', settlesAtMgPerL };
  const share = (presentMgPerL - settlesAtMgPerL) / (targetMgPerL - settlesAtMgPerL);
  return { kind: 'reached', days: Math.log(share) / turnoverPerDay };
}
