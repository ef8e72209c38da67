// What a simulated year is asked about: how often the reserve fell short, how often an exchange was late, how long the
// salt took. The reserve is judged by the true water; what is owed, by what the core says it owes.
import type { Effect } from '../../control/guard/types.ts';
import { reserveShare } from '../../engineering/reserve.ts';
import { monthOfDay } from '../../engineering/season.ts';
import { litresOf } from '../../simulate/world.ts';
import type { Coupled } from '../../verify/coupled.ts';
import type { Design } from '../design.ts';
import { type Spells, spell } from './spells.ts';
import { type Away, awayIn, DAY_MS, type Weather } from './weather.ts';

const HOUR_MS = 3_600_000;
/** A change that was asked for counts as late after a day. */
const LATE_MS = DAY_MS;
/** What is spread over the day counts as late when half a day of it is owed. */
const LATE_SHARE_OF_DAY = 0.5;
const SAMPLE_MS = 2 * HOUR_MS;
const SAWTOOTH_MS = 30 * DAY_MS;

export interface LargeChange {
  readonly day: number;
  readonly volumeL: number;
  /** Null: not done by the end. */
  readonly hours: number | null;
}

export interface Year {
  readonly days: number;
  readonly seed: number;
  readonly reserve: Spells & { readonly leastShare: number; readonly meanShare: number };
  readonly late: Spells;
  /** What the schedule and the owner asked for, and what was delivered of it. */
  readonly wantedL: number;
  readonly deliveredL: number;
  readonly large: readonly LargeChange[];
  readonly salt: {
    readonly times: number;
    readonly kg: number;
    readonly meanHours: number;
    readonly longestHours: number;
  };
  readonly purifiedL: number;
  /** Age of the membrane when the year began. */
  readonly membraneDays: number;
  readonly away: readonly Away[];
  /** Trips by their key, and how often each latched. */
  readonly trips: Readonly<Record<string, number>>;
  readonly spilledL: number;
  readonly offSpecL: number;
  /** By day: the mean share on hand. */
  readonly daily: readonly number[];
  /** Share on hand every two hours of the first 30 days: as it goes up and down. */
  readonly sawtooth: readonly (readonly [day: number, share: number])[];
  /** By month of the year: hours in which the reserve was short. */
  readonly shortHoursByMonth: readonly number[];
}

export interface Tally {
  readonly hear: (atMs: number, effect: Effect) => void;
  readonly look: (coupled: Coupled) => void;
  readonly asked: (atMs: number, volumeL: number, what: 'change' | 'large') => void;
  readonly isAsking: () => boolean;
  readonly close: (coupled: Coupled) => Year;
}

export function tallyOf(design: Design, days: number, seed: number, weather: Weather): Tally {
  const { site, exchangePerDayL } = design;
  const reserve = reserveTally(design);
  const salt = saltTally();
  const requests = requestTally();
  const late = spell();
  const trips: Record<string, number> = {};
  const continuous = site.schedule.intervalDays <= 1;
  let beforeMs = 0;
  return {
    hear: (atMs, effect) => {
      if (effect.do === 'record' && effect.words.id === 'trip-latched') {
        const row = String(effect.words.values.row);
        trips[row] = (trips[row] ?? 0) + 1;
      }
      if (effect.do === 'ask') salt.hear(atMs, effect.task?.task === 'add-salt');
    },
    look: (coupled) => {
      const nowMs = coupled.nowMs();
      const passedMs = nowMs - beforeMs;
      beforeMs = nowMs;
      reserve.look(coupled, nowMs, passedMs);
      const work = coupled.state().exchange.system;
      const isLate = requests.look(work?.requestedL ?? 0, nowMs);
      const isOwed = continuous && (work?.dueL ?? 0) > LATE_SHARE_OF_DAY * exchangePerDayL;
      late.pass(isOwed || isLate, passedMs);
    },
    asked: requests.asked,
    isAsking: requests.isAsking,
    close: ({ twin }) => {
      const { ledger } = twin.world;
      const sum = (record: Readonly<Record<string, { readonly litres: number }>>) =>
        Object.values(record).reduce((total, { litres }) => total + litres, 0);
      return {
        days,
        seed,
        reserve: reserve.result(days),
        late: late.result(),
        wantedL: (continuous ? exchangePerDayL * days : 0) + requests.wantedL(),
        deliveredL: ledger.deliveredL,
        large: requests.large(),
        salt: {
          ...salt.result(),
          kg: Object.values(ledger.productAddedKg).reduce((total, kg) => total + kg, 0),
        },
        purifiedL: ledger.moved.refill?.litres ?? 0,
        membraneDays: weather.membraneDays,
        away: Array.from({ length: Math.ceil(days / 365) }, (_, year) => awayIn(site, seed, year)),
        trips,
        spilledL: sum(ledger.spilled) + sum(ledger.leaked) + sum(ledger.hose),
        offSpecL: ledger.deliveredOffSpecL,
        ...reserve.course(),
      };
    },
  };
}

