// Which instrument a number is from, and when two of them agree.
import type { Plant } from '../../station/plant.ts';
import { probeOf } from './evidence.ts';
import { SECOND_INSTRUMENT } from './limits.ts';
import { perPlant } from './per-plant.ts';

export const PROBE = 'the probe';

/** What measures the vat, as the station file has it: a confirmation counts until this changes. */
export const entryOf = perPlant((plant): string => {
  const probe = probeOf(plant, plant.mixingId);
  if (probe === null) return BY_HAND;
  const { id, topic, at, unit, scale, offset, compensatedToC, temperatureFrom } = probe;
  return JSON.stringify([id, topic, at, unit, scale, offset, compensatedToC, temperatureFrom]);
});
export const BY_HAND = 'by-hand';

const plain = (name: string): string => name.trim().toLowerCase().replace(/\s+/gu, ' ');
/** The same named instrument twice is no second one, however it is written. */
export const isSameInstrument = (one: string, other: string): boolean => plain(one) === plain(other);

/** Whoever reads the probe's own number and reports it has not measured with anything else. */
export function isProbe(plant: Plant, instrument: string): boolean {
  const probe = probeOf(plant, plant.mixingId);
  const names = [PROBE, 'probe', ...(probe === null ? [] : [probe.id, probe.name])];
  return names.some((name) => isSameInstrument(name, instrument));
}

/** How far apart two instruments may be that agree. */
export const agreeWithin = (plant: Plant): number => SECOND_INSTRUMENT + plant.process.salinity.tolerance;
