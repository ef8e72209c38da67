// Stations, devices and states for the tests of this room.

import { readFileSync } from 'node:fs';
import type { Input } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { type Device, deviceOf } from '../../src/hub/model.ts';
import type { Shown } from '../../src/hub/row.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { statusOf } from '../tools/english.ts';

export const EXAMPLES = ['marram-point', 'one-vat', 'unequal-vats'] as const;
export type Example = (typeof EXAMPLES)[number];

export function stationFile(name: Example): StationFile {
  return JSON.parse(readFileSync(new URL(`../../schemas/examples/${name}.json`, import.meta.url), 'utf8'));
}

export function loaded(station: StationFile): { readonly plant: Plant; readonly station: StationFile } {
  const result = loadStation('station.json', JSON.stringify(station));
  if (!result.ok) throw new Error(result.errors.map(wordsOf).join('\n'));
  return result;
}

export const plantOf = (name: Example): Plant => loaded(stationFile(name)).plant;

export const device = (name: Example, announce: StationFile['announce'] = {}): Device =>
  deviceOf(plantOf(name), announce);

export const NOTHING: Shown['last'] = { result: 'none', words: '' };

export const shownOf = (plant: Plant, state: State = initial(plant)): Shown => ({
  status: statusOf(plant, state),
  last: NOTHING,
});

/** A service that has never seen its station and hears these, one event each. */
export function having(plant: Plant, ...events: readonly (readonly Input[])[]): State {
  return events.reduce<State>(
    (state, inputs) => step(plant, state, { elapsedMs: 1000, inputs, tick: true }).state,
    initial(plant),
  );
}

/** Every contact dry or resting, every number somewhere in the middle, live. */
export function calm(plant: Plant): readonly Input[] {
  const middle: Readonly<Record<string, number>> = {
    level: 120,
    flow: 0,
    total: 100,
    temperature: 20,
    conductivity: 0.01,
  };
  return [
    { type: 'link', up: true },
    { type: 'echo' },
    { type: 'clock', minuteOfDay: 600, day: 20000, trusted: true },
    ...Object.values(plant.sensors).map(
      (sensor): Input => ({
        type: 'reading',
        sensor: sensor.id,
        value:
          'yes' in sensor
            ? sensor.measures === 'float' && sensor.position === 'low'
            : (middle[sensor.measures] ?? 0),
        live: true,
      }),
    ),
    ...Object.values(plant.actuators)
      .filter(({ feedback }) => feedback !== null)
      .map(({ id }): Input => ({ type: 'feedback', actuator: id, on: false, live: true })),
  ];
}
