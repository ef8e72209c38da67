// Where the floats of a vat go and what lies between them. Choices, not formulas; common practice, no source. The same
// marks go into the station file, so that what the plan counts as on hand is what the running station counts.
import { usableContentsL } from '../engineering/standing.ts';
import type { Vat } from './site.ts';

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
}

/** Shares of the capacity. */
const MARGIN = 0.03;
const MINIMUM = 0.05;
const LOW = 0.075;
const TOLERANCE = 0.01;
const HIGH = 0.9;
/** Below the high float. */
const STOP_BELOW = 0.025;
const BATCH_BELOW = 0.0875;
const START_BELOW = 0.12;
/** Of what an overflow float needs between the high float and the brim. */
const OVERFLOW_BETWEEN = 0.5;

/**
 * @param runOnL what a filling pump may bring after the high float spoke, when the service dies in that moment: its
 * greatest flow for as long as its lease lasts
 */
export function marksOf({ capacityL }: Pick<Vat, 'capacityL'>, runOnL: number): Marks {
  const marginL = MARGIN * capacityL;
  const toleranceL = TOLERANCE * capacityL;
  const brimL = capacityL - marginL;
  // A strong pump needs a lower mark; but never below half of the vat, where the pump is the wrong one.
  const highL = Math.max(capacityL / 2, Math.min(HIGH * capacityL, brimL - toleranceL - runOnL));
  const lowL = LOW * capacityL;
  return {
    capacityL,
    marginL,
    minimumL: MINIMUM * capacityL,
    lowL,
    toleranceL,
    highL,
    overflowL: highL + OVERFLOW_BETWEEN * (brimL - highL),
    startBelowL: highL - START_BELOW * capacityL,
    stopAtL: highL - STOP_BELOW * capacityL,
    batchL: highL - BATCH_BELOW * capacityL,
    emptyL: lowL + toleranceL,
  };
}

/** Of a full fresh vat. */
export const usableFreshL = ({ stopAtL, emptyL }: Marks): number => usableContentsL(stopAtL, emptyL);

/** Of a finished batch. */
export const usableMixedL = ({ batchL, emptyL }: Marks): number => usableContentsL(batchL, emptyL);
