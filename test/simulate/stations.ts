// The stations that the tests of the water run on.
import { readFileSync } from 'node:fs';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { wordsOf } from '../../src/station/problem.ts';

function plantAt(path: string): Plant {
  const file = new URL(`../../${path}`, import.meta.url);
  const loaded = loadStation(path, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded.plant;
}

export const marram = plantAt('schemas/examples/marram-point.json');
/** One pump for everything, valves before and behind it, a flush valve beside the refill. */
export const unequal = plantAt('schemas/examples/unequal-vats.json');
export const bench = plantAt('test/stations/bench-rig.json');

/** Everything that a route needs, what lies upstream included. */
export function driversOf(plant: Plant, route: string): readonly string[] {
  const found = plant.routes[route];
  if (found === undefined) throw new Error(`no route '${route}'`);
  return [...found.through, ...found.upstream];
}
