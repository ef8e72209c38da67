// The year outside: how warm the inlet water is, what the purifier makes of it, when the owner is away. All of it follows
// from the site and a seed, and nothing else.
import { onDayOfYear } from '../../engineering/season.ts';
import { chance, keyOf, sway } from '../../simulate/chance.ts';
import type { Delay } from '../../simulate/person.ts';
import type { Inlet } from '../../simulate/waterworks.ts';
import { outputLpm } from '../purifier.ts';
import type { Site } from '../site.ts';

export const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;

/** A spell of weather lasts about so long, and moves the inlet by as much. No source. */
const SPELL_DAYS = 5;
const SPELL_K = 1.5;
/** Nobody carries salt at night. No source. */
const WAKES_HOUR = 7;
const SLEEPS_HOUR = 23;
/** A day of the year that leaves room for an absence after it. */
const AWAY_BETWEEN = [20, 300] as const;

export interface Weather {
  readonly temperatureC: (day: number) => number;
  readonly inlet: Inlet;
  /** Age of the membrane when the year begins, d. */
  readonly membraneDays: number;
}

/** Station time 0 is the first of January, midnight. */
export function weatherOf(site: Site, rimM: number, seed: number): Weather {
  const key = keyOf('weather');
  const membraneDays = Math.floor(chance(seed, keyOf('age of the membrane')) * site.purifier.lifeDays);
  const temperatureC = (day: number): number => {
    const spell = Math.floor(day / SPELL_DAYS);
    const share = day / SPELL_DAYS - spell;
    const away = (1 - share) * sway(seed, key, spell) + share * sway(seed, key, spell + 1);
    return Math.min(35, Math.max(1, onDayOfYear(site.inlet.temperaturesC, day) + SPELL_K * away));
  };
  // Asked every second of station time; the weather of an hour is the same all through it.
  let known = { hour: -1, flowLpm: 0, temperatureC: 0 };
  return {
    temperatureC,
    membraneDays,
    inlet: (nowMs) => {
      const hour = Math.floor(nowMs / HOUR_MS);
      if (hour !== known.hour) {
        const celsius = temperatureC(hour / 24);
        const age = (membraneDays + hour / 24) % site.purifier.lifeDays;
        known = { hour, temperatureC: celsius, flowLpm: outputLpm(site, rimM, celsius, age) };
      }
      return known;
    },
  };
}

export interface Away {
  readonly fromDay: number;
  readonly toDay: number;
}

/** One absence a year, as long as the longest that the site states. */
export function awayIn(site: Site, seed: number, year: number): Away {
  const [first, last] = AWAY_BETWEEN;
  const latest = Math.max(first, Math.min(last, 365 - site.owner.absenceDays));
  const day = Math.floor(first + chance(seed, keyOf('absence'), year) * (latest - first));
  return { fromDay: 365 * year + day, toDay: 365 * year + day + site.owner.absenceDays };
}

/**
 * How long the owner takes: exponential with the site's mean, at most its longest, nothing at night, and nothing at all
 * while away.
 */
export function ownerOf(site: Site, seed: number): Delay {
  const { usual, longest } = site.owner.saltDelayHours;
  return (luck, nowMs) => {
    const hours = Math.min(longest, -usual * Math.log1p(-luck));
    const away = awayIn(site, seed, Math.floor(nowMs / DAY_MS / 365));
    const isAway = (ms: number) => ms >= away.fromDay * DAY_MS && ms < away.toDay * DAY_MS;
    let dueMs = nowMs + hours * HOUR_MS;
    // What was asked for before the journey and not done by then waits for the return, and so does what comes meanwhile.
    if (isAway(dueMs) || isAway(nowMs)) dueMs = away.toDay * DAY_MS + hours * HOUR_MS;
    return Math.round(awake(dueMs) - nowMs);
  };
}

/** The same moment, or the next morning. */
function awake(ms: number): number {
  const midnight = Math.floor(ms / DAY_MS) * DAY_MS;
  const hour = (ms - midnight) / HOUR_MS;
  if (hour < WAKES_HOUR) return midnight + WAKES_HOUR * HOUR_MS;
  return hour < SLEEPS_HOUR ? ms : midnight + (24 + WAKES_HOUR) * HOUR_MS;
}
