// What the batch works out: how much salt, how much fresh water, whether the salinity can be believed. The formulas are the engineering room's; here is which of the batch's numbers go into them.
import { saltMassKg, trim } from '../engineering/salting.ts';
import { PRACTICAL_SALINITY } from '../engineering/seawater.ts';
import { batchYield, learnedYield } from '../engineering/yield.ts';
import type { Plant } from '../station/plant.ts';
import { middleL, swell } from './contents.ts';
import { fresh, probeOf, salinityOf } from './evidence.ts';
import { known } from './invariant.ts';
import {
  ACCEPTED_SHARE,
  AMOUNTS_DOUBT,
  PERSON_PATIENCE_MS,
  SECOND_INSTRUMENT,
  STEADY_PATIENCE,
  YIELD_DOUBT,
  YIELDS_KEPT,
} from './limits.ts';
import type { BatchState, State } from './state.ts';

/** Without a thermometer the density of water at this temperature is near enough: 0.3 % from 5 to 30 degC. */
const ASSUMED_C = 20;

const mixing = (plant: Plant, draft: State) => known(draft.vessels, plant.mixingId);
export const temperatureC = (plant: Plant, draft: State): number | null =>
  fresh(plant, draft, known(plant.vessels, plant.mixingId).temperature);
const inFormulas = (celsius: number | null): number => Math.min(35, Math.max(0, celsius ?? ASSUMED_C));

/** The probe serves, unless it is out of service: then, or without one, a person measures. */
function measuredByPerson(plant: Plant, draft: State): boolean {
  const probe = probeOf(plant, plant.mixingId);
  return probe === null || draft.outOfService[probe.id] !== undefined;
}

/** Salinity of what is in the vat before salting; null while it is not known yet. */
export function salinityToAssess(plant: Plant, draft: State): number | null {
  const work = draft.batch;
  const water = known(draft.salinity, plant.mixingId);
  const settled = work.circulatedMs >= plant.process.batch.settleMs;
  if (!measuredByPerson(plant, draft)) {
    work.words = 'circulating, to measure what is in the vat';
    return settled && water.probe !== null && water.probeAgeMs === 0 ? water.probe : null;
  }
  const leftoverShare = work.leftoverL / Math.max(middleL(mixing(plant, draft)), 1);
  // Nothing but purified water, or a leftover that was accepted once: its salinity follows from the amounts.
  if (leftoverShare < 0.05) return 0;
  if (work.leftoverSalinity !== null) return work.leftoverSalinity * leftoverShare;
  return askToMeasure(plant, draft);
}

/** Asks a person for the salinity; their answer counts only if it is younger than this stage. */
function askToMeasure(plant: Plant, draft: State): number | null {
  const work = draft.batch;
  const water = known(draft.salinity, plant.mixingId);
  const servesMs = Math.min(work.stageMs, plant.process.batch.measurementServesMs);
  if (water.measured !== null && water.measuredAgeMs < servesMs) return water.measured;
  const words = `Measure the salinity of the ${known(plant.vessels, plant.mixingId).name} while it circulates, and report the value with the instrument and its temperatures.`;
  draft.tasks[plant.mixingId] = { task: 'measure-salinity', vessel: plant.mixingId, massKg: null, words };
  work.words = 'asked for a measurement of the salinity';
  return null;
}

/** A step is due, and what a person measured is too old to serve: they are asked again. */
export function needsNewMeasurement(plant: Plant, draft: State): boolean {
  if (!measuredByPerson(plant, draft) || salinityOf(plant, draft, plant.mixingId) !== null) return false;
  askToMeasure(plant, draft);
  return true;
}

/** The salt's yield: stated by the file, learned from finished batches as soon as they are three. */
export function yieldOf(plant: Plant, work: BatchState): number {
  const learned = learnedYield(work.yields);
  return learned.kind === 'learned' ? Math.min(1, learned.yieldKgPerKg) : plant.process.saltYield;
}

/** Contents for salting: where they are too uncertain to hit the tolerance, the least, so that a trim adds and never dilutes. */
function saltingL(plant: Plant, draft: State): number {
  const held = mixing(plant, draft);
  const middle = middleL(held);
  const { target, tolerance } = plant.process.salinity;
  const sure = held.mostL - middle <= (middle * tolerance) / target;
  return Math.max(sure ? middle : held.leastL, 0.001);
}

/** Works out the dry salt that brings the vat from `salinity` to the target, and notes what it rests on. */
export function askForSalt(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  const litres = saltingL(plant, draft);
  const celsius = inFormulas(temperatureC(plant, draft));
  const { target } = plant.process.salinity;
  const kg = saltMassKg(litres, salinity, target, celsius, yieldOf(plant, work));
  // To the gram: that is what a kitchen scale shows.
  work.askedKg = Math.max(0.001, Math.round(kg * 1000) / 1000);
  work.askedAt = salinity;
  if (work.saltAddedKg === 0) {
    const { leastL, mostL } = mixing(plant, draft);
    work.salted = { leastL: Math.max(leastL, 0.001), mostL };
    work.salinityBefore = salinity;
  }
  swell(known(plant.vessels, plant.mixingId), mixing(plant, draft), work.askedKg);
}

