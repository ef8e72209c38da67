// What each kind of sensor says: a contact a word, any other a number, and of what. Whoever asks what a kind is asks here,
// so that a new one is entered once.
import { type Dimension, houseUnit } from '../units/quantity.ts';
import type { Sensor, SensorKind } from './plant.ts';

export type ContactSensor = Extract<Sensor, { readonly yes: string }>;
export type NumberSensor = Extract<Sensor, { readonly scale: number }>;

export const isContact = (sensor: Sensor): sensor is ContactSensor => 'yes' in sensor;
export const isNumberSensor = (sensor: Sensor): sensor is NumberSensor => 'scale' in sensor;

/** What the events of a kind are about; they carry its house unit. A level is sent as a length or a share, and is litres here. */
export const DIMENSION = {
  level: 'volume',
  flow: 'flow',
  total: 'volume',
  temperature: 'temperature',
  conductivity: 'conductivity',
} as const satisfies Readonly<Record<NumberSensor['measures'], Dimension>>;

type OfNumbers = keyof typeof DIMENSION;

/** Null for a contact. */
export const dimensionOf = (kind: SensorKind): (typeof DIMENSION)[OfNumbers] | null =>
  kind in DIMENSION ? DIMENSION[kind as OfNumbers] : null;

/** The unit in which its events are, for example `L/min`. */
export const houseUnitOf = ({ measures }: NumberSensor): string => houseUnit(DIMENSION[measures]);
