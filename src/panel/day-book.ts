// One page for each day: what was exchanged, against plan; the salt; what the purifier gave, how long it ran for it and how
// pure the water was. The purifier's mean flow over the weeks is the trend of its membrane.
import { fresh } from '../control/guard/evidence.ts';
import { known } from '../control/guard/invariant.ts';
import type { LedgerDay } from './contract.ts';
import type { Turn } from './turn.ts';

const DAYS_KEPT = 800;
const DAY_MS = 86_400_000;

export interface DayKept extends LedgerDay {
  readonly puritySeenMs: number;
  readonly inletSeenMs: number;
}

export interface DayBook {
  readonly observe: (turn: Turn) => void;
  /** Oldest first, as they are kept; only the last is still written on. */
  readonly rows: () => readonly DayKept[];
}

type Open = { -readonly [K in keyof DayKept]: DayKept[K] };

/** What a reader sees of it. */
export const shownDay = ({ puritySeenMs: _, inletSeenMs: __, ...day }: DayKept): LedgerDay => day;

/** A day of which nothing was seen yet. */
export const emptyDay = (day: string): DayKept => ({
  day,
  exchange: {},
  saltKg: 0,
  refillL: 0,
  refillMs: 0,
  purityMsPerCm: null,
  inletC: null,
  puritySeenMs: 0,
  inletSeenMs: 0,
});

/** @param dayOf the date of a moment, `2026-03-31` */
export function dayBook(dayOf: (atMs: number) => string, kept: readonly DayKept[] = []): DayBook {
  const days: Open[] = kept.map((day) => ({ ...day }));
  let saltKg: number | null = null;
  let number = 0;

  const today = (atMs: number): Open => {
    const day = dayOf(atMs);
    const last = days.at(-1);
    if (last && last.day >= day) return last;
    const made: Open = emptyDay(day);
    days.push(made);
    if (days.length > DAYS_KEPT) days.shift();
    return made;
  };

  return {
    observe: (turn) => {
      const { state, atMs } = turn;
      const day = today(atMs);
      exchanged(day, turn);
      purified(day, turn);
      const { batch: work } = state;
      // A new batch starts to count its salt from nothing; a restored one goes on where it was.
      if (saltKg !== null && work.number === number) day.saltKg += Math.max(0, work.saltAddedKg - saltKg);
      else if (saltKg !== null) day.saltKg += work.saltAddedKg;
      saltKg = work.saltAddedKg;
      number = work.number;
    },
    rows: () => days,
  };
}

function exchanged(day: Open, { plant, state, elapsedMs }: Turn): void {
  for (const [system, aims] of Object.entries(plant.process.exchange)) {
    const before = day.exchange[system] ?? { deliveredL: 0, drainedL: 0, plannedL: 0 };
    let { deliveredL, drainedL } = before;
    for (const route of Object.values(plant.routes)) {
      const pipe = known(state.routes, route.id);
      const litres = pipe.movedL;
      if (route.purpose === 'supply' && route.to === system) deliveredL += litres;
      if (route.purpose === 'drain' && route.from === system) drainedL += litres;
    }
    const dayL = aims.perDayShare * known(plant.vessels, system).volumeL;
    const plannedL = before.plannedL === null ? null : before.plannedL + (elapsedMs / DAY_MS) * dayL;
    day.exchange = { ...day.exchange, [system]: { deliveredL, drainedL, plannedL } };
  }
}

function purified(day: Open, { plant, state, elapsedMs }: Turn): void {
  for (const route of Object.values(plant.routes)) {
    const source = known(plant.vessels, route.from);
    if (source.role !== 'purified-water' || route.purpose === 'flush') continue;
    const pipe = known(state.routes, route.id);
    day.refillL += pipe.movedL;
    if (pipe.running !== 'yes') continue;
    day.refillMs += elapsedMs;
    const purity = fresh(plant, state, source.conductivity);
    if (purity !== null) {
      day.purityMsPerCm = mean(day.purityMsPerCm, day.puritySeenMs, purity, elapsedMs);
      day.puritySeenMs += elapsedMs;
    }
    const inletC = fresh(plant, state, source.temperature);
    if (inletC !== null) {
      day.inletC = mean(day.inletC, day.inletSeenMs, inletC, elapsedMs);
      day.inletSeenMs += elapsedMs;
    }
  }
}

/** The mean of what was seen for `seenMs` and one more value that stood for `elapsedMs`. */
const mean = (before: number | null, seenMs: number, value: number, elapsedMs: number): number =>
  before === null || seenMs + elapsedMs === 0
    ? value
    : (before * seenMs + value * elapsedMs) / (seenMs + elapsedMs);
