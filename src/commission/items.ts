// What is to be commissioned, worked out from the station file: one item for each thing that the file says of a real device and
// that only a trial can show. Each has a digest of just the entries that it rests on, so that a changed entry makes its own
// items "not commissioned" and no other.
import { createHash } from 'node:crypto';
import type { StationFile } from '../station/file/station.ts';
import { isContact } from '../station/kinds.ts';
import type { Actuator, Plant } from '../station/plant.ts';
import { follow, stepsOf } from '../station/pointer.ts';

/** In the order in which they are tried. */
export const KINDS = [
  /** Every contact moved by hand: both words heard. */
  'contact',
  /** A thermometer in water of a temperature that a person measured. */
  'thermometer',
  /** A probe in the same salt water at two temperatures. */
  'probe',
  /** One output at a time: which one clicked, and whose feedback came. */
  'identity',
  /** An `on` ends by itself; a renewed one does not; and it ends without our link. */
  'lease',
  /** Off after a power cut. */
  'power',
  /** How long feedback takes. */
  'latency',
  /** How often it publishes. */
  'period',
  /** What a meter counts of a bucket. */
  'meter',
  /** Litres at which a float turns over. */
  'mark',
  /** Under supervision, by `run`. */
  'first-batch',
  'first-delivery',
] as const;
export type Kind = (typeof KINDS)[number];

/** `hands`: nothing is energised. `dry`: loads isolated. `listening`: nobody does anything. `wet`: a person watches the water. `supervised`: the service works. */
export type Stage = 'hands' | 'dry' | 'listening' | 'wet' | 'supervised';

export interface Item {
  /** `lease/fill`. */
  readonly key: string;
  readonly kind: Kind;
  /** The id of the sensor, actuator, route or vessel. */
  readonly subject: string;
  readonly stage: Stage;
  /** JSON Pointers into the written-out station file. */
  readonly rests: readonly string[];
  readonly digest: string;
}

const STAGE: Readonly<Record<Kind, Stage>> = {
  contact: 'hands',
  thermometer: 'hands',
  probe: 'hands',
  identity: 'dry',
  lease: 'dry',
  power: 'dry',
  latency: 'dry',
  period: 'listening',
  mark: 'wet',
  meter: 'wet',
  'first-batch': 'supervised',
  'first-delivery': 'supervised',
};

/** Outputs that move water or heat: a lamp needs no commissioning. */
export const loadsOf = (plant: Plant): readonly Actuator[] =>
  Object.values(plant.actuators).filter(({ kind }) => kind !== 'signal');

/** @param station written out: `loadStation(...).station` */
export function itemsOf(plant: Plant, station: StationFile): readonly Item[] {
  const sensors = Object.values(plant.sensors);
  const sensor = (id: string, ...keys: readonly string[]) => keys.map((key) => `/sensors/${id}/${key}`);
  const actuator = (id: string, ...keys: readonly string[]) => keys.map((key) => `/actuators/${id}/${key}`);
  const heard = (id: string) =>
    sensor(id, 'topic', 'at', 'bit', 'wet', 'dry', 'running', 'resting', 'position', 'vessel');
  const measured = (id: string) => [`/sensors/${id}`];
  const found: (readonly [Kind, string, readonly string[]])[] = [];
  for (const one of sensors) {
    const { id } = one;
    if (isContact(one)) found.push(['contact', id, heard(id)]);
    if (one.measures === 'temperature')
      found.push(['thermometer', id, sensor(id, 'topic', 'at', 'unit', 'scale', 'offset', 'vessel')]);
    if (one.measures === 'conductivity') {
      const { temperatureFrom } = one;
      found.push([
        'probe',
        id,
        [...measured(id), ...(temperatureFrom === null ? [] : measured(temperatureFrom))],
      ]);
    }
    if (one.measures === 'float') {
      const marks = [...heard(id), ...sensor(id, 'mark', 'tolerance'), `/vessels/${one.vessel}/capacity`];
      found.push(['mark', id, marks]);
    }
    if (one.republishesMs !== null) found.push(['period', id, sensor(id, 'topic', 'republishes', 'maxAge')]);
  }
  for (const { id, feedback } of loadsOf(plant)) {
    found.push(['identity', id, actuator(id, 'command', 'feedback')]);
    if (feedback === null) continue;
    for (const kind of ['lease', 'power', 'latency'] as const)
      found.push([kind, id, actuator(id, 'command', 'feedback', ...(kind === 'lease' ? ['lease'] : []))]);
  }
  for (const { id, meter } of Object.values(plant.routes))
    if (meter !== null) found.push(['meter', id, [...measured(meter), `/routes/${id}`]]);
  const probe = plant.vessels[plant.mixingId]?.conductivity ?? null;
  const water = ['/process/salinity', '/process/salt', ...(probe === null ? [] : measured(probe))];
  found.push(['first-batch', plant.mixingId, [...water, '/process/batch']]);
  for (const { id, purpose } of Object.values(plant.routes))
    if (purpose === 'supply') found.push(['first-delivery', id, [...water, `/routes/${id}`]]);
  return found
    .map(([kind, subject, rests]) => ({
      key: `${kind}/${subject}`,
      kind,
      subject,
      stage: STAGE[kind],
      rests,
      digest: digestOf(rests.map((pointer) => follow(station, stepsOf(pointer)) ?? null)),
    }))
    .toSorted((a, b) => KINDS.indexOf(a.kind) - KINDS.indexOf(b.kind));
}

/** Of plain JSON, in whatever order its members stand. */
export const digestOf = (plain: unknown): string =>
  createHash('sha256')
    .update(JSON.stringify(sorted(plain)))
    .digest('hex')
    .slice(0, 24);

function sorted(plain: unknown): unknown {
  if (Array.isArray(plain)) return plain.map(sorted);
  if (typeof plain !== 'object' || plain === null) return plain;
  return Object.fromEntries(
    Object.entries(plain)
      .toSorted(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, value]) => [key, sorted(value)]),
  );
}
