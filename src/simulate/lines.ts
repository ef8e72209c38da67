// The ways that water can really take. A station file lists the routes that are meant; valves do not read it. Behind a
// shared pump every open suction meets every open discharge: with both draw valves open the "supply" brings fresh water
// into the system, and a judge who knew only the listed routes would call that a quiet day.
import type { Plant, Route, Vessel } from '../station/plant.ts';
import { chance, keyOf, sway } from './chance.ts';

export interface Line {
  /** The listed route, or one made up for a crossing, named `fresh>system by pump`. */
  readonly route: Route;
  readonly key: number;
  /** Three-way valves that, when on, send this line's water elsewhere. */
  readonly divertedBy: readonly string[];
  /** The listed routes whose meter sees this water: those that end in the same pipe. */
  readonly meteredAs: readonly string[];
  /** What it moves when all is well, L/min. */
  readonly fullLpm: number;
  readonly primingMs: number;
  readonly runDownMs: number;
  readonly pumps: readonly string[];
  readonly fromInlet: boolean;
  readonly fromSystem: boolean;
  readonly toSystem: boolean;
  /** Below this its pump draws air, L. */
  readonly dryL: number;
  /** A run that moved less is no delivery, L. */
  readonly deliveryL: number;
}

/** A pump still draws below the stated minimum, which has a margin; at this share of it comes air. */
const DRY_SHARE = 0.4;

export function linesOf(plant: Plant, seed: number): readonly Line[] {
  const listed = Object.values(plant.routes);
  const all = [...listed, ...crossings(plant, listed)];
  return all.map((route) => lineOf(plant, seed, route, all));
}

/** Before and after the pump, in the order of the flow; null for a route without one. */
function split(plant: Plant, { through }: Route): { pump: string; before: string[]; after: string[] } | null {
  const at = through.findIndex((id) => plant.actuators[id]?.kind === 'pump');
  const pump = through[at];
  return pump === undefined ? null : { pump, before: through.slice(0, at), after: through.slice(at + 1) };
}

/** Every open suction with every open discharge of one pump, where no route says so already. */
function crossings(plant: Plant, listed: readonly Route[]): readonly Route[] {
  const found = new Map<string, Route>();
  for (const suction of listed) {
    for (const discharge of listed) {
      const [draws, ends] = [split(plant, suction), split(plant, discharge)];
      if (draws === null || ends === null || draws.pump !== ends.pump) continue;
      const through = [...draws.before, draws.pump, ...ends.after];
      if (listed.some((route) => sameWay(route, suction.from, discharge.to, through))) continue;
      const id = `${suction.from}>${discharge.to} by ${draws.pump}`;
      const loop = suction.from === discharge.to;
      // What of `shut` is a three-way valve behind the pump still is one; what it goes through itself is none.
      const shut = discharge.shut.filter((valve) => !through.includes(valve));
      const way = { id, name: id, from: suction.from, loop, through, shut, meter: null };
      found.set(`${id} ${through}`, { ...discharge, ...way });
    }
  }
  return [...found.values()];
}

function sameWay(route: Route, from: string, to: string, through: readonly string[]): boolean {
  return (
    route.from === from &&
    route.to === to &&
    route.through.length === through.length &&
    through.every((id) => route.through.includes(id))
  );
}

/**
 * Of what a route wants shut, what takes its water away when it is on: a three-way valve (the other way needs all that
 * this one needs, and the valve), or a valve to a place that no route names. An ordinary valve left open takes nothing
 * away; it lets something else in, and that is a line of its own.
 */
function divertersOf(route: Route, all: readonly Route[]): readonly string[] {
  return route.shut.filter((valve) => {
    const others = all.filter(({ through }) => through.includes(valve));
    return (
      others.length === 0 || others.some((other) => route.through.every((id) => other.through.includes(id)))
    );
  });
}

function lineOf(plant: Plant, seed: number, route: Route, all: readonly Route[]): Line {
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
    divertedBy: divertersOf(route, all),
    meteredAs: route.id in plant.routes ? [route.id] : endingWith(plant, route),
    fullLpm: route.flowUsualLpm + 0.5 * way * room,
    primingMs: route.primingMs * (0.6 + 0.35 * chance(seed, key, 1)),
    runDownMs: route.runDownMs * (0.6 + 0.35 * chance(seed, key, 2)),
    pumps,
    fromInlet: from.role === 'purified-water',
    fromSystem: from.role === 'system' && !route.loop,
    toSystem: to.role === 'system' && !route.loop,
    dryL: pumps.length > 0 && from.role !== 'purified-water' ? from.minimumL * DRY_SHARE : 0,
    deliveryL: stepL === undefined ? 0.5 : stepL / 2,
  };
}

function endingWith(plant: Plant, crossing: Route): readonly string[] {
  const end = split(plant, crossing);
  return Object.values(plant.routes).flatMap((route) => {
    const other = split(plant, route);
    const same =
      other?.pump === end?.pump && route.to === crossing.to && `${other?.after}` === `${end?.after}`;
    return same ? [route.id] : [];
  });
}

function vesselOf(plant: Plant, id: string): Vessel {
  const vessel = plant.vessels[id];
  if (vessel === undefined) throw new Error(`the station has no vessel '${id}'`);
  return vessel;
}
