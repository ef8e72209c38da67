// 3b, transfer: all that is there goes over, up to the target; then it waits for the purifier and goes on. And the litres of
// a trim with fresh water, by the same route.

import type { Plant, Route } from '../../station/plant.ts';
import { disown } from '../guard/acceptance.ts';
import type { Wants } from '../guard/commands.ts';
import { middleL } from '../guard/contents.ts';
import { salinityOf, says } from '../guard/evidence.ts';
import { forbiddenBy, isAllowed, rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { TRANSFER_CHUNK_SHARE } from '../guard/limits.ts';
import { message, tenths, whole } from '../guard/message.ts';
import { availableL, transferRoute } from './on-hand.ts';
import { happen } from './stages.ts';
import type { State } from './state.ts';
import { circulateBeside, stuck } from './working.ts';

export function begin(plant: Plant, draft: State): void {
  const work = draft.batch;
  const held = known(draft.vessels, plant.mixingId);
  Object.assign(work, {
    number: work.number + 1,
    movedL: 0,
    trims: 0,
    confirmed: false,
    doubted: null,
    doubtedBy: '',
    askedKg: 0,
    askedL: 0,
    saltAddedKg: 0,
    saltAddedNowKg: 0,
    salted: null,
    leftoverL: middleL(held),
    leftoverSalinity: work.acceptedSalinity ?? salinityOf(plant, draft, plant.mixingId),
    acceptedSalinity: null,
  });
  disown(work, 0);
  happen(work, 'begun', message('fresh-water-goes-over'));
}

export const chunkL = (plant: Plant): number => TRANSFER_CHUNK_SHARE * plant.process.batch.contentsL;

/** Moves what there is, waits for the purifier, and moves again, keeping count. */
export function transfer(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const route = transferRoute(plant);
  if (route === undefined) return stuck(work, message('no-route-to-mixing-vat'));
  const held = known(draft.vessels, plant.mixingId);
  const pipe = known(draft.routes, route.id);
  work.movedL += pipe.movedL;
  const missingL = plant.process.batch.contentsL - middleL(held);
  if (missingL <= 0 || isAsFullAsItGets(plant, draft, route)) {
    happen(work, 'filled', message('looking-before-salt'));
    return;
  }
  const available = availableL(plant, draft);
  if (!work.moving && available < Math.min(missingL, chunkL(plant))) {
    work.words = message('moved-so-far', { movedL: whole(work.movedL), volumeL: whole(missingL) });
    return;
  }
  // What is left near the pump's least contents is not worth another start.
  work.moving = available > 0 && (isAllowed(draft, route.id) || !isForLackOfWater(plant, draft, route));
  work.words = message('fresh-water-to-go', { volumeL: whole(missingL) });
  if (work.moving) wants.targets.push(route.id);
}

const isForLackOfWater = (plant: Plant, draft: State, route: Route): boolean =>
  forbiddenBy(draft, route.id).some((key) => rowOf(plant, key)?.means === 'empty');

/**
 * The vat may be full for all that is known, although the middle of the interval says otherwise. What is only silent is
 * waited for: salt for a vat of which nobody knows how full it is would be any amount.
 */
function isAsFullAsItGets(plant: Plant, draft: State, route: Route): boolean {
  const held = known(draft.vessels, plant.mixingId);
  if (says(plant, draft, known(plant.vessels, plant.mixingId).floats.high, true)) return true;
  const by = forbiddenBy(draft, route.id).map((key) => rowOf(plant, key)?.means);
  const brim = by.includes('brim') && !by.includes('silent');
  return brim && middleL(held) >= plant.process.batch.leastL;
}

export function trimWater(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const route = transferRoute(plant);
  if (route === undefined) return stuck(work, message('no-route-to-mixing-vat'));
  const pipe = known(draft.routes, route.id);
  work.movedL += pipe.movedL;
  work.words = message('trim-water-to-go', { volumeL: tenths(Math.max(0, work.askedL - work.movedL)) });
  if (work.movedL >= work.askedL || isAsFullAsItGets(plant, draft, route)) {
    happen(work, 'diluted', message('mixing'));
    return;
  }
  wants.targets.push(route.id);
  circulateBeside(plant, wants, route);
}
