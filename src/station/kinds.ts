// What the rest of the house asks about a kind of sensor: how it is called, what its readings are about, and in which vessels
// it has a place. What each kind may say of itself in a file stands in `file/sensor-kinds.ts`.
import { type Dimension, houseUnit } from '../units/quantity.ts';
import type { Sensor, SensorKind, VesselRole } from './plant.ts';
import type { Words } from './words.ts';

export type ContactSensor = Extract<Sensor, { readonly yes: Words }>;
export type NumberSensor = Extract<Sensor, { readonly scale: number }>;

export const isContact = (sensor: Sensor): sensor is ContactSensor => 'yes' in sensor;
export const isNumberSensor = (sensor: Sensor): sensor is NumberSensor => 'scale' in sensor;

interface Kind {
  readonly name: string;
  /** Its events carry the house unit of this; null for a contact. A level is sent as a length or a share, and is litres here. */
  readonly about: Dimension | null;
  /** The vessels in which it may be; empty where it is in none. */
  readonly roles: readonly VesselRole[];
}

/** Vessels that can overflow and run dry. */
export const BOUNDED: readonly VesselRole[] = ['fresh', 'mixing', 'system'];
const WATERED: readonly VesselRole[] = ['purified-water', ...BOUNDED];

// biome-ignore format: a table reads as a table
export const KINDS = {
  float:        { name: 'float switch',       about: null,           roles: BOUNDED },
  leak:         { name: 'leak sensor',        about: null,           roles: [] },
  'top-off':    { name: 'contact',            about: null,           roles: ['system'] },
  level:        { name: 'level sensor',       about: 'volume',       roles: BOUNDED },
  flow:         { name: 'flow meter',         about: 'flow',         roles: [] },
  total:        { name: 'flow meter',         about: 'volume',       roles: [] },
  temperature:  { name: 'temperature probe',  about: 'temperature',  roles: WATERED },
  conductivity: { name: 'conductivity probe', about: 'conductivity', roles: WATERED },
} as const satisfies Readonly<Record<SensorKind, Kind>>;

/** What the readings of one kind or another are about. */
export type Measured = NonNullable<(typeof KINDS)[SensorKind]['about']>;

/** The unit in which its events are, for example `L/min`. */
export const houseUnitOf = ({ measures }: NumberSensor): string => houseUnit(KINDS[measures].about);
