// How much room the drawing takes on this screen.
import { computed, signal } from '@preact/signals';
import { standing } from '../state/live.ts';
import { type Column, columnOf } from './column.ts';
import { type Box, boxesOf } from './scale.ts';

const width = signal(globalThis.innerWidth ?? 1280);
globalThis.addEventListener?.('resize', () => {
  width.value = globalThis.innerWidth;
});

/** The largest vessel and what stands free left of it, px, by the width of the window. */
const SIZES: readonly (readonly [fromPx: number, largestPx: number, leftPx: number])[] = [
  [1800, 210, 40],
  [1100, 170, 34],
  [700, 140, 34],
  [0, 88, 22],
];

const LANE_PX = 18;
/** Room for the floats on the wall. */
const LANES_FROM_PX = 34;
/** Above a vessel: where water falls in. */
export const DROP_PX = 26;
export const DEVICE_PX = 34;

export interface Drawing {
  readonly column: Column;
  readonly boxes: Readonly<Record<string, Box>>;
  readonly cellPx: number;
  /** The x of a lane. */
  readonly laneX: (lane: number) => number;
}

export const drawing = computed<Drawing | null>(() => {
  if (standing.value === null) return null;
  const [, largestPx, leftPx] = SIZES.find(([fromPx]) => width.value >= fromPx) ?? [0, 88, 22];
  const column = columnOf(standing.value);
  const boxes = boxesOf(standing.value.vessels, largestPx, largestPx);
  const side = leftPx + largestPx + LANES_FROM_PX;
  return {
    column,
    boxes,
    cellPx: side + column.sideLanes * LANE_PX,
    laneX: (lane) => (lane === 0 ? leftPx + largestPx / 2 : side + (lane - 1) * LANE_PX),
  };
});
