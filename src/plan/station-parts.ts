// What the parts of a planned station share.

/** How often devices speak and how long an `on` is good. A simulated year goes at a slower one than a real night. */
export interface Pace {
  readonly republishesS: number;
  readonly leaseS: number;
  readonly withinS: number;
  readonly provenWithinS: number;
  readonly tickWithinS: number;
}

export const USUAL_PACE: Pace = {
  republishesS: 30,
  leaseS: 60,
  withinS: 10,
  provenWithinS: 30,
  tickWithinS: 20,
};

export const litres = (value: number): string => `${Number(value.toFixed(1))} L`;
export const seconds = (value: number): string => `${value} s`;