/** Water on hand by the true contents, hour by hour. */
function reserveTally({ site, freshMarks, mixingMarks }: Design) {
  const short = spell();
  const daily: number[] = [];
  const shortHoursByMonth: number[] = Array(12).fill(0);
  const sawtooth: [number, number][] = [];
  let shareMs = 0;
  let leastShare = Number.POSITIVE_INFINITY;
  let today = { shareMs: 0, ms: 0 };
  const shareOf = ({ twin }: Coupled): number => {
    const usableL = (id: string, emptyL: number) => {
      const body = twin.world.bodies[id];
      return body === undefined ? 0 : Math.max(0, litresOf(body) - emptyL);
    };
    const onHandL = usableL('fresh', freshMarks.emptyL) + usableL('mixing', mixingMarks.emptyL);
    return reserveShare(onHandL, site.system.volumeL);
  };
  return {
    look: (coupled: Coupled, nowMs: number, passedMs: number) => {
      const share = shareOf(coupled);
      const isShort = share < site.schedule.reserveShare;
      short.pass(isShort, passedMs);
      shareMs += share * passedMs;
      leastShare = Math.min(leastShare, share);
      if (nowMs >= sawtooth.length * SAMPLE_MS && nowMs <= SAWTOOTH_MS)
        sawtooth.push([nowMs / DAY_MS, share]);
      today = { shareMs: today.shareMs + share * passedMs, ms: today.ms + passedMs };
      if (nowMs >= (daily.length + 1) * DAY_MS) {
        daily.push(today.shareMs / today.ms);
        today = { shareMs: 0, ms: 0 };
      }
      if (!isShort) return;
      const month = monthOfDay(nowMs / DAY_MS);
      shortHoursByMonth[month] = (shortHoursByMonth[month] ?? 0) + passedMs / HOUR_MS;
    },
    result: (days: number) => ({ ...short.result(), leastShare, meanShare: shareMs / (days * DAY_MS) }),
    course: () => ({ daily, sawtooth, shortHoursByMonth }),
  };
}

/** From the moment salt is asked for until nobody asks any more. */
function saltTally() {
  let sinceMs: number | null = null;
  let times = 0;
  let allHours = 0;
  let longestHours = 0;
  return {
    hear: (atMs: number, isAsked: boolean) => {
      if (isAsked) {
        if (sinceMs === null) times += 1;
        sinceMs ??= atMs;
      } else if (sinceMs !== null) {
        const hours = (atMs - sinceMs) / HOUR_MS;
        allHours += hours;
        longestHours = Math.max(longestHours, hours);
        sinceMs = null;
      }
    },
    result: () => ({ times, meanHours: times === 0 ? 0 : allHours / times, longestHours }),
  };
}

/** Changes that the owner asks for, one at a time. */
function requestTally() {
  const large: LargeChange[] = [];
  let open: { atMs: number; volumeL: number; isLarge: boolean; begun: boolean } | null = null;
  let wantedL = 0;
  const finished = (hours: number | null) => {
    if (open?.isLarge) large.push({ day: Math.floor(open.atMs / DAY_MS), volumeL: open.volumeL, hours });
    open = null;
  };
  return {
    asked: (atMs: number, volumeL: number, what: 'change' | 'large') => {
      open = { atMs, volumeL, isLarge: what === 'large', begun: false };
      wantedL += volumeL;
    },
    isAsking: () => open !== null,
    /** @returns whether an ordinary change is late */
    look: (requestedL: number, nowMs: number): boolean => {
      if (open === null) return false;
      if (requestedL > 0) open.begun = true;
      else if (open.begun) {
        finished((nowMs - open.atMs) / HOUR_MS);
        return false;
      }
      return !open.isLarge && nowMs - open.atMs > LATE_MS;
    },
    wantedL: () => wantedL,
    large: () => {
      finished(null);
      return large;
    },
  };
}
