// Where water is, how it gets there and what says so: while this is the same, what was known of contents and of a batch is
// worth something, whatever else of the station file was changed. Fields are listed one by one, so that a later release which
// compiles more of them does not take a station for another one.
import type { Plant, Route, Sensor, Vessel } from './plant.ts';

const VESSEL: readonly (keyof Vessel)[] = [
  'role',
  'capacityL',
  'floats',
  'level',
  'temperature',
  'conductivity',
  'into',
  'outOf',
];
const ROUTE: readonly (keyof Route)[] = ['from', 'to', 'through', 'meter'];
/** Of every kind of sensor, its wires left out. */
const SENSOR = [
  'measures',
  'vessel',
  'route',
  'position',
  'markL',
  'toleranceL',
  'yes',
  'no',
  'bit',
  'unit',
  'scale',
  'offset',
  'table',
  'compensatedToC',
  'temperatureFrom',
] as const;

const picked = (item: object, fields: readonly string[]): unknown =>
  fields.map((field) => (item as Record<string, unknown>)[field] ?? null);

const each = (record: Readonly<Record<string, object>>, fields: readonly string[]): unknown =>
  Object.entries(record)
    .toSorted(([one], [other]) => (one < other ? -1 : 1))
    .map(([id, item]) => [id, picked(item, fields)]);

/** Plain data, equal where the plumbing is. */
export const plumbingOf = ({ vessels, routes, sensors, mixingId }: Plant): unknown => [
  each(vessels, VESSEL),
  each(routes, ROUTE),
  each(sensors satisfies Readonly<Record<string, Sensor>>, SENSOR),
  mixingId,
];
