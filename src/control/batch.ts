// 3b. The batch: fresh water goes over, salt is asked for, dissolved, measured and trimmed, the water is heated if it has
// to be, and then kept ready. This file is the order of things; what salt and heat need is worked out in `mixing.ts`.
import type { Plant, Route } from '../station/plant.ts';
import { middleL } from './contents.ts';
import { salinityOf, says } from './evidence.ts';
import { circulates } from './flows.ts';
import { forbiddenBy, isAllowed } from './interlocks.ts';
import { known } from './invariant.ts';
import { ACCEPTED_SHARE, AGE_CAP_MS, PERSON_PATIENCE_MS, TRANSFER_CHUNK_SHARE } from './limits.ts';
import {
  accept,
  askForSalt,
  doubtSalinity,
  heatingNeeded,
  judgeSalinity,
  needsNewMeasurement,
  salinityToAssess,
  waterForTrim,
} from './mixing.ts';
import { hold, isRunning, move } from './procedure.ts';
import { happen } from './stages.ts';
import type { BatchState, Stage, State } from './state.ts';
import { isQuiet, quietWords, supervise, targetsOf, type Wants } from './units.ts';

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
  if (work.procedure === 'complete') move(work, 'reset', 'idle');
  work.stageMs = Math.min(work.stageMs + elapsedMs, AGE_CAP_MS);
  if (work.accepted) work.ageMs = Math.min(work.ageMs + elapsedMs, AGE_CAP_MS);
  work.sinceCirculatedMs = Math.min(work.sinceCirculatedMs + elapsedMs, AGE_CAP_MS);
  if (circulates(plant, draft, plant.mixingId)) {
    work.circulatedMs = Math.min(work.circulatedMs + elapsedMs, AGE_CAP_MS);
    work.sinceCirculatedMs = 0;
  }
  if (work.procedure !== 'running' && work.procedure !== 'idle') {
    draft.tasks[plant.mixingId] = work.procedure === 'held' ? (draft.tasks[plant.mixingId] ?? null) : null;
    return;
  }
  draft.tasks[plant.mixingId] = null;
  AT_WORK[work.stage](plant, draft, elapsedMs, wants);
}

const mixing = (draft: State, plant: Plant) => known(draft.vessels, plant.mixingId);

export const transferRoute = (plant: Plant): Route | undefined =>
  Object.values(plant.routes).find((r) => r.purpose === 'transfer');

export function circulate(plant: Plant, wants: Wants): void {
  const route = Object.values(plant.routes).find(
    (r) => r.purpose === 'circulate' && r.from === plant.mixingId,
  );
  if (route) wants.targets.push(route.id);
}

/** A person must look: the batch is held, and says why. */
export function stuck(work: BatchState, words: string): void {
  if (happen(work, 'stuck', words) === 'hold') hold(work, 'process', words);
}

function startByItself(plant: Plant, draft: State): void {
  const work = draft.batch;
  if (work.procedure === 'running') return begin(plant, draft);
  work.words = 'idle';
  if (plant.policy.starts.batch !== 'itself') return;
  const quiet = isQuiet(plant, draft, 'transfer');
  if (quiet !== 'no') {
    work.words = quietWords(quiet);
    return;
  }
  const enough =
    availableL(plant, draft) >= chunkL(plant) ||
    middleL(mixing(draft, plant)) >= plant.process.batch.contentsL;
  if (!enough) {
    work.words = 'waiting for enough fresh water to begin a batch';
    return;
  }
  if (move(work, 'start', 'a batch begins')) begin(plant, draft);
}

export function begin(plant: Plant, draft: State): void {
  const work = draft.batch;
  const held = mixing(draft, plant);
  Object.assign(work, {
    number: work.number + 1,
    movedL: 0,
    trims: 0,
    confirmed: false,
    askedKg: 0,
    askedL: 0,
    saltAddedKg: 0,
    salted: null,
    leftoverL: middleL(held),
    leftoverSalinity: work.acceptedSalinity ?? salinityOf(plant, draft, plant.mixingId),
    acceptedSalinity: null,
    ageMs: 0,
  });
  happen(work, 'begun', 'fresh water goes over');
}

