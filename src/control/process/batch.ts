// 3b. The batch: fresh water goes over, salt is asked for, dissolved, measured and trimmed, the water is heated if it has
// to be, and then kept ready. Which stage follows which is the table in `stages.ts`; what each does is in a file of its own.

import type { Plant } from '../../station/plant.ts';
import { disown } from '../guard/acceptance.ts';
import type { Wants } from '../guard/commands.ts';
import { middleL } from '../guard/contents.ts';
import { circulates } from '../guard/flows.ts';
import { known } from '../guard/invariant.ts';
import { AGE_CAP_MS } from '../guard/limits.ts';
import { message } from '../guard/message.ts';
import { isLinked, watched } from '../guard/watched.ts';
import { starterOf } from './commissioned.ts';
import { availableL } from './on-hand.ts';
import { move } from './procedure.ts';
import { assess, dissolve, measure, salt } from './stage-mix.ts';
import { heat, ready } from './stage-ready.ts';
import { begin, chunkL, transfer, trimWater } from './stage-transfer.ts';
import type { BatchState, Stage, State } from './state.ts';
import { isQuiet, quietWords, supervise, targetsOf } from './units.ts';
import { measureAgain } from './working.ts';

type Work = (plant: Plant, draft: State, elapsedMs: number, wants: Wants) => void;

const AT_WORK: Readonly<Record<Stage, Work>> = {
  idle: startByItself,
  transfer,
  'mix/assess': assess,
  'mix/salt': salt,
  'mix/dissolve': dissolve,
  'mix/measure': measure,
  'mix/trim-salt': salt,
  'mix/trim-water': trimWater,
  heat,
  ready,
};

export function batch(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  supervise(plant, draft, work, targetsOf(plant).batch, elapsedMs);
  if (work.procedure === 'complete') move(work, 'reset', message('idle'));
  // A trip is water that went where nobody sent it, or may have: what was accepted before it is measured again.
  if (work.cause === 'trip') disown(work);
  work.stageMs = Math.min(work.stageMs + elapsedMs, AGE_CAP_MS);
  work.sinceCirculatedMs = Math.min(work.sinceCirculatedMs + elapsedMs, AGE_CAP_MS);
  if (circulates(plant, draft, plant.mixingId)) {
    work.circulatedMs = Math.min(work.circulatedMs + watched(plant, elapsedMs), AGE_CAP_MS);
    work.sinceCirculatedMs = 0;
  }
  if (isInHands(plant, draft)) known(draft.vessels, plant.mixingId).floats = {};
  if (work.procedure !== 'running' && work.procedure !== 'idle') {
    // Heating that was held works out anew how long it may take.
    if (work.stage === 'heat') work.heatBudgetMs = 0;
    draft.tasks[plant.mixingId] = work.procedure === 'held' ? (draft.tasks[plant.mixingId] ?? null) : null;
    return;
  }
  draft.tasks[plant.mixingId] = null;
  AT_WORK[work.stage](plant, draft, elapsedMs, wants);
}

/**
 * No water is sent to the vat, and a person was asked to draw some off or to bring some, or gave the batch up: no flow
 * explains what they do, and the books of its floats begin anew after it.
 */
function isInHands(plant: Plant, { batch, routes }: State): boolean {
  const { procedure, cause } = batch;
  return (
    ((procedure === 'held' && cause === 'process') || procedure === 'stopped' || procedure === 'aborted') &&
    known(plant.vessels, plant.mixingId).into.every((id) => known(routes, id).running === 'no')
  );
}

function startByItself(plant: Plant, draft: State): void {
  const work = draft.batch;
  if (work.procedure === 'running') return begin(plant, draft);
  work.words = message('idle');
  if (starterOf(plant, draft, 'batch') !== 'itself' || !isLinked(plant, draft)) return;
  const quiet = isQuiet(plant, draft, 'transfer');
  if (quiet !== 'no') {
    work.words = quietWords(quiet);
    return;
  }
  const enough =
    availableL(plant, draft) >= chunkL(plant) ||
    middleL(known(draft.vessels, plant.mixingId)) >= plant.process.batch.contentsL;
  if (!enough) {
    work.words = message('waiting-for-fresh-water-to-begin');
    return;
  }
  if (move(work, 'start', message('a-batch-begins'))) begin(plant, draft);
}

/** A person lets a stuck batch go on: trims and budgets begin anew, and what was accepted too long ago is measured again. */
export function reconsider(work: BatchState): void {
  Object.assign(work, { doubted: null, doubtedBy: '' });
  if (work.stage === 'ready' || work.stage === 'mix/trim-water') measureAgain(work);
  // Whoever looked may have drawn water off and poured some in: it is mixed before it is measured.
  else Object.assign(work, { trims: 0, heatBudgetMs: 0, stageMs: 0, circulatedMs: 0 });
}
