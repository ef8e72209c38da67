// 3b, mix: assess what is in the vat, ask for salt, dissolve, measure, trim. What salt and water are needed is worked out in
// `mixing.ts`; here is the order of things.
import { BRINE_SALINITY } from '../../engineering/properties.ts';
import type { Plant } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { circulates } from '../guard/flows.ts';
import { isAllowed } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { ACCEPTED_SHARE, PERSON_PATIENCE_MS } from '../guard/limits.ts';
import { saltPoured } from '../guard/salt-balance.ts';
import { accept, doubtSalinity, doubtUnsalted, judgeSalinity, measuredBefore } from './measuring.ts';
import { askForSalt, doseKg, seenOfSalt, tooFullForL, waterForTrim } from './mixing.ts';
import { happen } from './stages.ts';
import type { State } from './state.ts';
import { circulate, stuck } from './working.ts';

export function assess(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const measured = measuredBefore(plant, draft);
  if (measured === null) return;
  const doubt = doubtUnsalted(plant, draft, measured);
  if (doubt.kind === 'stuck') return stuck(work, doubt.words);
  if (doubt.kind === 'asked') return;
  const { salinity } = doubt;
  work.salinityBefore = salinity;
  const { target, tolerance } = plant.process.salinity;
  if (Math.abs(salinity - target) <= tolerance) happen(work, 'within', 'already salt enough: measuring');
  else if (salinity < target) askOrDraw(plant, draft, salinity, 'salt is asked for');
  else dilute(plant, draft, salinity);
}

function dilute(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  if (salinity > BRINE_SALINITY.most)
    return stuck(work, `too salt to thin (${salinity.toFixed(0)}): draw the vat off and begin a new batch`);
  const water = waterForTrim(plant, draft, salinity);
  if (water.kind === 'no-room') {
    stuck(
      work,
      `too salt (${salinity.toFixed(1)}) and no room to dilute: draw off ${water.drawnL.toFixed(1)} L of it and put fresh water in its place, then restart`,
    );
    return;
  }
  Object.assign(work, { askedL: water.litres, movedL: 0, salted: null });
  happen(work, 'above', `too salt: ${water.litres.toFixed(1)} L of fresh water go over`);
}

export function salt(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const doser = Object.values(plant.dosers).find((d) => d.vessel === plant.mixingId);
  const kg = work.askedKg - work.saltAddedNowKg;
  if (doser && work.askedKg <= doser.largestKg) {
    if (known(draft.devices, doser.actuator).on && isAllowed(draft, doser.id))
      work.saltAddedNowKg += (elapsedMs / 60_000) * doser.rateKgPerMin;
    if (work.saltAddedNowKg >= work.askedKg) return salted(draft, work.saltAddedNowKg);
    if (circulates(plant, draft, plant.mixingId)) wants.targets.push(doser.id);
    work.words = `dosing salt: ${Math.max(0, kg).toFixed(2)} kg to go`;
    return;
  }
  const seen = seenOfSalt(plant, draft);
  if (seen === 'target' && work.stage === 'mix/trim-salt') {
    // Salted it was before: nobody is asked to pour what the probe no longer misses.
    happen(work, 'within', 'the probe stands at the target: measuring again');
    return;
  }
  if (seen !== 'nothing') {
    // A probe alone is not believed that salt went in: one that jumps would let fresh water pass for salted.
    const words = `The probe already sees salt in the ${known(plant.vessels, plant.mixingId).name}: pour nothing more. Confirm what was poured; if nothing was, look at the probe.`;
    draft.tasks[plant.mixingId] = { task: 'add-salt', vessel: plant.mixingId, massKg: work.askedKg, words };
    work.words = 'the probe sees salt that nobody confirmed';
    return;
  }
  const grams = work.askedKg < 1 ? `${Math.round(work.askedKg * 1000)} g` : `${work.askedKg.toFixed(2)} kg`;
  const words = `Add ${grams} of ${plant.process.saltName} to the ${known(plant.vessels, plant.mixingId).name}, slowly, with the circulation running. Then confirm, with what you really added.`;
  draft.tasks[plant.mixingId] = { task: 'add-salt', vessel: plant.mixingId, massKg: work.askedKg, words };
  work.words =
    work.stageMs > PERSON_PATIENCE_MS ? `still waiting for ${grams} of salt` : `asked for ${grams} of salt`;
}

export function salted(draft: State, massKg: number): void {
  const work = draft.batch;
  saltPoured(draft, massKg);
  work.saltAddedKg += massKg;
  work.saltAddedNowKg = 0;
  happen(work, 'salted', 'dissolving');
}

export function dissolve(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  work.words = 'dissolving';
  if (work.circulatedMs >= plant.process.batch.dissolveMs)
    happen(work, 'dissolved', 'settling, then measuring');
}

export function measure(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  const judged = judgeSalinity(plant, draft);
  if (judged.kind === 'waiting') {
    work.words = judged.words;
    return;
  }
  if (judged.kind === 'stuck') return stuck(work, judged.words);
  const { target, tolerance } = plant.process.salinity;
  const doubt = doubtSalinity(plant, draft, judged);
  if (doubt.kind === 'stuck') return stuck(work, doubt.words);
  if (doubt.kind === 'asked') return;
  const { salinity } = doubt;
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

export function correct(plant: Plant, draft: State, salinity: number): void {
  if (salinity > plant.process.salinity.target) return dilute(plant, draft, salinity);
  askOrDraw(plant, draft, salinity, `${salinity.toFixed(2)} is too little: salt is asked for`);
}

/** Asks for salt, or first for the room that it takes: poured into a vat that stands at its brim it would push water out. */
function askOrDraw(plant: Plant, draft: State, salinity: number, words: string): void {
  const drawnL = tooFullForL(plant, draft, doseKg(plant, draft, salinity));
  if (drawnL > 0) {
    const { name } = known(plant.vessels, plant.mixingId);
    return stuck(
      draft.batch,
      `the ${name} is too full for the salt that it needs: draw off ${drawnL.toFixed(1)} L of it, then restart`,
    );
  }
  askForSalt(plant, draft, salinity);
  happen(draft.batch, 'below', words);
}
