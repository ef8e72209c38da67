// What is remembered of the salt in the mixing vat, and how that begins.
import { BRINE_SALINITY } from '../../engineering/properties.ts';

/** The record of the salt in the mixing vat: see `salt-balance.ts`. */
export interface WaterState {
  /** At the anchor its salinity was between these, and its contents. */
  least: number;
  most: number;
  leastL: number;
  mostL: number;
  /** Since then: fresh water that came in, and dry salt. */
  inLeastL: number;
  inMostL: number;
  saltKg: number;
  /** Circulation that is still missing before the vat is one water. */
  unmixedMs: number;
  /** What a person measured is of the water as it is, nothing went in since; `mixed`: and it was one water then. */
  hand: 'other' | 'unmixed' | 'mixed';
  /** What was measured of it before that, with another instrument. */
  before: number | null;
  beforeBy: string;
  /** What measures the vat, as the station file had it when a second instrument agreed with it; null: none ever did. */
  confirmed: string | null;
  /** Yield of the salt in the last batch that a second instrument confirmed; null: none yet. */
  provenYield: number | null;
}

/** Of a station that never made a batch: any water that can be measured may be in the vat. */
export const unknownWater = (capacityL: number, settleMs: number): WaterState => ({
  least: 0,
  most: BRINE_SALINITY.most,
  leastL: 0,
  mostL: capacityL,
  inLeastL: 0,
  inMostL: 0,
  saltKg: 0,
  unmixedMs: settleMs,
  hand: 'other',
  before: null,
  beforeBy: '',
  confirmed: null,
  provenYield: null,
});
