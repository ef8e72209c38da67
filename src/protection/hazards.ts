// What can go wrong in this station, from its plumbing alone: one hazard for each harm and each thing it can befall, with
// what it does to people, house and animals in words. The harms are those of `station/gaps.ts`.
import { heaters, isBounded, routes, vessels } from '../station/advice-parts.ts';
import type { Harm } from '../station/gaps.ts';
import type { Plant, Route } from '../station/plant.ts';
import { joined } from './words.ts';

export interface Hazard {
  /** `H-03`: its number in this report. */
  readonly id: string;
  readonly harm: Harm;
  /** A vessel, pump, heater or route, as in the table of gaps. */
  readonly about: string;
  readonly title: string;
  readonly consequence: string;
}

type Unnumbered = Omit<Hazard, 'id'>;

/** Every hazard of the station, the wettest first. */
export function hazardsOf(plant: Plant): readonly Hazard[] {
  const all: Unnumbered[] = [
    ...overflows(plant),
    ...dryPumps(plant),
    ...onTheFloor(plant),
    ...heat(plant),
    ...wrongWater(plant),
    ...crossed(plant),
  ];
  return all.map((hazard, at) => ({ id: `H-${String(at + 1).padStart(2, '0')}`, ...hazard }));
}

/** Vessels with a brim that something fills. */
function overflows(plant: Plant): Unnumbered[] {
  return vessels(plant)
    .filter((vessel) => isBounded(vessel) && vessel.into.length > 0)
    .map(({ id, name, into }) => {
      const mostLpm = Math.max(...into.map((route) => plant.routes[route]?.flowMostLpm ?? 0));
      return {
        harm: 'spilled',
        about: id,
        title: `${name}: runs over`,
        consequence: `Up to ${flow(mostLpm)} over the brim and onto the floor for as long as nobody comes: a flooded room, damage below it, and water at whatever stands on mains near it. Salt water and mains together can kill.`,
      };
    });
}

/** Pumps that draw from something that can be empty. */
function dryPumps(plant: Plant): Unnumbered[] {
  const drawn = new Map<string, string[]>();
  for (const route of routes(plant)) {
    const from = plant.vessels[route.from];
    if (from === undefined || !isBounded(from)) continue;
    for (const id of route.through) {
      if (plant.actuators[id]?.kind === 'pump')
        drawn.set(id, [...new Set([...(drawn.get(id) ?? []), from.name])]);
    }
  }
  return [...drawn].map(([id, sources]) => ({
    harm: 'dry',
    about: id,
    title: `${plant.actuators[id]?.name}: runs dry`,
    consequence: `It runs without water once the ${joined(sources, 'or')} is empty: seal and bearings burn, it seizes or leaks, and what it should move no longer moves.`,
  }));
}

function onTheFloor(plant: Plant): Unnumbered[] {
  return moving(plant).map((route) => {
    const from = plant.vessels[route.from];
    const amount =
      from !== undefined && isBounded(from)
        ? `until the ${from.name} is empty down to where its hose begins`
        : 'without an end, because nothing empties the mains';
    return {
      harm: 'on the floor',
      about: route.id,
      title: `${route.name}: onto the floor`,
      consequence: `A hose comes off or a joint opens, and up to ${flow(route.flowMostLpm)} go to the floor, ${amount}.`,
    };
  });
}

function heat(plant: Plant): Unnumbered[] {
  const bare = heaters(plant).map(({ id, name, powerW }) => ({
    harm: 'heater bare' as const,
    about: id,
    title: `${name}: on without water`,
    consequence: `${powerW.toFixed(0)} W in air: its jacket cracks or melts, what is near can catch fire, and the next water that reaches it may be live. That can kill.`,
  }));
  const heated = [...new Set(heaters(plant).map(({ vessel }) => vessel))].map((id) => ({
    harm: 'too hot' as const,
    about: id,
    title: `${plant.vessels[id]?.name}: too hot`,
    consequence:
      'The heater warms on: the vat softens, somebody is scalded, hoses let go; delivered, such water kills what lives in the system.',
  }));
  return [...bare, ...heated];
}

function wrongWater(plant: Plant): Unnumbered[] {
  return plant.systemIds
    .filter((id) => (plant.vessels[id]?.into.length ?? 0) > 0)
    .map((id) => ({
      harm: 'wrong water',
      about: id,
      title: `${plant.vessels[id]?.name}: wrong water`,
      consequence:
        'Water outside its salinity, temperature or age, or the wrong amount of it, reaches the animals: they are harmed or die.',
    }));
}

/** Routes that share their way, or the vat that is being delivered from, with another one. */
function crossed(plant: Plant): Unnumbered[] {
  return moving(plant)
    .filter(({ excludes, shut }) => excludes.length + shut.length > 0)
    .map(({ id, name }) => ({
      harm: 'crossed',
      about: id,
      title: `${name}: takes another way`,
      consequence:
        'It shares its way or its vat with others: where one of them stands open too, fresh water reaches the system, or salt water the fresh vat.',
    }));
}

const moving = (plant: Plant): readonly Route[] => routes(plant).filter(({ loop }) => !loop);

/** `0.3 L/min (430 L a day)`. */
function flow(lpm: number): string {
  const dayL = Number((lpm * 1440).toPrecision(2));
  return `${Number(lpm.toPrecision(2))} L/min (${dayL} L a day)`;
}
