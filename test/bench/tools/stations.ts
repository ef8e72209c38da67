// The stations that are measured, and one in the middle of its work.
import { readFileSync } from 'node:fs';
import type { State } from '../../../src/control/process/state.ts';
import { loadStation } from '../../../src/station/load.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { type Coupled, couple } from '../../../src/verify/coupled.ts';

export const MARRAM = 'schemas/examples/marram-point.json';

export function plantOf(file: string): Plant {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(`${file}: ${JSON.stringify(loaded.errors)}`);
  return loaded.plant;
}

/** The same station once more, under another name and on topics of its own. */
export function twinOf(plant: Plant, name: string): Plant {
  const prefixes = new Set(
    [...Object.values(plant.sensors), ...Object.values(plant.actuators)].flatMap((device) => {
      const topic = 'command' in device ? device.command.topic : device.topic;
      return topic.split('/')[0] ?? [];
    }),
  );
  let text = JSON.stringify({ ...plant, id: name });
  for (const prefix of prefixes) text = text.replaceAll(`"topic":"${prefix}/`, `"topic":"${name}/`);
  return JSON.parse(text);
}

/** The station in the moment in which water has just begun to move on that route. */
export function momentOf(plant: Plant, route: string): Coupled {
  const coupled = couple(plant, { stepMs: 1_000 });
  coupled.run(120_000);
  // Where the station waits to be asked.
  coupled.request({ ask: 'start', unit: 'all' });
  const begun = coupled.run(12 * 3_600_000, ({ state }) => state().routes[route]?.running === 'yes');
  if (!begun) throw new Error(`${plant.id}: ${route} never ran`);
  return coupled;
}

export const movingOn = (plant: Plant, route: string): State => momentOf(plant, route).state();
