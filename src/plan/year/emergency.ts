// The bad day, by the real core and the simulated water: both vats full, one large change asked for, somebody there with
// the salt each time.
import { plantOf } from '../../station/compile.ts';
import { type Coupled, couple } from '../../verify/coupled.ts';
import type { Design } from '../design.ts';
import { stationOf } from '../station.ts';
import { stepsOf, YEAR_PACE } from './pace.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Until both vats are full, and until the change is done: after that nobody calls it an emergency. */
const MOST_DAYS = 40;
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
}

/** Null where the two vats never come to be full: then there is no such day to begin with. */
export function emergencyOf(design: Design): Emergency | null {
  const { site, worst } = design;
  const file = stationOf(design, YEAR_PACE);
  const [system] = Object.values(file.process.exchange ?? {});
  if (system === undefined) return null;
  const planned = plantOf({
    ...file,
    process: { ...file.process, exchange: { system: { ...system, perDay: '0 %' } } },
  });
  const proofTests = { everyMs: Number.MAX_SAFE_INTEGER, graceMs: 0 };
  const plant = { ...planned, policy: { ...planned.policy, proofTests } };
  const coupled = couple(plant, {
    seed: 1,
    stepMs: stepsOf(plant),
    twin: {
      roomC: site.room.temperatureC,
      startMinute: 0,
      gridMs: 600_000,
      inlet: () => ({ flowLpm: worst.oldLpm, temperatureC: worst.temperatureC }),
      delay: () => SALTING_MS,
    },
    onEffect: () => {},
  });
  const isFull = ({ state }: Coupled) =>
    state().batch.stage === 'ready' &&
    (state().vessels.fresh?.leastL ?? 0) >= 0.97 * design.freshMarks.stopAtL;
  if (!coupled.run(MOST_DAYS * DAY_MS, isFull)) return null;
  const askedL = site.schedule.largeShare * site.system.volumeL;
  coupled.request({ ask: 'exchange-now', system: 'system', volumeL: askedL });
  return watched(coupled, askedL);
}

function watched(coupled: Coupled, askedL: number): Emergency {
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
  };
}
