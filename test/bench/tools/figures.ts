// What a part hands back: figures with their spread, and curves. Nothing in here knows what was measured.

export interface Figure {
  /** The median of the repetitions. */
  readonly value: number;
  readonly least: number;
  readonly most: number;
  readonly repetitions: number;
  readonly unit: string;
}

export interface Curve {
  readonly words: string;
  readonly x: { readonly words: string; readonly values: readonly number[] };
  readonly y: { readonly words: string; readonly values: readonly number[] };
}

export interface Measured {
  readonly figures: Readonly<Record<string, Figure>>;
  readonly curves?: Readonly<Record<string, Curve>>;
  /** What was not measured, and why; what a reader must know beside the figures. */
  readonly notes?: readonly string[];
}

/** How much of it: `whole` for the page, `short` for the gate. */
export type Size = 'whole' | 'short';

/** One part. Throws where it can't be measured. */
export type Part = (size: Size) => Promise<Measured>;

/** @param share 0 to 1 */
export function quantile(values: readonly number[], share: number): number {
  if (values.length === 0) throw new Error('nothing was measured');
  const sorted = values.toSorted((a, b) => a - b);
  const place = share * (sorted.length - 1);
  const below = sorted[Math.floor(place)] as number;
  const above = sorted[Math.ceil(place)] as number;
  return below + (above - below) * (place - Math.floor(place));
}

export const median = (values: readonly number[]): number => quantile(values, 0.5);

/** @param values one for each repetition */
export function figure(values: readonly number[], unit: string): Figure {
  return {
    value: median(values),
    least: Math.min(...values),
    most: Math.max(...values),
    repetitions: values.length,
    unit,
  };
}

/** Pair by pair, so that what slowed both down at once cancels. */
export function ratio(of: readonly number[], by: readonly number[]): Figure {
  return figure(
    of.map((value, nth) => value / (by[nth] as number)),
    'x',
  );
}

/** Of the straight line through the logarithms: 1 is linear, 2 is quadratic, 0 does not grow. */
export function slope({ x, y }: Curve): number {
  const points = x.values.map((value, nth) => [Math.log(value), Math.log(y.values[nth] as number)] as const);
  const mean = (at: 0 | 1) => points.reduce((sum, point) => sum + point[at], 0) / points.length;
  const [midX, midY] = [mean(0), mean(1)];
  const over = points.reduce((sum, [a, b]) => sum + (a - midX) * (b - midY), 0);
  return over / points.reduce((sum, [a]) => sum + (a - midX) ** 2, 0);
}
