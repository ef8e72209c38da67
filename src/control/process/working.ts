// What the stages of a batch share: circulation, holding for a person, and measuring again.

import type { Plant, Route } from '../../station/plant.ts';
import { disown } from '../guard/acceptance.ts';
import type { Wants } from '../guard/commands.ts';
import type { Message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { hold } from './procedure.ts';
import { happen } from './stages.ts';
import type { BatchState } from './state.ts';

export function circulate(plant: Plant, wants: Wants): void {
  const route = circulation(plant);
  if (route) wants.targets.push(route.id);
}

/** Circulates beside another route, unless the two need the same pump: then the other would wait for ever. */
export function circulateBeside(plant: Plant, wants: Wants, other: Route): void {
  const route = circulation(plant);
  if (route && !other.excludes.includes(route.id)) wants.targets.push(route.id);
}

const circulation = perPlant((plant) =>
  Object.values(plant.routes).find((r) => r.purpose === 'circulate' && r.from === plant.mixingId),
);

/** A person must look: the batch is held, and says why. */
export function stuck(work: BatchState, words: Message): void {
  if (happen(work, 'stuck', words) === 'hold') hold(work, 'process', words);
}

/** What was accepted may no longer be what is in the vat: trims begin anew, and it is measured before anything else. */
export function measureAgain(work: BatchState): void {
  Object.assign(work, { stage: 'mix/measure', stageMs: 0, circulatedMs: 0, moving: false });
  Object.assign(work, { trims: 0, heatBudgetMs: 0 });
  disown(work);
}
