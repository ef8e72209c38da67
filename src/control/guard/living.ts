// How full a living system is, as far as its floats or its level say: too low or too high. Rows and alarms ask the same.
import type { Plant, Vessel } from '../../station/plant.ts';
import { saying } from './evidence.ts';
import { known } from './invariant.ts';
import { SYSTEM_LEVEL_PATIENCE_MS, SYSTEM_LOW_SHARE } from './limits.ts';
import { perPlant } from './per-plant.ts';
import type { State } from './state.ts';
import type { Priority } from './types.ts';

type Holds = (state: State) => boolean;

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

export interface LevelNews {
  readonly alarm: string;
  readonly active: boolean;
  readonly priority: Priority;
  readonly afterMs: number;
  readonly words: string;
  readonly mend: string;
}

const watched = perPlant((plant) =>
  plant.systemIds.flatMap((id) => {
    const system = known(plant.vessels, id);
    const { name } = system;
    const hours = (SYSTEM_LEVEL_PATIENCE_MS / 3_600_000).toFixed(0);
    return [
      {
        alarm: `A-09/${id}/low`,
        holds: isLow(plant, system),
        words: `the ${name} has been low for more than ${hours} h`,
        mend: `What lives in the ${name} has too little water. Look for a leak, a bucket, a return pump that stopped, or a top-off that failed. Bring water by hand: purified where it evaporated, salted where it was lost.`,
      },
      {
        alarm: `A-09/${id}/high`,
        holds: isHigh(plant, system),
        words: `the ${name} has been high for more than ${hours} h`,
        mend: `The ${name} may run over. Look whether its return pump runs, its own top-off is shut and nothing else brings water; draw off by hand what is too much.`,
      },
    ];
  }),
);

/** A row says at once why nothing is drained or delivered; a system that stays low or high is urgent for what lives in it. */
export function levelNews(plant: Plant, state: State): readonly LevelNews[] {
  return watched(plant).flatMap(({ alarm, holds, words, mend }) => {
    const active = holds(state);
    if (!active && state.alarms[alarm] === undefined) return [];
    return [{ alarm, active, priority: 'urgent' as const, afterMs: SYSTEM_LEVEL_PATIENCE_MS, words, mend }];
  });
}