/** What the source of the transfer can give now, for certain. */
export function availableL(plant: Plant, draft: State): number {
  const route = transferRoute(plant);
  if (route === undefined) return 0;
  return Number.isFinite(known(plant.vessels, route.from).capacityL)
    ? usableL(plant, draft, route.from)
    : Infinity;
}

/** What a vessel can give, for certain, before its low float or its least contents stop the pump. */
function usableL(plant: Plant, draft: State, vesselId: string): number {
  const vessel = known(plant.vessels, vesselId);
  const low = vessel.floats.low === undefined ? null : known(plant.sensors, vessel.floats.low);
  const floorL = Math.max(vessel.minimumL, low?.measures === 'float' ? low.markL + low.toleranceL : 0);
  return Math.max(0, known(draft.vessels, vesselId).leastL - floorL);
}

const chunkL = (plant: Plant): number => TRANSFER_CHUNK_SHARE * plant.process.batch.contentsL;

/** Moves what there is, waits for the purifier, and moves again, keeping count. */
function transfer(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const route = transferRoute(plant);
  if (route === undefined) return stuck(work, 'no route brings fresh water to the mixing vat');
  const held = mixing(draft, plant);
  const pipe = known(draft.routes, route.id);
  work.movedL += (pipe.movedLeastL + pipe.movedMostL) / 2;
  const missingL = plant.process.batch.contentsL - middleL(held);
  if (missingL <= 0 || isAsFullAsItGets(plant, draft, route)) {
    happen(work, 'filled', 'looking at what is in the vat before salt goes in');
    return;
  }
  const available = availableL(plant, draft);
  if (!work.moving && available < Math.min(missingL, chunkL(plant))) {
    work.words = `moved ${work.movedL.toFixed(0)} L so far, ${missingL.toFixed(0)} L to go: waiting for fresh water`;
    return;
  }
  // What is left near the pump's least contents is not worth another start.
  work.moving = available > 0 && (isAllowed(draft, route.id) || !isForLackOfWater(draft, route));
  work.words = `fresh water goes over: ${missingL.toFixed(0)} L to go`;
  if (work.moving) wants.targets.push(route.id);
}

const isForLackOfWater = (draft: State, route: Route): boolean =>
  forbiddenBy(draft, route.id).some((key) => key.startsWith('I-05') || key.startsWith('I-06'));

/** The vat may be full for all that is known, although the middle of the interval says otherwise. */
function isAsFullAsItGets(plant: Plant, draft: State, route: Route): boolean {
  const held = mixing(draft, plant);
  if (says(plant, draft, known(plant.vessels, plant.mixingId).floats.high, true)) return true;
  const brim = forbiddenBy(draft, route.id).some((key) => key.startsWith('I-03'));
  return brim && middleL(held) >= plant.process.batch.leastL;
}

function assess(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const salinity = salinityToAssess(plant, draft);
  if (salinity === null) return;
  work.salinityBefore = salinity;
  const { target, tolerance } = plant.process.salinity;
  if (Math.abs(salinity - target) <= tolerance) happen(work, 'within', 'already salt enough: measuring');
  else if (salinity < target) {
    askForSalt(plant, draft, salinity);
    happen(work, 'below', 'salt is asked for');
  } else dilute(plant, draft, salinity);
}

function dilute(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  const water = waterForTrim(plant, draft, salinity);
  if (water.kind === 'no-room') {
    stuck(
      work,
      `too salt (${salinity.toFixed(1)}) and no room to dilute: draw off ${water.drawnL.toFixed(0)} L of it, then restart`,
    );
    return;
  }
  Object.assign(work, { askedL: water.litres, movedL: 0, salted: null });
  happen(work, 'above', `too salt: ${water.litres.toFixed(1)} L of fresh water go over`);
}

