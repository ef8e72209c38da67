// Stations for the tests of this room, and one way to spoil them.
import { readFileSync } from 'node:fs';
import type { StationFile } from '../../src/station/file/station.ts';
import { type Loaded, loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { type StationError, wordsOf } from '../../src/station/problem.ts';

export const EXAMPLES = ['marram-point', 'one-vat', 'unequal-vats'] as const;

export function textOf(path: string): string {
  return readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8');
}

export function example(name: (typeof EXAMPLES)[number]): StationFile {
  return JSON.parse(textOf(`schemas/examples/${name}.json`));
}

const FEW = { republishes: '20 s' } as const;

/** The least that is a station: everything that has a default is left to it. */
export function least(): StationFile {
  return {
    format: 1,
    id: 'least',
    name: 'Least',
    vessels: {
      purifier: { role: 'purified-water' },
      fresh: { role: 'fresh', capacity: '100 L' },
      mixing: { role: 'mixing', capacity: '100 L' },
      system: { role: 'system', capacity: '500 L', volume: '400 L' },
      waste: { role: 'waste' },
    },
    routes: {
      refill: {
        from: 'purifier',
        to: 'fresh',
        through: ['inlet'],
        flow: { least: '0.1 L/min', most: '0.3 L/min' },
      },
      transfer: {
        from: 'fresh',
        to: 'mixing',
        through: ['transfer-pump'],
        flow: { least: '4 L/min', most: '6 L/min' },
      },
      circulate: {
        from: 'mixing',
        to: 'mixing',
        through: ['circulation-pump'],
        flow: { least: '10 L/min', most: '20 L/min' },
      },
      supply: {
        from: 'mixing',
        to: 'system',
        through: ['supply-pump'],
        flow: { least: '2 L/min', most: '3 L/min' },
      },
      drain: {
        from: 'system',
        to: 'waste',
        through: ['drain-pump'],
        flow: { least: '2 L/min', most: '3 L/min' },
      },
    },
    heaters: { heater: { in: 'mixing', switch: 'relay', power: '300 W', covered: '20 L', limit: '30 degC' } },
    sensors: {
      low: {
        measures: 'float',
        vessel: 'mixing',
        position: 'low',
        mark: '10 L',
        topic: 't/low',
        wet: 1,
        dry: 0,
      },
      tray: { measures: 'leak', tray: 'the tray', topic: 't/tray', wet: true, dry: false },
      'top-off': { measures: 'top-off', vessel: 'system', topic: 't/top-off', running: 'on', resting: 'off' },
      level: { measures: 'level', vessel: 'mixing', unit: 'L', uncertainty: '2 L', topic: 't/level', ...FEW },
      'inlet-flow': { measures: 'flow', route: 'refill', unit: 'L/h', topic: 't/inlet', ...FEW },
      'supply-total': { measures: 'total', route: 'supply', unit: 'mL', topic: 't/supply', ...FEW },
      temperature: {
        measures: 'temperature',
        vessel: 'mixing',
        unit: 'degC',
        topic: 't/temperature',
        availability: { topic: 't/status', online: 'up', offline: 'down' },
      },
      probe: {
        measures: 'conductivity',
        vessel: 'mixing',
        unit: 'mS/cm',
        compensatedTo: '25 degC',
        topic: 't/probe',
        ...FEW,
      },
    },
    actuators: {
      inlet: actuator('valve', 'inlet'),
      'transfer-pump': actuator('pump', 'transfer'),
      'circulation-pump': {
        ...actuator('pump', 'circulation'),
        feedback: { topic: 't/circulation', on: 1, off: 0 },
      },
      'supply-pump': actuator('pump', 'supply'),
      'drain-pump': { ...actuator('pump', 'drain'), lease: { lasts: '20 s', countedBy: 'nobody' } },
      relay: actuator('heater', 'heater'),
    },
    process: {
      salinity: { target: '35 PSU', tolerance: '0.5 PSU' },
      temperature: { target: '25 degC', tolerance: '0.5 K' },
      salt: { yield: '0.85 kg/kg' },
      refill: { startBelow: '50 L', stopAt: '90 L' },
      batch: { contents: '80 L', dissolve: '60 min', settle: '10 min' },
      exchange: { system: { perDay: '2 %', step: '4 L' } },
    },
  };
}

function actuator(kind: 'valve' | 'pump' | 'heater', id: string): StationFile['actuators'][string] {
  return {
    kind,
    command: { topic: `t/${id}/set`, on: 'on', off: 'off' },
    lease: { lasts: '20 s', countedBy: 'device' },
  };
}

/** The station with one part replaced, added, or (undefined) taken out. Pointers as in RFC 6901. */
export function spoilt<T>(station: T, pointer: string, part: unknown): T {
  const copy = structuredClone(station);
  const keys = pointer.split('/').slice(1);
  const last = keys.pop() ?? '';
  let here = copy as Record<string, unknown>;
  for (const key of keys) here = here[key] as Record<string, unknown>;
  if (part === undefined) delete here[last];
  else here[last] = part;
  return copy;
}

export function load(station: unknown): Loaded {
  return loadStation('station.json', JSON.stringify(station, null, 2));
}

export function plantFrom(station: unknown): Plant {
  const loaded = load(station);
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded.plant;
}

export function errorsOf(station: unknown): readonly StationError[] {
  const loaded = load(station);
  return loaded.ok ? [] : loaded.errors;
}
