// What full protection needs: every float, meter, valve and probe of the planned station, and the interlocks that each
// one serves. Nothing here is written by hand: the rows are those that the core derives from the station, and what a
// device serves is found by taking it away and looking which rows are gone.

import { deriveRows, type Row } from '../../control/guard/interlocks.ts';
import type { RowKind } from '../../control/guard/row-kinds.ts';
import { ROW_KINDS } from '../../control/guard/rows.ts';
import { englishOf } from '../../language/english.ts';
import type { Message } from '../../language/message.ts';
import { plantOf } from '../../station/compile.ts';
import type { StationFile } from '../../station/file/station.ts';
import { KINDS } from '../../station/kinds.ts';
import type { Plant, Sensor, SensorKind } from '../../station/plant.ts';
import type { Design } from '../design.ts';
import { type Cell, figure, type Section, section } from '../report.ts';
import { stationOf } from '../station.ts';
import { counted } from '../words.ts';

/** One device and the ids of the rows it serves. */
export interface Served {
  readonly id: string;
  readonly name: string;
  readonly kind: string;
  readonly rows: readonly string[];
}

/** The row about a device that falls silent serves the others, and nothing serves it. */
const isAboutSilence = ({ means }: Pick<RowKind, 'means'> | Pick<Row, 'means'>): boolean =>
  means === 'silent';

export function protection(design: Design): Section {
  const station = stationOf(design);
  const plant = plantOf(station);
  const rows = deriveRows(plant);
  const served = servedBy(station, plant, rows);
  const ids = [...new Set(rows.map(({ id }) => id))].toSorted();
  return section({
    id: 'protection',
    title: 'Floats, meters and valves for full protection',
    says: [
      `${counted(served.length, 'device')} make ${counted(rows.length, 'interlock')} of ${counted(ids.length, 'kind')} possible. What is left out takes its interlocks with it; the command check says which.`,
      'All of this is software and the first layer, never the last. Hard-wired, working with the computer off: the overflow floats in the supply of what fills, a low float in series with each pump, a spring-return inlet valve, a thermal cut-out on the heater, a leak switch in the tray. Residual-current protection and drip loops for everything electrical, by a licensed electrician.',
    ],
    figures: [
      figure('devices', 'Devices', served.length, ''),
      figure('interlocks', 'Interlocks that follow', rows.length, ''),
      figure('kinds', 'Kinds of interlock', ids.length, ''),
    ],
    tables: [
      {
        id: 'devices',
        title: 'Device by device',
        columns: [{ title: 'Device' }, { title: 'kind' }, { title: 'serves the interlocks' }],
        rows: served.map(({ name, kind, rows: serves }): Cell[] => [
          name,
          kind,
          serves.length === 0 ? 'none of its own' : serves.join(', '),
        ]),
      },
      {
        id: 'kinds',
        title: 'Interlock by interlock',
        columns: [{ title: 'Id' }, { title: 'against' }, { title: 'needs' }, { title: 'does' }],
        rows: kindsTable(plant, ids),
      },
    ],
    sources: ['The interlock table of this service, derived from the planned station.'],
  });
}

function kindsTable(plant: Plant, ids: readonly string[]): Cell[][] {
  const say = englishOf(plant);
  const there = ROW_KINDS.filter(({ id }) => ids.includes(id));
  const kinds = there
    .filter(({ aboutRows }) => aboutRows === undefined)
    .map(({ id, hazard, hardware, action }) => [
      id,
      say(hazard),
      say(hardware),
      action === 'trip' ? 'trips' : 'blocks',
    ]);
  const blind = there
    .filter(isAboutSilence)
    .map(({ id }) => [id, 'a device that is silent or faulty', 'readings that are sent anew', 'blocks']);
  return [...kinds, ...blind].toSorted((a, b) => String(a[0]).localeCompare(String(b[0])));
}

