// The pipes of one station as they happen to be: within what its file allows, every pump and probe is a little different,
// and which way is drawn from the seed once. Nothing here changes while the water runs.
import type { Plant, Route, Vessel } from '../station/plant.ts';
import { chance, keyOf, sway } from './chance.ts';

export interface Line {
  readonly route: Route;
  readonly key: number;
  /** What it moves when all is well, L/min. */
  readonly fullLpm: number;
  readonly primingMs: number;
  readonly runDownMs: number;
  readonly pumps: readonly string[];
  readonly fromInlet: boolean;
  readonly toWaste: boolean;
  readonly fromSystem: boolean;
  readonly toSystem: boolean;
  /** Below this its pump draws air, L. */
  readonly dryL: number;
  /** A run that moved less is no delivery, L. */
  readonly deliveryL: number;
}

export interface Waterworks {
  readonly plant: Plant;
  readonly seed: number;
  readonly lines: readonly Line[];
  /** Loops by vessel. */
  readonly loops: Readonly<Record<string, readonly string[]>>;
  /** What the bag really holds: dissolved sea salts per dry product. */
  readonly saltYield: number;
  readonly dissolveTauMs: number;
  readonly roomC: number;
  /** Minute of the day at station time 0. */
  readonly startMinute: number;
  /** Lowest heater contents that still cover it, by heater. */
  readonly coverL: Readonly<Record<string, number>>;
}

export interface WaterworksOptions {
  readonly roomC?: number;
  readonly startMinute?: number;
}

/** Five time constants in the time the station allows for dissolving leave 0.7 % undissolved at its end. */
const TIME_CONSTANTS_TO_DISSOLVE = 5;
/** A pump still draws below the stated minimum, which has a margin; at this share of it comes air. */
const DRY_SHARE = 0.4;
/** As with the pump: the mark of certain cover has a margin. */
const COVER_SHARE = 0.85;

export function waterworksOf(plant: Plant, seed: number, options: WaterworksOptions = {}): Waterworks {
  const routes = Object.values(plant.routes);
  const loops: Record<string, string[]> = {};
  for (const { id, loop, from } of routes) {
    if (loop) loops[from] = [...(loops[from] ?? []), id];
  }
  return {
    plant,
    seed,
    lines: routes.map((route) => lineOf(plant, seed, route)),
    loops,
    // A bag a little damp: up to 2 % off what its label says (common practice, no source).
    saltYield: Math.min(1, plant.process.saltYield * (1 + 0.02 * sway(seed, keyOf('salt yield')))),
    dissolveTauMs: Math.max(1, plant.process.batch.dissolveMs / TIME_CONSTANTS_TO_DISSOLVE),
    roomC: options.roomC ?? 19,
    startMinute: options.startMinute ?? 6 * 60,
    coverL: Object.fromEntries(
      Object.values(plant.heaters).map(({ id, coveredL }) => [id, coveredL * COVER_SHARE]),
    ),
  };
}

function lineOf(plant: Plant, seed: number, route: Route): Line {
  const key = keyOf(`route ${route.id}`);
  const from = vesselOf(plant, route.from);
  const to = vesselOf(plant, route.to);
  const way = sway(seed, key);
  const room = way < 0 ? route.flowUsualLpm - route.flowLeastLpm : route.flowMostLpm - route.flowUsualLpm;
  const pumps = route.through.filter((id) => plant.actuators[id]?.kind === 'pump');
  const stepL = plant.process.exchange[route.to]?.stepL;
  return {
    route,
    key,
    fullLpm: route.flowUsualLpm + 0.5 * way * room,
    primingMs: route.primingMs * (0.6 + 0.35 * chance(seed, key, 1)),
    runDownMs: route.runDownMs * (0.6 + 0.35 * chance(seed, key, 2)),
    pumps,
    fromInlet: from.role === 'purified-water',
    toWaste: to.role === 'waste',
    fromSystem: from.role === 'system' && !route.loop,
    toSystem: to.role === 'system' && !route.loop,
    dryL: pumps.length > 0 && from.role !== 'purified-water' ? from.minimumL * DRY_SHARE : 0,
    deliveryL: stepL === undefined ? 0.5 : stepL / 2,
  };
}

function vesselOf(plant: Plant, id: string): Vessel {
  const vessel = plant.vessels[id];
  if (vessel === undefined) throw new Error(`the station has no vessel '${id}'`);
  return vessel;
}