/** Somebody poured and has not said so: the probe has seen half of the rise that was asked for, or the target itself. */
export function saltSeen(plant: Plant, draft: State): boolean {
  const { askedAt } = draft.batch;
  const { target, tolerance } = plant.process.salinity;
  const water = known(draft.salinity, plant.mixingId);
  if (water.probe === null || water.probeAgeMs > 0) return false;
  const rise = water.probe - askedAt;
  const clear = rise >= (target - askedAt) / 2 && rise >= CLEAR_RISES * plant.process.batch.steadyWithin;
  const arrived =
    water.steadyMs >= plant.process.batch.steadyOverMs &&
    Math.abs(water.probe - target) <= tolerance * ACCEPTED_SHARE;
  return clear || arrived;
}
/** A rise counts as salt, and not as the probe's noise, from this many of the bands that count as steady. */
const CLEAR_RISES = 2;

export type TrimWater =
  | { readonly kind: 'water'; readonly litres: number }
  | { readonly kind: 'no-room'; readonly drawnL: number };

/** Fresh water that brings the vat down to the target, if it fits. */
export function waterForTrim(plant: Plant, draft: State, salinity: number): TrimWater {
  const vat = known(plant.vessels, plant.mixingId);
  const held = mixing(plant, draft);
  const { target, tolerance } = plant.process.salinity;
  const high = vat.floats.high === undefined ? null : known(plant.sensors, vat.floats.high);
  const topL = high?.measures === 'float' ? high.markL - high.toleranceL : vat.capacityL - vat.marginL;
  const roomL = Math.max(0, topL - held.mostL);
  const celsius = inFormulas(temperatureC(plant, draft));
  const done = trim(
    Math.max(middleL(held), 0.001),
    salinity,
    target,
    tolerance * ACCEPTED_SHARE,
    celsius,
    plant.process.saltYield,
    roomL,
  );
  if (done.kind === 'add fresh water') return { kind: 'water', litres: done.waterL };
  return { kind: 'no-room', drawnL: done.kind === 'replace with fresh water' ? done.drawnL : 0 };
}

/** More than the formulas of practical salinity reach: nothing can be worked out from it, a person has to thin the water. */
export const isBeyond = (salinity: number): boolean => salinity > PRACTICAL_SALINITY.most;
export const BEYOND_BY_HAND =
  'measured: more than practical salinity reaches (42). Far too much salt went in: draw off and refill, then restart';

export type Judged =
  | { readonly kind: 'waiting'; readonly words: string }
  | { readonly kind: 'stuck'; readonly words: string }
  | { readonly kind: 'measured'; readonly salinity: number };

/** The salinity of the finished mix: settled, steady for long enough, and measured now. */
export function judgeSalinity(plant: Plant, draft: State): Judged {
  const work = draft.batch;
  const { settleMs, steadyOverMs } = plant.process.batch;
  if (work.circulatedMs < settleMs) return { kind: 'waiting', words: 'settling before the measurement' };
  if (measuredByPerson(plant, draft)) {
    const salinity = askToMeasure(plant, draft);
    if (salinity === null) return { kind: 'waiting', words: work.words };
    return isBeyond(salinity) ? { kind: 'stuck', words: BEYOND_BY_HAND } : { kind: 'measured', salinity };
  }
  const water = known(draft.salinity, plant.mixingId);
  if (water.probe !== null && water.probeAgeMs === 0 && water.steadyMs >= steadyOverMs)
    return { kind: 'measured', salinity: water.probe };
  if (water.beyondMs >= steadyOverMs && water.beyondMs > 0)
    return {
      kind: 'stuck',
      words:
        'the probe reads more than practical salinity reaches (42): far too much salt went in, or the probe is wrong. Measure with another instrument; draw off and refill, then restart',
    };
  const patienceMs = STEADY_PATIENCE * (settleMs + steadyOverMs) + plant.process.batch.dissolveMs;
  if (work.stageMs > Math.max(patienceMs, 0) && work.circulatedMs > patienceMs)
    return {
      kind: 'stuck',
      words:
        'the salinity does not become steady, or can not be read: clean the probe, see whether salt lies on the bottom; far too much salt reads as nothing',
    };
  if (work.stageMs > patienceMs + PERSON_PATIENCE_MS)
    return {
      kind: 'stuck',
      words: 'the salinity could not be measured: circulation or the probe is missing',
    };
  const now = water.probe === null || water.probeAgeMs > 0 ? 'no valid reading' : water.probe.toFixed(2);
  return {
    kind: 'waiting',
    words: `measuring: ${now}, steady for ${(water.steadyMs / 60_000).toFixed(1)} min`,
  };
}

/** What the batch says of its salt's yield, from the least and the most that the vat may have held; null: nothing. */
function yieldSeen(plant: Plant, draft: State, salinity: number): { least: number; most: number } | null {
  const work = draft.batch;
  if (work.salted === null || work.saltAddedKg <= 0) return null;
  const celsius = inFormulas(temperatureC(plant, draft));
  const by = (litres: number) => batchYield(litres, work.salinityBefore, salinity, work.saltAddedKg, celsius);
  return { least: by(work.salted.leastL), most: by(work.salted.mostL) };
}

