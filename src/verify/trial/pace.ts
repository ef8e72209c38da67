// How long the next step of a night may be: a second while water moves quickly or something was just told to change, up to
// ten at rest; never so long that a lease, a control tick or a proof of the link would miss its time.
import type { Twin } from '../../simulate/twin.ts';
import type { Plant } from '../../station/plant.ts';
import { isSlow } from '../checks/bounds.ts';

const QUICK_MS = 1_000;
/** The longest step there is. */
export const REST_MS = 10_000;
const AFTERWARDS_MS = 20_000;

export interface Pace {
  readonly stepMs: () => number;
  /** Something was commanded: look closely for a while. */
  readonly commanded: () => void;
}

export function paceOf(plant: Plant, twin: () => Twin): Pace {
  const slowMs = restingStepMs(plant);
  // What no route lists has gone astray, and is looked at closely however little it is.
  const slow = new Set(
    Object.values(plant.routes).flatMap((route) => (isSlow(plant, route) ? [route.id] : [])),
  );
  let closelyUntilMs = 0;
  return {
    stepMs: () => {
      const { flowLpm, nowMs } = twin().world;
      if (nowMs < closelyUntilMs) return QUICK_MS;
      for (const id in flowLpm) if ((flowLpm[id] ?? 0) > 0 && !slow.has(id)) return QUICK_MS;
      return slowMs;
    },
    commanded: () => {
      closelyUntilMs = twin().world.nowMs + AFTERWARDS_MS;
    },
  };
}

/** Whole seconds, so that the physics is cut where it is cut anyway. */
export function restingStepMs({ link, actuators, sensors }: Plant): number {
  const leases = Object.values(actuators).map(({ leaseMs }) => leaseMs / 3);
  const ages = Object.values(sensors).map(({ maxAgeMs }) => maxAgeMs / 3);
  const mostMs = Math.min(REST_MS, 0.8 * link.tickWithinMs, 0.8 * link.provenWithinMs, ...leases, ...ages);
  return Math.max(QUICK_MS, Math.floor(mostMs / 1000) * 1000);
}