function salt(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const doser = Object.values(plant.dosers).find((d) => d.vessel === plant.mixingId);
  const kg = work.askedKg - work.saltAddedNowKg;
  if (doser && work.askedKg <= doser.largestKg) {
    if (known(draft.devices, doser.actuator).on && isAllowed(draft, doser.id))
      work.saltAddedNowKg += (elapsedMs / 60_000) * doser.rateKgPerMin;
    if (work.saltAddedNowKg >= work.askedKg) return salted(work, work.saltAddedNowKg);
    if (circulates(plant, draft, plant.mixingId)) wants.targets.push(doser.id);
    work.words = `dosing salt: ${Math.max(0, kg).toFixed(2)} kg to go`;
    return;
  }
  const grams = work.askedKg < 1 ? `${Math.round(work.askedKg * 1000)} g` : `${work.askedKg.toFixed(2)} kg`;
  const words = `Add ${grams} of ${plant.process.saltName} to the ${known(plant.vessels, plant.mixingId).name}, slowly, with the circulation running. Then confirm, with what you really added.`;
  draft.tasks[plant.mixingId] = { task: 'add-salt', vessel: plant.mixingId, massKg: work.askedKg, words };
  work.words =
    work.stageMs > PERSON_PATIENCE_MS ? `still waiting for ${grams} of salt` : `asked for ${grams} of salt`;
}

export function salted(work: BatchState, massKg: number): void {
  work.saltAddedKg += massKg;
  work.saltAddedNowKg = 0;
  happen(work, 'salted', 'dissolving');
}

function dissolve(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  work.words = 'dissolving';
  if (work.circulatedMs >= plant.process.batch.dissolveMs)
    happen(work, 'dissolved', 'settling, then measuring');
}

function measure(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const judged = judgeSalinity(plant, draft);
  if (judged.kind === 'waiting') {
    work.words = judged.words;
    return;
  }
  if (judged.kind === 'stuck') return stuck(work, judged.words);
  const { target, tolerance } = plant.process.salinity;
  const { salinity } = judged;
  const doubt = doubtSalinity(plant, draft, salinity);
  if (doubt.kind === 'stuck') return stuck(work, doubt.words);
  if (doubt.kind === 'asked') return;
  const off = Math.abs(salinity - target);
  // Aimed at is the inner band; where nothing more can be corrected, the tolerance itself is good enough.
  const uncorrectable =
    work.trims >= plant.process.batch.trims || (salinity > target && !fits(plant, draft, salinity));
  if (off <= tolerance * ACCEPTED_SHARE || (off <= tolerance && uncorrectable)) {
    accept(plant, draft, salinity);
    happen(work, 'within', 'accepted');
    return;
  }
  if (work.trims >= plant.process.batch.trims) {
    stuck(
      work,
      `still ${salinity.toFixed(2)} after ${work.trims} trims: check the probe against another instrument, and the salt`,
    );
    return;
  }
  work.trims += 1;
  correct(plant, draft, salinity);
}

const fits = (plant: Plant, draft: State, salinity: number): boolean =>
  waterForTrim(plant, draft, salinity).kind === 'water';

function correct(plant: Plant, draft: State, salinity: number): void {
  if (salinity > plant.process.salinity.target) return dilute(plant, draft, salinity);
  askForSalt(plant, draft, salinity);
  happen(draft.batch, 'below', `${salinity.toFixed(2)} is too little: salt is asked for`);
}

function trimWater(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const route = transferRoute(plant);
  if (route === undefined) return stuck(work, 'no route brings fresh water to the mixing vat');
  const pipe = known(draft.routes, route.id);
  work.movedL += (pipe.movedLeastL + pipe.movedMostL) / 2;
  work.words = `fresh water goes over: ${Math.max(0, work.askedL - work.movedL).toFixed(1)} L to go`;
  if (work.movedL >= work.askedL || isAsFullAsItGets(plant, draft, route)) {
    happen(work, 'diluted', 'mixing');
    return;
  }
  wants.targets.push(route.id);
  circulate(plant, wants);
}

function heat(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const heater = Object.values(plant.heaters).find((h) => h.vessel === plant.mixingId);
  if (driftsAway(plant, draft)) return;
  const need = heatingNeeded(plant, draft, work.stageMs === 0 || work.heatBudgetMs === 0);
  work.words = need.words;
  if (need.kind === 'unknown') return circulate(plant, wants);
  if (need.kind === 'warm' || heater === undefined) {
    work.heatBudgetMs = 0;
    happen(work, 'warm', need.words);
    return;
  }
  if (work.stageMs > work.heatBudgetMs) {
    stuck(
      work,
      `heating takes longer than the ${(work.heatBudgetMs / 60_000).toFixed(0)} min computed: check the heater and the thermometer`,
    );
    return;
  }
  circulate(plant, wants);
  wants.targets.push(heater.id);
}

