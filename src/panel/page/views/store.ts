// How long the salt lasts: what a day's exchange needs, by the engineering room's formula, against what is in store.
import { saltMassKg } from '../../../engineering/salting.ts';
import type { LedgerDay, SaltStock, Standing } from '../../contract.ts';

const DAY_MS = 86_400_000;
/** Salt is heavy and a delivery takes its time: what is bought should be there while two weeks are left. */
const SPARE_DAYS = 14;
const MIXED_AT_C = 20;

export interface Store {
  readonly leftKg: number;
  /** Days; null where no exchange is planned by the day. */
  readonly lastsDays: number | null;
  /** When to buy; a moment in the past: now. */
  readonly buyByMs: number | null;
}

/** @param yieldKgPerKg dissolved salts per dry product */
export function storeOf(station: Standing, salt: SaltStock, yieldKgPerKg: number, nowMs: number): Store {
  const leftKg = Math.max(0, salt.massKg - salt.usedKg);
  const perDayL = Object.entries(station.process.exchange).reduce(
    (sum, [id, { perDayShare }]) => sum + perDayShare * (station.vessels[id]?.volumeL ?? 0),
    0,
  );
  if (perDayL <= 0) return { leftKg, lastsDays: null, buyByMs: null };
  const kgPerDay = saltMassKg(perDayL, 0, station.process.salinity.target, MIXED_AT_C, yieldKgPerKg);
  const lastsDays = leftKg / kgPerDay;
  return { leftKg, lastsDays, buyByMs: nowMs + (lastsDays - SPARE_DAYS) * DAY_MS };
}

export interface Week {
  readonly from: string;
  readonly days: number;
  readonly deliveredL: number;
  readonly drainedL: number;
  /** Null where the plan of one of its days is not known. */
  readonly plannedL: number | null;
}

/** Days, newest first, as weeks from Monday, newest first, for one system. */
export function weeksOf(days: readonly LedgerDay[], system: string): Week[] {
  const weeks = new Map<string, Week>();
  for (const day of days) {
    const ledger = day.exchange[system];
    if (ledger === undefined) continue;
    const from = mondayOf(day.day);
    const week: Week = weeks.get(from) ?? { from, days: 0, deliveredL: 0, drainedL: 0, plannedL: 0 };
    weeks.set(from, {
      from,
      days: week.days + 1,
      deliveredL: week.deliveredL + ledger.deliveredL,
      drainedL: week.drainedL + ledger.drainedL,
      plannedL: week.plannedL === null || ledger.plannedL === null ? null : week.plannedL + ledger.plannedL,
    });
  }
  return [...weeks.values()];
}

function mondayOf(day: string): string {
  const date = new Date(`${day}T00:00:00Z`);
  const back = (date.getUTCDay() + 6) % 7;
  return new Date(date.getTime() - back * DAY_MS).toISOString().slice(0, 10);
}
