// Marks of the system: shares of what it can take above its normal level, up and down. No source.
import type { Site } from './site.ts';

export function systemMarksOf({ system: { volumeL, spareL } }: Site) {
  return {
    capacityL: volumeL + spareL,
    marginL: 0.25 * spareL,
    overflowL: volumeL + 0.55 * spareL,
    highL: volumeL + 0.3 * spareL,
    lowL: volumeL - 0.3 * spareL,
    toleranceL: 0.05 * spareL,
  };
}