/** Evaporation, a lying first measurement, somebody's bucket: what was accepted is measured again at every circulation. */
function driftsAway(plant: Plant, draft: State): boolean {
  const salinity = salinityOf(plant, draft, plant.mixingId);
  const { target, tolerance } = plant.process.salinity;
  if (salinity === null || Math.abs(salinity - target) <= tolerance) return false;
  correct(plant, draft, salinity);
  return true;
}

function ready(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  const { ageLimitMs, circulateEveryMs, circulateForMs } = plant.process.batch;
  if (work.ageMs > ageLimitMs) {
    const words = `the batch is older than ${(ageLimitMs / 86_400_000).toFixed(0)} d: measure it, and restart to accept it anew, or draw it off`;
    if (happen(work, 'aged', words) === 'hold') hold(work, 'process', words);
    return;
  }
  const exchanging = Object.values(draft.exchange).some((e) => e.step !== 'rest');
  const pumping = known(plant.vessels, plant.mixingId).outOf.some(
    (id) => known(draft.routes, id).running !== 'no',
  );
  if (!exchanging && isSpent(plant, draft)) {
    happen(work, 'spent', 'the mixing vat is spent');
    move(work, 'done', 'the mixing vat is spent');
    return;
  }
  // A step that waits for its supply because the water drifted away waits for the trim.
  if (!pumping && driftsAway(plant, draft)) return;
  if (!exchanging && isTimeForTheNext(plant, draft)) return begin(plant, draft);
  const wanted = Object.entries(draft.exchange).some(
    ([id, e]) => e.requestedL > 0 || isDue(plant, id, e.dueL),
  );
  if (wanted && needsNewMeasurement(plant, draft)) {
    circulate(plant, wants);
    return;
  }
  if (
    wanted &&
    !pumping &&
    heatingNeeded(plant, draft, false).kind === 'cold' &&
    Object.keys(plant.heaters).length > 0
  ) {
    happen(work, 'cooled', 'too cold to deliver: heating');
    return;
  }
  work.words = 'ready';
  stirNowAndThen(plant, draft, wants, circulateEveryMs, circulateForMs);
}

const isDue = (plant: Plant, systemId: string, dueL: number): boolean =>
  dueL >= known(plant.process.exchange, systemId).stepL;

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
  if (!salts || plant.policy.starts.batch !== 'itself' || isQuiet(plant, draft, 'transfer') !== 'no')
    return false;
  const missingL = plant.process.batch.contentsL - middleL(mixing(draft, plant));
  return (
    missingL >= plant.process.batch.leastL &&
    availableL(plant, draft) >= missingL &&
    reserveShareOf(plant, draft) < plant.process.reserveShare
  );
}

/** Water on hand, as a share of all systems: fresh that can be pumped, and mixed. */
export function reserveShareOf(plant: Plant, draft: State): number {
  const systemsL = plant.systemIds.reduce((sum, id) => sum + known(plant.vessels, id).volumeL, 0);
  if (systemsL <= 0) return 1;
  const freshL = plant.freshId === null ? 0 : availableL(plant, draft);
  return (deliverableL(plant, draft) + freshL) / systemsL;
}

/** Less than one step of every exchange is left above what a pump needs. */
function isSpent(plant: Plant, draft: State): boolean {
  const steps = Object.values(plant.process.exchange).map((e) => e.stepL);
  if (steps.length === 0) return false;
  return deliverableL(plant, draft) < Math.min(...steps);
}

/** What can still be delivered from the mixing vat, for certain. */
export const deliverableL = (plant: Plant, draft: State): number => usableL(plant, draft, plant.mixingId);

/** A person lets a stuck batch go on: trims and budgets begin anew, and what was accepted too long ago is measured again. */
export function reconsider(work: BatchState): void {
  Object.assign(work, { trims: 0, heatBudgetMs: 0, stageMs: 0 });
  if (work.stage === 'ready' || work.stage === 'mix/trim-water')
    Object.assign(work, { stage: 'mix/measure', accepted: false, circulatedMs: 0, moving: false });
}

export const batchIsReady = (draft: State): boolean =>
  isRunning(draft.batch) && draft.batch.stage === 'ready';
