// The pipes of one station as they happen to be: within what its file allows, every pump and probe is a little different,
// and which way is drawn from the seed once. Nothing here changes while the water runs.
import type { Plant } from '../station/plant.ts';
import { keyOf, sway } from './chance.ts';
import { type Line, linesOf } from './lines.ts';

export interface Waterworks {
  readonly plant: Plant;
  readonly seed: number;
  readonly lines: readonly Line[];
  /** Loops by vessel. */
  readonly loops: Readonly<Record<string, readonly Line[]>>;
  /** What the bag really holds: dissolved sea salts per dry product. */
  readonly saltYield: number;
  readonly dissolveTauMs: number;
  readonly roomC: number;
  /** Minute of the day at station time 0. */
  readonly startMinute: number;
  readonly inlet: Inlet | null;
  readonly gridMs: number;
  /** The lots of the two buckets that are drawn by hand in a day, by vessel (see `chance`). */
  readonly bucketKeys: Readonly<Record<string, readonly number[]>>;
  /** Lowest heater contents that still cover it, by heater. */
  readonly coverL: Readonly<Record<string, number>>;
}

export interface WaterworksOptions {
  readonly roomC?: number;
  readonly startMinute?: number;
  /** What the inlet brings at a moment of station time; without it the route's usual flow and the file's temperature. */
  readonly inlet?: Inlet;
  /** Length of a piece of physics. Default 1 s; longer where months pass and nobody looks at seconds. */
  readonly gridMs?: number;
}

export type Inlet = (nowMs: number) => { readonly flowLpm: number; readonly temperatureC: number };

/** Five time constants in the time the station allows for dissolving leave 0.7 % undissolved at its end. */
const TIME_CONSTANTS_TO_DISSOLVE = 5;
/** The mark of certain cover has a margin. */
const COVER_SHARE = 0.85;

export function waterworksOf(plant: Plant, seed: number, options: WaterworksOptions = {}): Waterworks {
  const lines = linesOf(plant, seed);
  const loops: Record<string, Line[]> = {};
  for (const line of lines) {
    const { loop, from } = line.route;
    if (loop) loops[from] = [...(loops[from] ?? []), line];
  }
  return {
    plant,
    seed,
    lines,
    loops,
    // A bag a little damp: up to 2 % off what its label says (common practice, no source).
    saltYield: Math.min(1, plant.process.saltYield * (1 + 0.02 * sway(seed, keyOf('salt yield')))),
    dissolveTauMs: Math.max(1, plant.process.batch.dissolveMs / TIME_CONSTANTS_TO_DISSOLVE),
    roomC: options.roomC ?? 19,
    startMinute: options.startMinute ?? 6 * 60,
    inlet: options.inlet ?? null,
    gridMs: options.gridMs ?? 1000,
    bucketKeys: Object.fromEntries(
      Object.keys(plant.vessels).map((id) => [id, [0, 1].map((bucket) => keyOf(`bucket ${id} ${bucket}`))]),
    ),
    coverL: Object.fromEntries(
      Object.values(plant.heaters).map(({ id, coveredL }) => [id, coveredL * COVER_SHARE]),
    ),
  };
}
