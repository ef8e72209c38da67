// 3b, mix: assess what is in the vat, ask for salt, dissolve, measure, trim. What salt and water are needed is worked out in
// `mixing.ts`; here is the order of things.

import { BRINE_SALINITY } from '../../engineering/properties.ts';
import type { Plant } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { circulates } from '../guard/flows.ts';
import { isAllowed } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { ACCEPTED_SHARE, PERSON_PATIENCE_MS } from '../guard/limits.ts';
import { hundredths, type Message, message, tenths, whole } from '../guard/message.ts';
import { acceptBatch, doubtSalinity, doubtUnsalted, judgeSalinity, measuredBefore } from './measuring.ts';
import { askForSalt, doseKg, seenOfSalt, tooFullForL, waterForTrim } from './mixing.ts';
import { happen } from './stages.ts';
import type { State } from './state.ts';
import { circulate, measureAgain, stuck } from './working.ts';

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
  if (Math.abs(salinity - target) <= tolerance) happen(work, 'within', message('already-salt-enough'));
  else if (salinity < target) askOrDraw(plant, draft, salinity, message('salt-is-asked-for'));
  else dilute(plant, draft, salinity);
}

function dilute(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  if (salinity > BRINE_SALINITY.most)
    return stuck(work, message('too-salt-to-thin', { salinity: whole(salinity) }));
  const water = waterForTrim(plant, draft, salinity);
  if (water.kind === 'no-room') {
    stuck(work, message('too-salt-no-room', { salinity: tenths(salinity), volumeL: tenths(water.drawnL) }));
    return;
  }
  Object.assign(work, { askedL: water.litres, movedL: 0, salted: null });
  happen(work, 'above', message('too-salt-water-goes-over', { volumeL: tenths(water.litres) }));
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
    work.words = message('dosing-to-go', { massKg: hundredths(Math.max(0, kg)) });
    return;
  }
  const seen = seenOfSalt(plant, draft);
  if (seen === 'target' && work.stage === 'mix/trim-salt') {
    // Salted it was before: nobody is asked to pour what the probe no longer misses.
    happen(work, 'within', message('probe-at-target'));
    return;
  }
  if (seen !== 'nothing') {
    // A probe alone is not believed that salt went in: one that jumps would let fresh water pass for salted.
    const words = message('task-salt-seen', { vessel: plant.mixingId });
    draft.tasks[plant.mixingId] = { task: 'add-salt', vessel: plant.mixingId, massKg: work.askedKg, words };
    work.words = message('salt-unconfirmed');
    return;
  }
  const words = message('task-add-salt', {
    massKg: work.askedKg,
    salt: plant.process.saltName,
    vessel: plant.mixingId,
  });
  draft.tasks[plant.mixingId] = { task: 'add-salt', vessel: plant.mixingId, massKg: work.askedKg, words };
  work.words =
    work.stageMs > PERSON_PATIENCE_MS
      ? message('still-waiting-for-salt', { massKg: work.askedKg })
      : message('asked-for-salt', { massKg: work.askedKg });
}

export function salted(draft: State, massKg: number): void {
  const work = draft.batch;
  work.saltAddedKg += massKg;
  work.saltAddedNowKg = 0;
  happen(work, 'salted', message('dissolving'));
}

export function dissolve(plant: Plant, draft: State, _elapsedMs: number, wants: Wants): void {
  const work = draft.batch;
  circulate(plant, wants);
  work.words = message('dissolving');
  if (work.circulatedMs >= plant.process.batch.dissolveMs)
    happen(work, 'dissolved', message('settling-then-measuring'));
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
    if (!acceptBatch(plant, draft, salinity)) return measureAgain(work);
    happen(work, 'within', message('batch-accepted'));
    return;
  }
  if (work.trims >= plant.process.batch.trims) {
    stuck(work, message('still-off-after-trims', { salinity: hundredths(salinity), count: work.trims }));
    return;
  }
  work.trims += 1;
  correct(plant, draft, salinity);
}

const fits = (plant: Plant, draft: State, salinity: number): boolean =>
  waterForTrim(plant, draft, salinity).kind === 'water';

export function correct(plant: Plant, draft: State, salinity: number): void {
  if (salinity > plant.process.salinity.target) return dilute(plant, draft, salinity);
  askOrDraw(plant, draft, salinity, message('too-little-salt', { salinity: hundredths(salinity) }));
}

/** Asks for salt, or first for the room that it takes: poured into a vat that stands at its brim it would push water out. */
function askOrDraw(plant: Plant, draft: State, salinity: number, words: Message): void {
  const drawnL = tooFullForL(plant, draft, doseKg(plant, draft, salinity));
  if (drawnL > 0) {
    return stuck(
      draft.batch,
      message('too-full-for-salt', { vessel: plant.mixingId, volumeL: tenths(drawnL) }),
    );
  }
  askForSalt(plant, draft, salinity);
  happen(draft.batch, 'below', words);
}
