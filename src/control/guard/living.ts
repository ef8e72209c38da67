// How full a living system is, as far as its floats or its level say: too low or too high. Rows and alarms ask the same.

import type { Plant, Vessel } from '../../station/plant.ts';
import { saying } from './evidence.ts';
import { known } from './invariant.ts';
import { SYSTEM_LOW_SHARE } from './limits.ts';
import type { GuardState } from './state.ts';

type Holds = (state: GuardState) => boolean;

/** Below this a system is low by its level, litres: well below what a step of its own exchange takes. */
function lowL(plant: Plant, { id, volumeL }: Vessel): number {
  const stepL = plant.process.exchange[id]?.stepL ?? 0;
  return volumeL - Math.max(SYSTEM_LOW_SHARE * volumeL, 2 * stepL);
}

/** Its low float hangs dry; without one, its level says that it lost more than a stated share. */
export function isLow(plant: Plant, system: Vessel): Holds {
  if (system.floats.low !== undefined) return saying(plant, system.floats.low, false);
  const boundL = lowL(plant, system);
  return (state) => system.level !== null && known(state.vessels, system.id).mostL < boundL;
}

/** Its high float is wet; without one, its level comes too near the brim. */
export function isHigh(plant: Plant, system: Vessel): Holds {
  if (system.floats.high !== undefined) return saying(plant, system.floats.high, true);
  const boundL = system.capacityL - system.marginL;
  return (state) => system.level !== null && known(state.vessels, system.id).leastL > boundL;
}
