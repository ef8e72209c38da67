// The alarms of a living system that stays too low or too high: what lives in it has too little water, or it runs over.

import type { Plant } from '../../station/plant.ts';
import { againstRunningOver, againstTooLow } from '../guard/causes.ts';
import { known } from '../guard/invariant.ts';
import { SYSTEM_LEVEL_PATIENCE_MS } from '../guard/limits.ts';
import { isHigh, isLow } from '../guard/living.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { respond } from '../guard/response.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

export interface LevelNews {
  readonly alarm: string;
  readonly active: boolean;
  readonly priority: Priority;
  readonly afterMs: number;
  readonly words: Message;
  readonly response: Message;
}

const watched = perPlant((plant) =>
  plant.systemIds.flatMap((id) => {
    const system = known(plant.vessels, id);
    return [
      {
        alarm: `A-09/${id}/low`,
        holds: isLow(plant, system),
        words: message('system-low-for', { vessel: id, durationMs: SYSTEM_LEVEL_PATIENCE_MS }),
        response: respond(...againstTooLow(system)),
      },
      {
        alarm: `A-09/${id}/high`,
        holds: isHigh(plant, system),
        words: message('system-high-for', { vessel: id, durationMs: SYSTEM_LEVEL_PATIENCE_MS }),
        response: againstRunningOver(plant, system),
      },
    ];
  }),
);

/** A row says at once why nothing is drained or delivered; a system that stays low or high is urgent for what lives in it. */
export function levelNews(plant: Plant, state: State): readonly LevelNews[] {
  return watched(plant).flatMap(({ alarm, holds, words, response }) => {
    const active = holds(state);
    if (!active && state.alarms[alarm] === undefined) return [];
    return [
      { alarm, active, priority: 'urgent' as const, afterMs: SYSTEM_LEVEL_PATIENCE_MS, words, response },
    ];
  });
}
