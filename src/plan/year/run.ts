// The planned station through a year of weather: the real core and the simulated water, step by step, and a tally beside
// them that looks at the true water and at what the core owes.
import { chance, keyOf } from '../../simulate/chance.ts';
import { type Coupled, couple } from '../../verify/coupled.ts';
import { looked } from '../../verify/looked.ts';
import type { Design } from '../design.ts';
import { stationOf } from '../station.ts';
import { rimM } from '../vat-level.ts';
import { PACED, type Running } from './pace.ts';
import { type Tally, tallyOf, type Year } from './tally.ts';
import { awayIn, DAY_MS, ownerOf, weatherOf } from './weather.ts';

const GRID_MS = 600_000;
const HOUR_MS = 3_600_000;
/** The owner looks at a latched trip or a held batch this long after it happened. No source. */
const LOOKS_AFTER_MS = 6 * HOUR_MS;

/**
 * @param progress called now and then with the days that have passed
 * @param running how; a test takes short steps
 */
export function simulateYear(
  design: Design,
  days: number,
  seed: number,
  progress: (daysPassed: number) => void = () => {},
  running: Running = PACED,
): Year {
  const { site } = design;
  const plant = running.plantOf(stationOf(design, running.pace));
  const weather = weatherOf(site, site.vats.freshStandMm / 1000 + rimM(design.fresh), seed);
  const tally = tallyOf(design, days, seed, weather);
  const coupled = couple(plant, {
    seed,
    stepMs: running.stepsOf(plant),
    twin: {
      roomC: site.room.temperatureC,
      startMinute: 0,
      inlet: weather.inlet,
      gridMs: GRID_MS,
      delay: ownerOf(site, seed),
    },
    onEffect: ({ atMs, effect }) => tally.hear(atMs, effect),
  });
  const owner = ownerAt(coupled, design, tally, seed);
  for (let day = 0; day < days; day++) {
    // To the end of the day, not a day on: a step over midnight would make every day longer.
    coupled.run((day + 1) * DAY_MS - coupled.nowMs(), () => {
      tally.look(coupled);
      owner();
      return false;
    });
    progress(day + 1);
  }
  return tally.close(coupled);
}

/** What the owner does beside the salt: asks for what is not spread over the day, and looks after what got stuck. */
function ownerAt(coupled: Coupled, design: Design, tally: Tally, seed: number): () => void {
  const { schedule, system } = design.site;
  const daily = schedule.intervalDays <= 1;
  const largeL = schedule.largeShare * system.volumeL;
  let nextChangeMs = schedule.intervalDays * DAY_MS;
  let largeMs = largeDay(seed, 0) * DAY_MS;
  let stuckSinceMs: number | null = null;
  return () => {
    const nowMs = coupled.nowMs();
    const work = coupled.state().exchange.system;
    if (work === undefined) return;
    const ask = (volumeL: number, what: 'change' | 'large') => {
      coupled.request({ ask: 'exchange-now', system: 'system', volumeL });
      tally.asked(nowMs, volumeL, what);
    };
    // One request at a time: the next waits until the last is done.
    const isFree = work.requestedL <= 0 && !tally.isAsking();
    if (!daily && isFree && nowMs >= nextChangeMs) {
      ask(schedule.share * system.volumeL, 'change');
      nextChangeMs += schedule.intervalDays * DAY_MS;
    } else if (isFree && nowMs >= largeMs) {
      ask(largeL, 'large');
      largeMs = (365 * (Math.floor(nowMs / DAY_MS / 365) + 1) + largeDay(seed, 1)) * DAY_MS;
    }
    stuckSinceMs = isStuck(coupled) ? (stuckSinceMs ?? nowMs) : null;
    if (stuckSinceMs === null || nowMs - stuckSinceMs < LOOKS_AFTER_MS || isAway(design, seed, nowMs)) return;
    stuckSinceMs = null;
    for (const reset of looked(coupled.state(), 'the owner', 'looked at vats, valves and floor'))
      coupled.request(reset);
    coupled.request({ ask: 'restart', unit: 'all' });
  };
}

/** Some day of the year on which one large change is needed. */
function largeDay(seed: number, year: number): number {
  return 30 + Math.floor(300 * chance(seed, keyOf('large change'), year));
}

function isAway({ site }: Design, seed: number, nowMs: number): boolean {
  const away = awayIn(site, seed, Math.floor(nowMs / DAY_MS / 365));
  return nowMs >= away.fromDay * DAY_MS && nowMs < away.toDay * DAY_MS;
}

function isStuck(coupled: Coupled): boolean {
  const { trips, refill, batch, exchange } = coupled.state();
  const units = [refill, batch, ...Object.values(exchange)];
  return Object.keys(trips).length > 0 || units.some(({ procedure }) => procedure === 'held');
}
