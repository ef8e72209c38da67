// Where the floats of a vat go and what lies between them. Shares of the capacity are choices, common practice without a
// source; where a share would leave less than a float's own length, the millimetres decide. The same marks go into the
// station file, so that what the plan counts as on hand is what the running station counts.
import { usableContentsL } from '../engineering/standing.ts';
import type { Vat } from './site.ts';
import { contentsL, levelMm } from './vat-level.ts';

export interface Marks {
  readonly capacityL: number;
  readonly marginL: number;
  readonly minimumL: number;
  readonly lowL: number;
  /** How far off a float may turn over. */
  readonly toleranceL: number;
  readonly highL: number;
  readonly overflowL: number;
  /** A refill starts below this, and ends here. */
  readonly startBelowL: number;
  readonly stopAtL: number;
  /** What a batch holds: room is left above it for a trim, and for the volume of the salt. */
  readonly batchL: number;
  /** Below this nothing more can be counted on: the low float, and its tolerance. */
  readonly emptyL: number;
  /** What the vat leaves no room for; empty where the floats can be built as they stand here. */
  readonly cramped: readonly string[];
}

/** What moves water in and out of the vat. */
export interface Traffic {
  /** What a filling pump may bring after the high float spoke, when the service dies in that moment. */
  readonly runOnL: number;
  /** Level at which a float must have stopped what draws, so that no vortex takes air in. */
  readonly drawnAboveMm: number;
}

/** Shares of the capacity. */
const MARGIN = 0.03;
const MINIMUM = 0.05;
const LOW = 0.075;
const TOLERANCE = 0.01;
const HIGH = 0.9;
/** Below the high float. */
const STOP_BELOW = 0.02;
const BATCH_BELOW = 0.085;
const START_BELOW = 0.12;
/** Of what an overflow float needs between the high float and the brim. */
const OVERFLOW_BETWEEN = 0.5;

/** A float switch hangs and swings in so much height: two of them closer than this touch. No source: measure the float. */
export const FLOAT_MM = 40;
/** Left between the overflow float and the margin below the brim. */
const OVERFLOW_TO_MARGIN_MM = 15;
/** A float turns over within so much. */
const TURNS_WITHIN_MM = 5;
/** Never below this share of the vat: where a strong pump would need that, the pump is the wrong one. */
const HIGH_AT_LEAST = 0.5;

export function marksOf(vat: Vat, { runOnL, drawnAboveMm }: Traffic): Marks {
  const { capacityL } = vat;
  const at = (mm: number) => contentsL(vat, mm);
  const marginL = MARGIN * capacityL;
  const brimL = capacityL - marginL;
  const brimMm = levelMm(vat, brimL);
  const toleranceL = Math.max(TOLERANCE * capacityL, at(brimMm) - at(brimMm - TURNS_WITHIN_MM));
  const roomL = at(brimMm) - at(brimMm - FLOAT_MM - OVERFLOW_TO_MARGIN_MM);
  const wantedHighL = Math.min(HIGH * capacityL, brimL - Math.max(toleranceL + runOnL, roomL));
  const highL = Math.max(HIGH_AT_LEAST * capacityL, wantedHighL);
  const highMm = levelMm(vat, highL);
  const halfwayL = highL + OVERFLOW_BETWEEN * (brimL - highL);
  const overflowL = Math.min(Math.max(halfwayL, at(highMm + FLOAT_MM)), brimL - 0.25 * (brimL - highL));
  const batchL = highL - BATCH_BELOW * capacityL;
  const wantedLowL = Math.max(LOW * capacityL, at(drawnAboveMm));
  // Whatever the vat is too small for, the marks keep their order; the reader is told.
  const lowL = Math.min(wantedLowL, 0.6 * batchL);
  return {
    capacityL,
    marginL,
    minimumL: Math.min(MINIMUM * capacityL, 0.8 * lowL),
    lowL,
    toleranceL: Math.min(toleranceL, 0.2 * lowL),
    highL,
    overflowL,
    startBelowL: highL - START_BELOW * capacityL,
    stopAtL: highL - STOP_BELOW * capacityL,
    batchL,
    emptyL: lowL + Math.min(toleranceL, 0.2 * lowL),
    cramped: [
      ...(levelMm(vat, overflowL) - highMm < FLOAT_MM - 0.5
        ? [`${(levelMm(vat, overflowL) - highMm).toFixed(0)} mm between the high and the overflow float`]
        : []),
      ...(lowL < wantedLowL - 0.05
        ? [
            `a low float that would have to sit at ${levelMm(vat, wantedLowL).toFixed(0)} mm so that no air is drawn`,
          ]
        : []),
    ],
  };
}

/** Of a vat that nothing is known of but its size: for comparisons of one split with another. */
export const RESTFUL: Traffic = { runOnL: 0, drawnAboveMm: 0 };

/** Of a full fresh vat. */
export const usableFreshL = ({ stopAtL, emptyL }: Marks): number => usableContentsL(stopAtL, emptyL);

/** Of a finished batch. */
export const usableMixedL = ({ batchL, emptyL }: Marks): number => usableContentsL(batchL, emptyL);
