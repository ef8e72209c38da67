// How much salt, how much water: the mass balance of salt, with densities at the stated temperature.
//
// Salt is balanced by mass (reference salinity, g/kg), because volumes of salt water do not add up: 100 L of fresh water
// and the salt for 35 make 101 L. `yield` is the kilograms of sea salt that dissolve out of one kilogram of dry product;
// the rest is water of hydration and moisture, and joins the water. A mix of hydrates yields 0.85 (see recipes.ts), so
// the same vat needs 17 % more of it than of a mix of anhydrous salts.
import { crossing } from './numeric.ts';
import { BRINE_SALINITY, brineDensity } from './properties.ts';
import { hold, isWithin, OutOfRange, type Range, VOLUME, YIELD } from './range.ts';
import {
  PRACTICAL_SALINITY,
  practicalSalinityFromReferenceSalinity,
  referenceSalinityGPerKg,
  seawaterDensity,
} from './seawater.ts';

export const SALT: Range = { least: 0, most: 1e5, unit: 'kg' };

/** The lowest salinity to dilute to: towards nothing, no water is enough. */
export const LEAST_DILUTED = 0.01;

/**
 * Dry product that raises a volume from one salinity to another. The volume grows; see volumeAfterSaltingL.
 * x = m1 (S2 - S1) / (1000 yield - S2), mass balance.
 * @param volumeL of the water now, 0.001 to 1000000 L
 * @param present practical salinity now, 0 to 42
 * @param target practical salinity wanted, present to 42
 * @param temperatureC -2 to 40 degC
 * @param yieldKgPerKg 0.1 to 1
 * @returns kg of dry product
 * @throws OutOfRange also when the target lies below the present salinity
 */
export function saltMassKg(
  volumeL: number,
  present: number,
  target: number,
  temperatureC: number,
  yieldKgPerKg: number,
): number {
  hold('volume', volumeL, VOLUME);
  hold('yield', yieldKgPerKg, YIELD);
  holdOrder(present, target, 'up');
  const from = referenceSalinityGPerKg(present);
  const to = referenceSalinityGPerKg(target);
  return (massKg(volumeL, present, temperatureC) * (to - from)) / (1000 * yieldKgPerKg - to);
}

/**
 * Practical salinity after dissolving dry product: the inverse of saltMassKg.
 * S2 = (m1 S1 + 1000 yield x) / (m1 + x).
 * @throws OutOfRange also when the result would pass 42
 */
export function practicalSalinityAfterSalting(
  volumeL: number,
  present: number,
  saltKg: number,
  temperatureC: number,
  yieldKgPerKg: number,
): number {
  hold('volume', volumeL, VOLUME);
  hold('salt mass', saltKg, SALT);
  hold('yield', yieldKgPerKg, YIELD);
  const water = massKg(volumeL, present, temperatureC);
  const salt = water * referenceSalinityGPerKg(present) + 1000 * yieldKgPerKg * saltKg;
  return practicalSalinityFromReferenceSalinity(salt / (water + saltKg));
}

/**
 * The volume after salting: (m1 + x) / rho(S2). From fresh to 35 it is 1.0 % more for anhydrous salt, 1.6 % for
 * hydrates; a vat filled to the brim before salting runs over.
 * @throws OutOfRange
 */
export function volumeAfterSaltingL(
  volumeL: number,
  present: number,
  target: number,
  temperatureC: number,
  yieldKgPerKg: number,
): number {
  const saltKg = saltMassKg(volumeL, present, target, temperatureC, yieldKgPerKg);
  const total = massKg(volumeL, present, temperatureC) + saltKg;
  return (total / seawaterDensity(target, temperatureC)) * 1000;
}

/**
 * Dry product for a wanted final volume, starting from pure water: x = rho(S2) V2 S2 / (1000 yield).
 * @throws OutOfRange
 */
export function saltMassForFinalVolumeKg(
  finalVolumeL: number,
  target: number,
  temperatureC: number,
  yieldKgPerKg: number,
): number {
  hold('volume', finalVolumeL, VOLUME);
  hold('yield', yieldKgPerKg, YIELD);
  const dissolved = massKg(finalVolumeL, target, temperatureC) * referenceSalinityGPerKg(target);
  return dissolved / (1000 * yieldKgPerKg);
}

/**
 * Pure water to start from for a wanted final volume: what is left of the final mass when the product is taken away.
 * @throws OutOfRange
 */
export function waterForFinalVolumeL(
  finalVolumeL: number,
  target: number,
  temperatureC: number,
  yieldKgPerKg: number,
): number {
  const product = saltMassForFinalVolumeKg(finalVolumeL, target, temperatureC, yieldKgPerKg);
  const water = massKg(finalVolumeL, target, temperatureC) - product;
  return (water / seawaterDensity(0, temperatureC)) * 1000;
}

/**
 * Pure water that brings a volume down to a salinity: m1 (S1 / S2 - 1), as litres at the temperature. Beyond 42 the same
 * balance holds, with the density of brine.
 * @param present practical salinity now, 0 to 119
 * @param target practical salinity wanted, 0.01 to the present
 * @throws OutOfRange also when the target lies above the present salinity
 */
export function freshWaterToDiluteL(
  volumeL: number,
  present: number,
  target: number,
  temperatureC: number,
): number {
  hold('volume', volumeL, VOLUME);
  holdOrder(present, target, 'down');
  const water = brineKg(volumeL, present, temperatureC) * (present / target - 1);
  return (water / seawaterDensity(0, temperatureC)) * 1000;
}

