// The alarm of a vat that is never filled, because a float says that it is full.

import type { Plant } from '../../station/plant.ts';
import { fresh, says } from '../guard/evidence.ts';
import { known } from '../guard/invariant.ts';
import { FULL_AND_LOW_MS } from '../guard/limits.ts';
import { message } from '../guard/message.ts';
import { checking, HANDS_IN_WATER, inCase, respond } from '../guard/response.ts';
import type { State } from './state.ts';

const ALARM = 'A-39/refill';

export const saysFull = (plant: Plant, draft: State): boolean =>
  says(plant, draft, known(plant.vessels, plant.freshId ?? plant.mixingId).floats.high, true);

/** It is below its mark, and says that it is full: one of the two is wrong. */
const isFullAndLow = (plant: Plant, draft: State): boolean => {
  const aims = plant.process.refill;
  const vat = known(plant.vessels, plant.freshId ?? plant.mixingId);
  const { leastL } = known(draft.vessels, vat.id);
  return (
    aims !== null &&
    Math.min(leastL, fresh(plant, draft, vat.level) ?? leastL) < aims.startBelowL &&
    saysFull(plant, draft)
  );
};

export function refillNews(plant: Plant, draft: State) {
  const active = isFullAndLow(plant, draft);
  if (!active && draft.alarms[ALARM] === undefined) return [];
  const vessel = plant.freshId ?? plant.mixingId;
  return [
    {
      alarm: ALARM,
      active,
      latched: false,
      trip: false,
      priority: 'soon' as const,
      afterMs: FULL_AND_LOW_MS,
      words: message('full-and-low', { vessel }),
      response: respond(
        HANDS_IN_WATER,
        checking(message('check-whether-full', { vessel })),
        inCase(message('if-not-full')),
      ),
    },
  ];
}
