// The alarms of a living system that stays too low or too high: what lives in it has too little water, or it runs over.
import type { Plant } from '../../station/plant.ts';
import { known } from '../guard/invariant.ts';
import { SYSTEM_LEVEL_PATIENCE_MS } from '../guard/limits.ts';
import { isHigh, isLow } from '../guard/living.ts';
import { perPlant } from '../guard/per-plant.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

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
