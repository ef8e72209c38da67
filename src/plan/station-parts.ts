// What the two halves of a planned station share.
import { type Design, PUMP_LEASE_S } from './design.ts';

/** How often devices speak and how long an `on` is good. A simulated year goes at a slower one than a real night. */
export interface Pace {
  readonly republishesS: number;
  readonly leaseS: number;
  readonly pumpLeaseS: number;
  readonly withinS: number;
  readonly provenWithinS: number;
  readonly tickWithinS: number;
}

export const USUAL_PACE: Pace = {
  republishesS: 30,
  leaseS: 60,
  pumpLeaseS: PUMP_LEASE_S,
  withinS: 10,
  provenWithinS: 30,
  tickWithinS: 20,
};

export const litres = (value: number): string => `${Number(value.toFixed(1))} L`;
export const seconds = (value: number): string => `${value} s`;

/** Marks of the system: shares of what it can take above its normal level, up and down. No source. */
export function systemMarks({ site }: Design) {
  const { volumeL, spareL } = site.system;
  return {
    capacityL: volumeL + spareL,
    marginL: 0.25 * spareL,
    overflowL: volumeL + 0.55 * spareL,
    highL: volumeL + 0.3 * spareL,
    lowL: volumeL - 0.3 * spareL,
    toleranceL: 0.05 * spareL,
  };
}
