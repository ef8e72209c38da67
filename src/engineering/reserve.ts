// Water on hand for the day it is needed.
import { CONTENTS, hold, VOLUME } from './range.ts';

/**
 * Share of the system's volume that should stand ready, fresh and mixed together: a fifth. Common practice, no source.
 */
export const LEAST_RESERVE_SHARE = 0.2;

/** Water on hand over the system's volume. @throws OutOfRange */
export function reserveShare(waterOnHandL: number, systemVolumeL: number): number {
  hold('water on hand', waterOnHandL, CONTENTS);
  hold('system volume', systemVolumeL, VOLUME);
  return waterOnHandL / systemVolumeL;
}

/** Litres missing to a reserve; 0 when it is there. @throws OutOfRange */
export function reserveShortfallL(
  waterOnHandL: number,
  systemVolumeL: number,
  leastShare: number = LEAST_RESERVE_SHARE,
): number {
  hold('least share', leastShare, { least: 0, most: 2, unit: '1' });
  hold('water on hand', waterOnHandL, CONTENTS);
  hold('system volume', systemVolumeL, VOLUME);
  return Math.max(0, leastShare * systemVolumeL - waterOnHandL);
}