/**
 * How much of a full vessel to draw off and replace with pure water to bring its salinity down at the same volume:
 * rho1 (V - v) S1 = (rho1 (V - v) + rho0 v) S2. Beyond 42 with the density of brine.
 * @param present practical salinity now, 0 to 119
 * @param target practical salinity wanted, 0.01 to the present
 * @returns L, drawn and put in
 * @throws OutOfRange
 */
export function waterToReplaceL(
  volumeL: number,
  present: number,
  target: number,
  temperatureC: number,
): number {
  hold('volume', volumeL, VOLUME);
  holdOrder(present, target, 'down');
  const excess = brineDensity(present, temperatureC) * (present - target);
  return (volumeL * excess) / (excess + seawaterDensity(0, temperatureC) * target);
}

/**
 * Practical salinity of two waters poured together, both at the temperature: by mass, not by volume.
 * @throws OutOfRange
 */
export function blendedPracticalSalinity(
  firstVolumeL: number,
  firstSalinity: number,
  secondVolumeL: number,
  secondSalinity: number,
  temperatureC: number,
): number {
  hold('first volume', firstVolumeL, VOLUME);
  hold('second volume', secondVolumeL, VOLUME);
  const first = massKg(firstVolumeL, firstSalinity, temperatureC);
  const second = massKg(secondVolumeL, secondSalinity, temperatureC);
  return (first * firstSalinity + second * secondSalinity) / (first + second);
}

/**
 * Salinity of a sample that no instrument reaches: it is thinned with pure water and measured then.
 * S1 = S2 (rho1 V1 + rho0 V0) / (rho1 V1), solved for S1 because its density is part of it.
 * @param sampleL of the sample, 0.001 to 1000000 L
 * @param waterL of pure water put to it, 0 to 1000000 L
 * @param thinned practical salinity of the two together, 0 to 42
 * @returns practical salinity of the sample, 0 to 119
 * @throws OutOfRange also when the sample would be beyond 119
 */
export function salinityByDilution(
  sampleL: number,
  waterL: number,
  thinned: number,
  temperatureC: number,
): number {
  hold('volume of the sample', sampleL, VOLUME);
  hold('volume of water', waterL, { ...VOLUME, least: 0 });
  hold('practical salinity when thinned', thinned, PRACTICAL_SALINITY);
  const { most } = BRINE_SALINITY;
  const water = (waterL * seawaterDensity(0, temperatureC)) / 1000;
  const thinnedFrom = (salinity: number): number => {
    const sample = brineKg(sampleL, salinity, temperatureC);
    return (salinity * sample) / (sample + water);
  };
  hold('practical salinity when thinned', thinned, { least: 0, most: thinnedFrom(most), unit: '1' });
  return waterL === 0 ? thinned : crossing(thinnedFrom, thinned, 0, most);
}

/** What to do about a batch whose salinity was measured. */
export type Trim =
  | { readonly kind: 'within' }
  | { readonly kind: 'add salt'; readonly saltKg: number }
  | { readonly kind: 'add fresh water'; readonly waterL: number }
  /** Too salt and too full: draw off this much of the batch, then put fresh water in its place. */
  | { readonly kind: 'replace with fresh water'; readonly drawnL: number };

/**
 * The correction of a batch: nothing within the tolerance, else a little salt or a little fresh water, and an exchange
 * of the two when the fresh water would not fit.
 * @param measured practical salinity, 0 to 119
 * @param toleranceSalinity half the band round the target, practical salinity
 * @param roomL what the vessel still takes, at least 0 L
 * @throws OutOfRange
 */
export function trim(
  volumeL: number,
  measured: number,
  target: number,
  toleranceSalinity: number,
  temperatureC: number,
  yieldKgPerKg: number,
  roomL: number,
): Trim {
  hold('practical salinity', measured, BRINE_SALINITY);
  hold('tolerance', toleranceSalinity, PRACTICAL_SALINITY);
  hold('room', roomL, { least: 0, most: VOLUME.most, unit: 'L' });
  if (Math.abs(measured - target) <= toleranceSalinity) return { kind: 'within' };
  if (measured < target) {
    return { kind: 'add salt', saltKg: saltMassKg(volumeL, measured, target, temperatureC, yieldKgPerKg) };
  }
  const waterL = freshWaterToDiluteL(volumeL, measured, target, temperatureC);
  if (waterL <= roomL) return { kind: 'add fresh water', waterL };
  return {
    kind: 'replace with fresh water',
    drawnL: waterToReplaceL(volumeL, measured, target, temperatureC),
  };
}

function massKg(volumeL: number, salinity: number, temperatureC: number): number {
  return (volumeL * seawaterDensity(salinity, temperatureC)) / 1000;
}

function brineKg(volumeL: number, salinity: number, temperatureC: number): number {
  return (volumeL * brineDensity(salinity, temperatureC)) / 1000;
}

function holdOrder(present: number, target: number, way: 'up' | 'down'): void {
  hold('present practical salinity', present, way === 'up' ? PRACTICAL_SALINITY : BRINE_SALINITY);
  const range: Range =
    way === 'up'
      ? { least: present, most: PRACTICAL_SALINITY.most, unit: '1' }
      : { least: LEAST_DILUTED, most: Math.min(present, PRACTICAL_SALINITY.most), unit: '1' };
  if (!isWithin(target, range)) throw new OutOfRange('target practical salinity', target, range);
}
