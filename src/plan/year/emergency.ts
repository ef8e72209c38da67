// The bad day, by the real core and the simulated water: both vats full, one large change asked for, somebody there with
// the salt each time.
import { type Coupled, couple } from '../../verify/coupled.ts';
import type { Design } from '../design.ts';
import { stationOf } from '../station.ts';
import { PACED, type Running } from './pace.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Until both vats are full, and until the change is done: after that nobody calls it an emergency. */
const MOST_DAYS = 40;
/** Some time constants of a vat that nobody insulates: 250 L at 6 W/K take two days for two thirds of the way. */
const WAITED_DAYS = 6;
/** A step at rest is long; this one is not. */
const ASKED_WITHIN_MS = 1000;
/** Weighing and pouring. No source. */
const SALTING_MS = 15 * 60_000;
/** Water that stands still for longer than this has waited for the next batch. */
const PAUSE_MS = 45 * 60_000;

export interface Delivery {
  readonly fromHours: number;
  readonly toHours: number;
  readonly volumeL: number;
}

export interface Emergency {
  readonly askedL: number;
  readonly deliveries: readonly Delivery[];
  /** Null: not done within the time that was waited. */
  readonly hours: number | null;
  readonly saltKg: number;
  /** When somebody has to be there with salt. */
  readonly saltAtHours: readonly number[];
}

/** Another way to do it than the drafted station's. */
export interface Otherwise {
  /** Nothing is warmed, and water is delivered as cold as it is: what somebody may decide on a bad day. */
  readonly unheated?: true;
  readonly stepL?: number;
}

/** Null where the two vats never come to be full: then there is no such day to begin with. */
export function emergencyOf(
  design: Design,
  otherwise: Otherwise = {},
  running: Running = PACED,
): Emergency | null {
  const { site, worst } = design;
  const file = stationOf(design, running.pace);
  const [system] = Object.values(file.process.exchange ?? {});
  if (system === undefined) return null;
  const { temperature, ...untempered } = file.process;
  const step =
    otherwise.stepL === undefined
      ? {}
      : { step: `${otherwise.stepL} L`, errorBound: `${1.5 * otherwise.stepL} L` };
  const { heaters, ...unheated } = file;
  const plant = running.plantOf({
    ...(otherwise.unheated ? unheated : file),
    process: {
      ...(otherwise.unheated ? untempered : file.process),
      exchange: { system: { ...system, perDay: '0 %', ...step } },
    },
  });
  const saltAt: number[] = [];
  let isAsked = false;
  const coupled = couple(plant, {
    seed: 1,
    stepMs: running.stepsOf(plant),
    twin: {
      roomC: site.room.temperatureC,
      startMinute: 0,
      gridMs: 600_000,
      inlet: () => ({ flowLpm: worst.oldLpm, temperatureC: worst.temperatureC }),
      delay: () => SALTING_MS,
    },
    onEffect: ({ atMs, effect }) => {
      if (effect.do !== 'ask') return;
      const asks = effect.task?.task === 'add-salt';
      if (asks && !isAsked) saltAt.push(atMs);
      isAsked = asks;
    },
  });
  // A refill ends at the high float or at its mark, whichever is first, and begins again below its other mark.
  const isFull = ({ state }: Coupled) =>
    state().batch.stage === 'ready' &&
    !state().devices['inlet-valve']?.on &&
    (state().vessels.fresh?.leastL ?? 0) >= design.freshMarks.startBelowL;
  if (!coupled.run(MOST_DAYS * DAY_MS, isFull)) return null;
  // A batch that has waited is as cold as the room lets it be: nobody chooses the day.
  coupled.run(WAITED_DAYS * DAY_MS);
  if (!coupled.run(MOST_DAYS * DAY_MS, isFull)) return null;
  const askedL = site.schedule.largeShare * site.system.volumeL;
  coupled.request({ ask: 'exchange-now', system: 'system', volumeL: askedL });
  coupled.stall(ASKED_WITHIN_MS);
  return watched(coupled, askedL, saltAt);
}

function watched(coupled: Coupled, askedL: number, saltAt: readonly number[]): Emergency {
  const { ledger } = coupled.twin.world;
  const salted = () => Object.values(ledger.productAddedKg).reduce((sum, kg) => sum + kg, 0);
  const beganMs = coupled.nowMs();
  const saltBeforeKg = salted();
  const deliveries: { fromMs: number; toMs: number; volumeL: number }[] = [];
  let beforeL = ledger.deliveredL;
  let begun = false;
  const isDone = coupled.run(MOST_DAYS * DAY_MS, ({ state, nowMs }) => {
    const movedL = ledger.deliveredL - beforeL;
    beforeL = ledger.deliveredL;
    const last = deliveries.at(-1);
    const atMs = nowMs() - beganMs;
    if (movedL > 0 && (last === undefined || atMs - last.toMs > PAUSE_MS))
      deliveries.push({ fromMs: atMs, toMs: atMs, volumeL: movedL });
    else if (movedL > 0 && last !== undefined)
      Object.assign(last, { toMs: atMs, volumeL: last.volumeL + movedL });
    const leftL = state().exchange.system?.requestedL ?? 0;
    begun ||= leftL > 0;
    return begun && leftL <= 0 && state().exchange.system?.step === 'rest';
  });
  return {
    askedL,
    deliveries: deliveries.map(({ fromMs, toMs, volumeL }) => ({
      fromHours: fromMs / HOUR_MS,
      toHours: toMs / HOUR_MS,
      volumeL,
    })),
    hours: isDone ? (coupled.nowMs() - beganMs) / HOUR_MS : null,
    saltKg: salted() - saltBeforeKg,
    saltAtHours: saltAt.filter((atMs) => atMs >= beganMs).map((atMs) => (atMs - beganMs) / HOUR_MS),
  };
}
