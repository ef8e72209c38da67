// What the salinity of the mixing vat can be, from what went in and out: salt said to be poured, fresh water, and the widest
// contents. Every measurement, a probe's or a person's, is held against this interval.
//
// The record begins at an anchor: the salinity interval and the contents at some moment. Water that leaves changes no
// salinity, so the anchor is set anew while it leaves. Fresh water and salt that came in since are counted beside it, and the
// interval is worked out by mass when somebody asks: with the contents as the evidence has them now, which are often known
// better after a filling run than during it.
import { BRINE_SALINITY } from '../../engineering/properties.ts';
import { GRAMS_PER_SALINITY } from '../../engineering/seawater.ts';
import type { Plant } from '../../station/plant.ts';
import { feedbackOf } from './evidence.ts';
import { known } from './invariant.ts';
import { EVAPORATION_SHARE_PER_DAY, SALT_L_PER_KG, YIELD_DOUBT } from './limits.ts';
import { actuatorsOf } from './row-kinds.ts';
import { expectedYield } from './salt-yield.ts';
import type { GuardState } from './state.ts';

const DAY_MS = 86_400_000;
/** A litre of water weighs this share more for 1 of practical salinity: 1.027 kg at 35 (any table). */
const HEAVIER_SHARE = 0.00077;

export interface SaltRange {
  readonly least: number;
  readonly most: number;
}

/** Nothing is known: any water that can be measured may be in the vat. */
const UNKNOWN_SALT: SaltRange = { least: 0, most: BRINE_SALINITY.most };

/** Takes this event's water into the record. After the contents. */
export function balanceSalt(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const vat = known(plant.vessels, plant.mixingId);
  const { water } = draft;
  let isForeign = false;
  for (const id of vat.into) {
    const { movedLeastL, movedMostL } = known(draft.routes, id);
    water.inLeastL += movedLeastL;
    water.inMostL += movedMostL;
    const { role } = known(plant.vessels, known(plant.routes, id).from);
    isForeign ||= movedMostL > 0 && role !== 'fresh' && role !== 'purified-water';
  }
  water.most *= 1 + (EVAPORATION_SHARE_PER_DAY * elapsedMs) / DAY_MS;
  // What comes from anywhere but the purifier or the fresh vat may be as salt as anything.
  if (isForeign) return anchor(plant, draft, UNKNOWN_SALT);
  const leaves = vat.outOf.some((id) => known(draft.routes, id).movedMostL > 0);
  if (leaves || known(draft.vessels, vat.id).handDrawnL > 0) anchor(plant, draft, saltRange(plant, draft));
}

/** Salt that a person, or the doser, says went in. */
export function saltPoured(draft: GuardState, kg: number): void {
  draft.water.saltKg += kg;
}

/** From now on the salinity is known to lie in this interval, whatever came before. */
export function anchor(plant: Plant, draft: GuardState, { least, most }: SaltRange): void {
  const { leastL, mostL } = known(draft.vessels, plant.mixingId);
  draft.water = {
    ...draft.water,
    least: Math.min(Math.max(0, least), BRINE_SALINITY.most),
    most: Math.min(most, BRINE_SALINITY.most),
    leastL,
    mostL,
    inLeastL: 0,
    inMostL: 0,
    saltKg: 0,
  };
}

/** Has water come into the vat that nobody sent? There is more for certain than there was at the anchor with what came in since. */
export function cameUnasked(plant: Plant, { water, vessels }: GuardState): boolean {
  return known(vessels, plant.mixingId).leastL > water.mostL + water.inLeastL + SALT_L_PER_KG * water.saltKg;
}

/**
 * Does a way into the vat run by what its devices report, though not all of them were told to be on? What nobody contradicts
 * is no evidence: without a link every way may run.
 */
export function isLetInUnasked(plant: Plant, draft: GuardState): boolean {
  return known(plant.vessels, plant.mixingId).into.some((id) => {
    const untold = actuatorsOf(plant, id).filter((actuator) => !known(draft.devices, actuator).on);
    return untold.length > 0 && untold.every((actuator) => feedbackOf(plant, draft, actuator) === true);
  });
}

/** Between which salinities the water of the vat can be now. */
export function saltRange(plant: Plant, draft: GuardState): SaltRange {
  const { water } = draft;
  const held = known(draft.vessels, plant.mixingId);
  let inMostL = water.inMostL;
  for (const id of known(plant.vessels, plant.mixingId).into) inMostL += known(draft.routes, id).pendingMostL;
  if (inMostL <= 0 && water.saltKg <= 0) return { least: water.least, most: water.most };
  // The water without the salt that went in since: by what flowed, and by what the evidence says now.
  let leastL = Math.max(held.leastL - SALT_L_PER_KG * water.saltKg, water.leastL + water.inLeastL);
  let mostL = Math.min(held.mostL, water.mostL + inMostL);
  // The two contradict each other: either may be wrong.
  if (leastL > mostL) [leastL, mostL] = [mostL, leastL];
  const dissolvedKg = water.saltKg * expectedYield(plant, draft);
  // Thinnest where the leftover was small and all of it large, saltest the other way round: one of two places in between.
  const thin = (allL: number): number =>
    mixed(water.least, Math.max(water.leastL, allL - inMostL), allL, dissolvedKg * (1 - YIELD_DOUBT));
  const salty = (allL: number): number =>
    mixed(water.most, Math.min(water.mostL, allL - water.inLeastL), allL, dissolvedKg * (1 + YIELD_DOUBT));
  return {
    least: Math.min(thin(mostL), thin(clamped(water.leastL + inMostL, leastL, mostL)), BRINE_SALINITY.most),
    most: Math.min(
      Math.max(salty(leastL), salty(clamped(water.mostL + water.inLeastL, leastL, mostL))),
      BRINE_SALINITY.most,
    ),
  };
}

const clamped = (value: number, least: number, most: number): number =>
  Math.min(Math.max(value, least), most);

/** Salinity of a leftover with fresh water to so many litres in all, and so much dissolved salt. */
function mixed(leftover: number, leftoverL: number, allL: number, dissolvedKg: number): number {
  const oldL = Math.max(0, Math.min(leftoverL, allL));
  const oldKg = oldL * (1 + HEAVIER_SHARE * leftover);
  const kg = Math.max(allL - oldL, 0) + oldKg + dissolvedKg;
  if (kg <= 0) return leftover;
  return (leftover * oldKg + (1000 * dissolvedKg) / GRAMS_PER_SALINITY) / kg;
}