export type Doubt =
  | { readonly kind: 'none' }
  | { readonly kind: 'asked' }
  | { readonly kind: 'stuck'; readonly words: string };

/**
 * Does the measured salinity follow from the salt that went in, or from what was accepted before? A fouled probe reads low
 * and would ask for salt for ever; a dose poured twice or never is not what was confirmed. Neither can be told from the other
 * by the probe itself, so a second instrument decides.
 */
export function doubtSalinity(plant: Plant, draft: State, salinity: number): Doubt {
  const work = draft.batch;
  if (work.confirmed || isExplained(plant, draft, salinity)) return { kind: 'none' };
  work.doubted ??= salinity;
  const shown =
    work.saltAddedKg > 0
      ? `the probe says ${work.doubted.toFixed(1)}, which the ${work.saltAddedKg.toFixed(2)} kg of salt that were confirmed do not explain`
      : `the probe says ${work.doubted.toFixed(1)}, which the ${(work.acceptedSalinity ?? 0).toFixed(1)} that was accepted does not explain`;
  const doubt = bySecondInstrument(plant, draft, salinity, shown);
  if (doubt.kind !== 'none') return doubt;
  work.confirmed = true;
  work.doubted = null;
  return doubt;
}

function isExplained(plant: Plant, draft: State, salinity: number): boolean {
  const work = draft.batch;
  const seen = yieldSeen(plant, draft, salinity);
  if (seen === null) return work.saltAddedKg > 0 || !isFarFromAccepted(plant, draft, salinity);
  const expected = yieldOf(plant, work);
  return (
    measuredByPerson(plant, draft) ||
    (seen.most > expected * (1 - YIELD_DOUBT) && seen.least < expected * (1 + YIELD_DOUBT))
  );
}

/** The probe says that accepted water has changed by more than two instruments may differ. */
export function isFarFromAccepted(plant: Plant, draft: State, salinity: number): boolean {
  const { acceptedSalinity } = draft.batch;
  if (acceptedSalinity === null || measuredByPerson(plant, draft)) return false;
  return Math.abs(salinity - acceptedSalinity) > SECOND_INSTRUMENT + plant.process.salinity.tolerance;
}

/**
 * Before any salt: can the water that is in the vat hold what the probe says? A probe that is frozen still shows the last
 * batch, and would let fresh water pass for salted; one that reads low would have a salted vat salted again. What was in the
 * vat before may be as salt as it was last known to be, or as anything that can be measured; and no less where it was known.
 */
export function doubtUnsalted(plant: Plant, draft: State, salinity: number): Doubt {
  const work = draft.batch;
  if (measuredByPerson(plant, draft)) return { kind: 'none' };
  const share = Math.min(1, work.leftoverL / Math.max(middleL(mixing(plant, draft)), 1));
  const before = work.leftoverSalinity;
  const apart = SECOND_INSTRUMENT + plant.process.salinity.tolerance;
  const most = share * (before ?? PRACTICAL_SALINITY.most) * (1 + AMOUNTS_DOUBT) + apart;
  const least = share * (before ?? 0) * (1 - AMOUNTS_DOUBT) - apart;
  if (salinity > most)
    return bySecondInstrument(
      plant,
      draft,
      salinity,
      `the probe says ${salinity.toFixed(1)}, and the water that came in allows no more than ${most.toFixed(1)}`,
    );
  if (salinity < least)
    return bySecondInstrument(
      plant,
      draft,
      salinity,
      `the probe says ${salinity.toFixed(1)}, and what was in the vat before allows no less than ${least.toFixed(1)}`,
    );
  return { kind: 'none' };
}

/** A person measures with another instrument: who is right? */
function bySecondInstrument(plant: Plant, draft: State, salinity: number, shown: string): Doubt {
  const work = draft.batch;
  const byHand = askToMeasure(plant, draft);
  if (byHand === null) {
    const task = draft.tasks[plant.mixingId];
    if (task) draft.tasks[plant.mixingId] = { ...task, words: `${shown}. ${task.words}` };
    work.words = `${shown}: waiting for a second instrument`;
    return { kind: 'asked' };
  }
  if (Math.abs(byHand - salinity) > SECOND_INSTRUMENT + plant.process.salinity.tolerance)
    return {
      kind: 'stuck',
      words: `the probe says ${salinity.toFixed(2)}, the second instrument ${byHand.toFixed(2)}: clean and calibrate the probe, then restart`,
    };
  return { kind: 'none' };
}

/** The batch is good: its age begins, and the yield of its salt is learned where nothing but salt was added. */
export function accept(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  Object.assign(work, { accepted: true, acceptedSalinity: salinity, ageMs: 0, heatBudgetMs: 0 });
  const seen = yieldSeen(plant, draft, salinity);
  if (seen === null || work.confirmed) return;
  work.yields = [...work.yields, (seen.least + seen.most) / 2].slice(-YIELDS_KEPT);
}
