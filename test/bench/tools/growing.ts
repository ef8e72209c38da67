// Stations that are larger than the examples, made of them: more sensors, more systems with their routes.
import { readFileSync } from 'node:fs';
import { loadStation } from '../../../src/station/load.ts';
import type { Plant } from '../../../src/station/plant.ts';

interface Draft {
  vessels: Record<string, { role: string }>;
  routes: Record<string, { from: string; to: string; through: string[] }>;
  sensors: Record<string, { measures: string; vessel?: string; route?: string; topic: string; tag?: string }>;
  actuators: Record<string, { command: { topic: string }; feedback?: { topic: string }; tag?: string }>;
  process: { exchange: Record<string, object> };
}

const draftOf = (file: string): Draft => JSON.parse(readFileSync(file, 'utf8'));

function plantOf(draft: Draft): Plant {
  const loaded = loadStation('made', JSON.stringify(draft));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors.slice(0, 3)));
  return loaded.plant;
}

/** The station with leak sensors added until it has so many sensors; every one of them guards all that moves. */
export function withSensors(file: string, count: number): Plant {
  const draft = draftOf(file);
  const leak = Object.values(draft.sensors).find(({ measures }) => measures === 'leak');
  if (leak === undefined) throw new Error(`${file} has no leak sensor to make more of`);
  const { tag: _, ...like } = leak;
  for (let nth = 1; Object.keys(draft.sensors).length < count; nth++)
    draft.sensors[`more-leak-${nth}`] = { ...like, topic: `${leak.topic}-${nth}` };
  return plantOf(draft);
}

/** The station with so many systems, each with its own supply and drain, pumps, floats and meters. */
export function withSystems(file: string, count: number): Plant {
  const draft = draftOf(file);
  const [system] = Object.entries(draft.vessels).flatMap(([id, { role }]) => (role === 'system' ? [id] : []));
  if (system === undefined) throw new Error(`${file} has no system`);
  const routes = Object.entries(draft.routes).filter(([, { from, to }]) => from === system || to === system);
  const pumps = [...new Set(routes.flatMap(([, { through }]) => through))];
  const sensors = Object.entries(draft.sensors).filter(
    ([, { vessel, route, measures }]) =>
      measures !== 'top-off' && (vessel === system || routes.some(([id]) => id === route)),
  );
  for (let nth = 2; nth <= count; nth++) {
    const named = (id: string) => `${id}-${nth}`;
    const again = (id: string) => (id === system ? named(id) : id);
    draft.vessels[named(system)] = draft.vessels[system] as { role: string };
    for (const [id, route] of routes)
      draft.routes[named(id)] = {
        ...route,
        from: again(route.from),
        to: again(route.to),
        through: route.through.map(named),
      };
    for (const [id, { tag: _, ...sensor }] of sensors)
      draft.sensors[named(id)] = {
        ...sensor,
        topic: named(sensor.topic),
        ...(sensor.vessel === undefined ? {} : { vessel: named(system) }),
        ...(sensor.route === undefined ? {} : { route: named(sensor.route) }),
      };
    for (const id of pumps) {
      const { tag: _, ...pump } = draft.actuators[id] as Draft['actuators'][string];
      draft.actuators[named(id)] = {
        ...pump,
        command: { ...pump.command, topic: named(pump.command.topic) },
        ...(pump.feedback === undefined
          ? {}
          : { feedback: { ...pump.feedback, topic: named(pump.feedback.topic) } }),
      };
    }
    const { inhibitTopOff: __, ...exchange } = draft.process.exchange[system] as {
      inhibitTopOff?: string;
    };
    draft.process.exchange[named(system)] = exchange;
  }
  return plantOf(draft);
}