/** Every device of the station, and the kinds of rows that need it, rest on it, or are lost without it. */
export function servedBy(station: StationFile, plant: Plant, rows: readonly Row[]): Served[] {
  const lost = (without: StationFile): Row[] => {
    const left = new Set(deriveRows(plantOf(without)).map(({ key }) => key));
    return rows.filter(({ key }) => !left.has(key));
  };
  const kinds = (serving: readonly Row[]) =>
    [...new Set(serving.filter((row) => !isAboutSilence(row)).map(({ id }) => id))].toSorted();
  const sensors = Object.entries(plant.sensors).map(([id, sensor]) => ({
    id,
    name: sensor.name,
    kind: KINDS[sensor.measures].name,
    rows: kinds([
      ...lost({ ...station, sensors: without(station.sensors, id) }),
      ...rows.filter((row) => row.needs.includes(id)),
      ...restingOn(plant, rows, sensor),
    ]),
  }));
  const actuators = Object.entries(plant.actuators)
    .filter(([, { kind }]) => kind !== 'signal')
    .map(([id, actuator]) => ({
      id,
      name: `${actuator.name}, reporting back`,
      kind: actuator.kind,
      rows: kinds([
        ...lost({ ...station, actuators: mute(station.actuators, id) }),
        ...upstreamRows(plant, rows, id),
      ]),
    }));
  return [...sensors, ...actuators];
}

/**
 * What a row rests on without being lost when one device is: the table says it as its hardware (any level evidence), and a
 * device serves it where it measures that at the row's own vessels.
 */
function restingOn(plant: Plant, rows: readonly Row[], sensor: Sensor): Row[] {
  const serves = HARDWARE[sensor.measures];
  if (serves === undefined) return [];
  const here = 'route' in sensor ? endsOf(plant, sensor.route) : 'vessel' in sensor ? [sensor.vessel] : [];
  return rows.filter(({ hardware, subject }) => {
    // A meter belongs to its own way; what it says of a vessel is said to whatever is about that vessel.
    const about = 'route' in sensor && subject in plant.routes ? subject === sensor.route : null;
    return (
      serves.includes(hardware.id) && (about ?? endsOf(plant, subject).some((end) => here.includes(end)))
    );
  });
}

const METER: readonly Message['id'][] = [
  'hardware-flow-meter',
  'hardware-meter-and-level',
  'hardware-meters-or-flows',
];
/** Kinds that are left out stand in no row's hardware. */
const HARDWARE: Readonly<Partial<Record<SensorKind, readonly Message['id'][]>>> = {
  float: ['hardware-any-level', 'hardware-two-levels'],
  level: ['hardware-any-level', 'hardware-two-levels', 'hardware-meter-and-level', 'hardware-level'],
  flow: METER,
  total: METER,
  temperature: [
    'hardware-temperature-and-cut-out',
    'hardware-temperature',
    'hardware-salinity-and-temperature',
  ],
  conductivity: [
    'hardware-salinity-and-circulation',
    'hardware-salinity-and-temperature',
    'hardware-purified-water-probe',
  ],
};

/** The vessels that a row's subject is about. */
function endsOf(plant: Plant, subject: string): string[] {
  const route = plant.routes[subject];
  if (route !== undefined) return [route.from, route.to];
  const heater = plant.heaters[subject];
  if (heater !== undefined) return [heater.vessel];
  return subject in plant.vessels ? [subject] : [];
}

function without<T>(record: Readonly<Record<string, T>>, id: string): Record<string, T> {
  return Object.fromEntries(Object.entries(record).filter(([key]) => key !== id));
}

/** A device without its feedback still switches, and nobody knows whether it did. */
function mute(actuators: StationFile['actuators'], id: string): StationFile['actuators'] {
  return Object.fromEntries(
    Object.entries(actuators).map(([key, { feedback, ...rest }]) =>
      key === id || feedback === undefined ? [key, rest] : [key, { ...rest, feedback }],
    ),
  );
}

/** What a shut-off or a contactor upstream is for: the trips that must reach past a welded relay. */
function upstreamRows(plant: Plant, rows: readonly Row[], id: string): Row[] {
  const below = Object.values(plant.actuators).filter(({ upstream }) => upstream === id);
  if (below.length === 0) return [];
  const users = Object.entries({ ...plant.routes, ...plant.heaters }).filter(([, target]) =>
    below.some((actuator) =>
      'through' in target ? target.through.includes(actuator.id) : target.actuator === actuator.id,
    ),
  );
  const targets = users.map(([target]) => target);
  return rows.filter(({ action, forbids }) => action === 'trip' && forbids.some((t) => targets.includes(t)));
}
