// What the batch works out: how large the dose of salt is, and how much fresh water a trim takes. The formulas are the
// engineering room's; here is which of the batch's numbers go into them.
import { BRINE_SALINITY } from '../../engineering/properties.ts';
import { YIELD } from '../../engineering/range.ts';
import { saltMassKg, trim } from '../../engineering/salting.ts';
import type { Plant } from '../../station/plant.ts';
import { middleL, swell } from '../guard/contents.ts';
import { fresh } from '../guard/evidence.ts';
import { known } from '../guard/invariant.ts';
import { ACCEPTED_SHARE, SALT_L_PER_KG, YIELD_DOUBT } from '../guard/limits.ts';
import { expectedYield, yieldIsMeasured } from '../guard/salt-yield.ts';
import type { State } from './state.ts';

/** Without a thermometer the density of water at this temperature is near enough: 0.3 % from 5 to 30 degC. */
const ASSUMED_C = 20;

const mixing = (plant: Plant, draft: State) => known(draft.vessels, plant.mixingId);
export const temperatureC = (plant: Plant, draft: State): number | null =>
  fresh(plant, draft, known(plant.vessels, plant.mixingId).temperature);
export const inFormulas = (celsius: number | null): number => Math.min(35, Math.max(0, celsius ?? ASSUMED_C));

/** Contents for salting: where they are too uncertain to hit the tolerance, the least, so that a trim adds and never dilutes. */
function saltingL(plant: Plant, draft: State): number {
  const held = mixing(plant, draft);
  const middle = middleL(held);
  const { target, tolerance } = plant.process.salinity;
  const sure = held.mostL - middle <= (middle * tolerance) / target;
  return Math.max(sure ? middle : held.leastL, 0.001);
}

/** The dry salt that brings the vat from `salinity` to the target, kg, to the gram: that is what a kitchen scale shows. */
export function doseKg(plant: Plant, draft: State, salinity: number): number {
  const litres = saltingL(plant, draft);
  const celsius = inFormulas(temperatureC(plant, draft));
  const { target } = plant.process.salinity;
  const kg = saltMassKg(litres, salinity, target, celsius, yieldOfDose(plant, draft, litres));
  return Math.max(0.001, Math.round(kg * 1000) / 1000);
}

/**
 * Salt takes room, and in a vat that came to stand too high it would push water over the brim: what has to be drawn off before
 * so much goes in, L. 0: it fits; or nothing that is heard could ever show that it does.
 */
export function tooFullForL(plant: Plant, draft: State, saltKg: number): number {
  const vat = known(plant.vessels, plant.mixingId);
  const isSeen = vat.level !== null || vat.floats.high !== undefined;
  const needsL = mixing(plant, draft).mostL + SALT_L_PER_KG * saltKg;
  return isSeen && needsL > vat.capacityL ? needsL - topL(plant) : 0;
}

/** Notes what is asked for, and what that rests on. */
export function askForSalt(plant: Plant, draft: State, salinity: number): void {
  const work = draft.batch;
  work.askedKg = doseKg(plant, draft, salinity);
  work.askedAt = salinity;
  if (work.saltAddedKg === 0) {
    const { leastL, mostL } = mixing(plant, draft);
    work.salted = { leastL: Math.max(leastL, 0.001), mostL };
    work.salinityBefore = salinity;
  }
  swell(known(plant.vessels, plant.mixingId), mixing(plant, draft), work.askedKg);
}

/**
 * What this salt yields; where there is no room to thin, the most that it may: salt can be added, and not be taken out of a full
 * vat. The most is what a finished batch has shown, and beyond the file's word while nobody has measured.
 */
function yieldOfDose(plant: Plant, draft: State, litres: number): number {
  const expected = expectedYield(plant, draft);
  if (roomL(plant, draft) >= YIELD_DOUBT * litres) return expected;
  const most = yieldIsMeasured(draft)
    ? Math.max(expected, ...draft.batch.yields)
    : expected * (1 + YIELD_DOUBT);
  return Math.min(YIELD.most, most);
}

/** What may still be poured in below the high float. */
const roomL = (plant: Plant, draft: State): number => Math.max(0, topL(plant) - mixing(plant, draft).mostL);

/** As high as the mixing vat is ever filled on purpose: below its high float for certain. */
function topL(plant: Plant): number {
  const vat = known(plant.vessels, plant.mixingId);
  const high = vat.floats.high === undefined ? null : known(plant.sensors, vat.floats.high);
  return high?.measures === 'float' ? high.markL - high.toleranceL : vat.capacityL - vat.marginL;
}

/**
 * Somebody poured and has not said so: the probe has seen half of the rise that was asked for, or it stands at the target
 * itself, which late crystals and noise can do as well.
 */
export function seenOfSalt(plant: Plant, draft: State): 'nothing' | 'rise' | 'target' {
  const { askedAt } = draft.batch;
  const { target, tolerance } = plant.process.salinity;
  const water = known(draft.salinity, plant.mixingId);
  if (water.probe === null || water.probeAgeMs > 0) return 'nothing';
  const isSteady = water.steadyMs >= plant.process.batch.steadyOverMs;
  if (isSteady && Math.abs(water.probe - target) <= tolerance * ACCEPTED_SHARE) return 'target';
  const rise = water.probe - askedAt;
  const isClear = rise >= (target - askedAt) / 2 && rise >= CLEAR_RISES * plant.process.batch.steadyWithin;
  return isClear ? 'rise' : 'nothing';
}
/** A rise counts as salt, and not as the probe's noise, from this many of the bands that count as steady. */
const CLEAR_RISES = 2;

export type TrimWater =
  | { readonly kind: 'water'; readonly litres: number }
  | { readonly kind: 'no-room'; readonly drawnL: number };

/** Fresh water that brings the vat down to the target, if it fits. */
export function waterForTrim(plant: Plant, draft: State, salinity: number): TrimWater {
  const held = mixing(plant, draft);
  const { target, tolerance } = plant.process.salinity;
  const celsius = inFormulas(temperatureC(plant, draft));
  const done = trim(
    Math.max(middleL(held), 0.001),
    // Beyond what the formulas reach at least this much must go; what is left is measured and thinned again.
    Math.min(salinity, BRINE_SALINITY.most),
    target,
    tolerance * ACCEPTED_SHARE,
    celsius,
    expectedYield(plant, draft),
    roomL(plant, draft),
  );
  if (done.kind === 'add fresh water') return { kind: 'water', litres: done.waterL };
  return { kind: 'no-room', drawnL: done.kind === 'replace with fresh water' ? done.drawnL : 0 };
}
