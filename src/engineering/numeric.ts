// The few numerical methods the room needs, each with a bound on its work.

/** c0 + c1 x + c2 x^2 + ... by Horner's rule. */
export function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (let power = coefficients.length - 1; power >= 0; power--)
    sum = sum * x + (coefficients[power] as number);
  return sum;
}

/** The same for the derivative: c1 + 2 c2 x + 3 c3 x^2 + ... */
export function derivative(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (let power = coefficients.length - 1; power > 0; power--) {
    sum = sum * x + power * (coefficients[power] as number);
  }
  return sum;
}

/**
 * Where a function that grows from `low` to `high` passes `target`. Sixty halvings leave one part in 1e18 of the span;
 * a jump inside the span (the friction factor at the end of laminar flow has one) is found like any other crossing.
 * The caller makes sure that the crossing lies inside.
 */
export function crossing(grows: (x: number) => number, target: number, low: number, high: number): number {
  let below = low;
  let above = high;
  for (let halving = 0; halving < 60; halving++) {
    const middle = (below + above) / 2;
    if (grows(middle) < target) below = middle;
    else above = middle;
  }
  return (below + above) / 2;
}

/** (1 - e^-x) / x, the mean of e^-x from 0 to x: 1 at nothing, where the quotient itself would be 0 / 0. */
export function decayMean(x: number): number {
  return x === 0 ? 1 : -Math.expm1(-x) / x;
}

/** Integral of a smooth function by Simpson's rule over `pieces` (even) equal steps. */
export function integral(f: (x: number) => number, from: number, to: number, pieces: number): number {
  const step = (to - from) / pieces;
  let sum = f(from) + f(to);
  for (let piece = 1; piece < pieces; piece++) sum += f(from + piece * step) * (piece % 2 === 1 ? 4 : 2);
  return (sum * step) / 3;
}
