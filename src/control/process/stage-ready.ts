// 3b, heat and ready: heated if it has to be, then kept: stirred now and then, measured at every stirring, trimmed when it
// drifts, and left when it is old or used up.

import type { Heater, Plant } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { middleL } from '../guard/contents.ts';
import { salinityOf } from '../guard/evidence.ts';
import { known } from '../guard/invariant.ts';
import { type Message, message } from '../guard/message.ts';
import { starterOf } from './commissioned.ts';
import { isInStep, isTooLittle, wantedL } from './demand.ts';
import { heatingNeeded } from './heating.ts';
import { needsNewMeasurement } from './instruments.ts';
import { isFarFromAccepted } from './measuring.ts';
import { availableL, reserveShareOf } from './on-hand.ts';
import { hold, isRunning, move } from './procedure.ts';
import { correct } from './stage-mix.ts';
import { begin } from './stage-transfer.ts';
import { happen } from './stages.ts';
import type { State } from './state.ts';
import { isQuiet } from './units.ts';
import { circulate, measureAgain, stuck } from './working.ts';

export function heat(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const heater = Object.values(plant.heaters).find((h) => h.vessel === plant.mixingId);
  if (!work.accepted) return measureAgain(work);
  if (driftsAway(plant, draft)) return;
  const begins = work.heatBudgetMs === 0;
  const need = heatingNeeded(plant, draft, begins);
  // The budget is counted from when heating could begin, not from when a thermometer was waited for.
  if (begins) work.stageMs = 0;
  work.words = need.words;
  if (need.kind === 'unknown') return circulate(plant, wants);
  if (need.kind === 'warm' || heater === undefined) {
    work.heatBudgetMs = 0;
    happen(work, 'warm', need.words);
    return;
  }
  if (!coversHeater(plant, draft, heater)) {
    work.heatBudgetMs = 0;
    happen(work, 'warm', message('too-little-to-warm'));
    return;
  }
  if (work.stageMs > work.heatBudgetMs) {
    stuck(work, message('heating-takes-too-long', { durationMs: work.heatBudgetMs }));
    return;
  }
  circulate(plant, wants);
  wants.targets.push(heater.id);
}

/**
 * Evaporation, a lying first measurement, somebody's bucket: what was accepted is measured again at every circulation. Kept
 * water changes slowly: where the probe says that it did not, it is measured as after salting, and doubted like that.
 */
function driftsAway(plant: Plant, draft: State): boolean {
  const salinity = salinityOf(plant, draft, plant.mixingId);
  const { target, tolerance } = plant.process.salinity;
  if (salinity === null || Math.abs(salinity - target) <= tolerance) return false;
  if (isFarFromAccepted(plant, draft, salinity)) measureAgain(draft.batch);
  else correct(plant, draft, salinity);
  return true;
}

export function ready(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const { ageLimitMs, circulateEveryMs, circulateForMs } = plant.process.batch;
  if (work.ageMs > ageLimitMs) {
    const words = message('batch-too-old', { durationMs: ageLimitMs });
    if (happen(work, 'aged', words) === 'hold') hold(work, 'process', words);
    return;
  }
  const exchanging = Object.values(draft.exchange).some(isInStep);
  const pumping = known(plant.vessels, plant.mixingId).outOf.some(
    (id) => known(draft.routes, id).running !== 'no',
  );
  if (!exchanging && isTooLittle(plant, draft)) return usedUp(draft, message('mixing-vat-spent'));
  if (!work.accepted) return measureAgain(work);
  // A step that waits for its supply because the water drifted away waits for the trim.
  if (!pumping && driftsAway(plant, draft)) return;
  if (!exchanging && isTimeForTheNext(plant, draft)) return begin(plant, draft);
  const wanted = Object.keys(draft.exchange).some((id) => wantedL(plant, draft, id) > 0);
  if (wanted && needsNewMeasurement(plant, draft)) {
    circulate(plant, wants);
    return;
  }
  const heater = Object.values(plant.heaters).find((h) => h.vessel === plant.mixingId);
  if (wanted && !pumping && heater && heatingNeeded(plant, draft, false).kind === 'cold') {
    // A leftover below the heater can't be warmed any more: the next batch takes it in.
    if (!coversHeater(plant, draft, heater)) return usedUp(draft, message('rest-too-cold'));
    happen(work, 'cooled', message('too-cold-to-deliver'));
    return;
  }
  work.words = message('batch-ready');
  stirNowAndThen(plant, draft, wants, circulateEveryMs, circulateForMs);
}

function usedUp(draft: State, words: Message): void {
  happen(draft.batch, 'spent', words);
  move(draft.batch, 'done', words);
}

const coversHeater = (plant: Plant, draft: State, heater: Heater): boolean =>
  known(draft.vessels, plant.mixingId).leastL >= heater.coveredL;

function stirNowAndThen(plant: Plant, draft: State, wants: Wants, everyMs: number, lastsMs: number): void {
  const work = draft.batch;
  const stirring = work.moving;
  // `circulatedMs` counts from the start of the stage: one stirring is a multiple of `lastsMs`.
  if (!stirring && work.sinceCirculatedMs >= everyMs && isQuiet(plant, draft, 'circulate') !== 'yes') {
    work.moving = true;
    work.circulatedMs = 0;
  }
  if (stirring && work.circulatedMs >= lastsMs) work.moving = false;
  if (work.moving) circulate(plant, wants);
}

/**
 * A station that salts by itself tops its batch up while there is still water to deliver, as soon as the reserve is short
 * and the fresh vat can give what is missing. Where a person must bring the salt the batch is used up first: beginning
 * early, with nobody at home, would stop the exchange that the rest could have fed for days.
 */
function isTimeForTheNext(plant: Plant, draft: State): boolean {
  const salts = Object.values(plant.dosers).some((doser) => doser.vessel === plant.mixingId);
  if (!salts || starterOf(plant, draft, 'batch') !== 'itself' || isQuiet(plant, draft, 'transfer') !== 'no')
    return false;
  const missingL = plant.process.batch.contentsL - middleL(known(draft.vessels, plant.mixingId));
  return (
    missingL >= plant.process.batch.leastL &&
    availableL(plant, draft) >= missingL &&
    reserveShareOf(plant, draft) < plant.process.reserveShare
  );
}

export const batchIsReady = (draft: State): boolean =>
  isRunning(draft.batch) && draft.batch.stage === 'ready';
