// Messages for hubs that speak another convention: the owner's templates, filled in from the same table as everything else.
// No hub's own form is known here; what it looks like is in the station file.
import { createRequire } from 'node:module';
import { Coded } from '../errors/coded.ts';
import type { StationFile, Template } from '../station/file/station.ts';
import type { AnnouncementPlaceholder } from '../station/placeholders.ts';
import type { HeardValue, Plant } from '../station/plant.ts';
import { boundsOf, valuesOf } from './datatypes.ts';
import type { Device, Property } from './model.ts';

export interface Announcement {
  readonly topic: string;
  readonly payload: string;
}

type Filling = string | number | readonly string[] | null;
type Fillings = Readonly<Partial<Record<AnnouncementPlaceholder, Filling>>>;

export const { version: RELEASE } = createRequire(import.meta.url)('../../package.json') as {
  version: string;
};
const NAME = /\$[A-Za-z]+/gu;
const WHOLE = /^\$[A-Za-z]+$/u;

/** Two messages for one topic, or one for a topic that a device uses: the message says which and the mend. */
export class AnnouncementError extends Coded {
  override readonly name = 'AnnouncementError';
}

/** @throws AnnouncementError */
export function announcementsOf(
  plant: Plant,
  announce: StationFile['announce'],
  device: Device,
): readonly Announcement[] {
  const taken = topicsOfDevices(plant);
  const found = new Map<string, string>();
  for (const [index, template] of (announce?.templates ?? []).entries()) {
    for (const fillings of fillingsOf(template, device)) {
      const topic = text(template.topic, fillings);
      const where = `/announce/templates/${index}/topic: '${topic}'`;
      if (found.has(topic)) {
        throw new AnnouncementError(
          'E-215',
          `${where} is announced twice: give one of them another topic or "where"`,
        );
      }
      // A stored message on a command topic is a stored command.
      if (taken.has(topic) || topic.startsWith('vatwarden/') || topic.startsWith(`${device.domain}/5/`)) {
        throw new AnnouncementError(
          'E-215',
          `${where} is in use by the station itself: announce on another topic`,
        );
      }
      found.set(topic, JSON.stringify(filled(template.payload, fillings)));
    }
  }
  return [...found].map(([topic, payload]) => ({ topic, payload }));
}

function topicsOfDevices(plant: Plant): ReadonlySet<string> {
  const sensors = Object.values(plant.sensors);
  const actuators = Object.values(plant.actuators);
  return new Set([
    ...sensors.flatMap(topicsOf),
    ...actuators.flatMap(({ command, feedback }) => [
      command.topic,
      ...(feedback === null ? [] : topicsOf(feedback)),
    ]),
  ]);
}

const topicsOf = ({ topic, availability }: HeardValue): readonly string[] => [
  topic,
  ...availability.map((told) => told.topic),
];

function fillingsOf({ each, where = {} }: Template, device: Device): readonly Fillings[] {
  const station = stationFillings(device);
  if (each === 'station') return [station];
  const { datatype, kind, unit, settable, retained } = where;
  return device.properties
    .filter((property) => datatype === undefined || datatype.includes(property.datatype))
    .filter((property) => kind === undefined || kind.includes(property.kind))
    .filter((property) => unit === undefined || unit.includes(property.unit ?? ''))
    .filter((property) => settable === undefined || property.settable === settable)
    .filter((property) => retained === undefined || property.retained === retained)
    .map((property) => ({ ...station, ...propertyFillings(device, property) }));
}

export function stationFillings({ id, name }: Device): Fillings {
  return {
    $station: id,
    $stationName: name,
    $model: 'Vatwarden',
    $release: RELEASE,
    $availabilityTopic: `vatwarden/${id}/online`,
    $available: 'online',
    $unavailable: 'offline',
  };
}

export function propertyFillings(device: Device, property: Property): Fillings {
  const { least, most, step } = boundsOf(property);
  const values = valuesOf(property);
  return {
    $identifier: `${device.id}-${property.node}-${property.id}`,
    $node: property.node,
    $nodeName: property.nodeName,
    $kind: property.kind,
    $property: property.id,
    $name: property.name,
    $label: `${property.nodeName}, ${property.name.toLowerCase()}`,
    $datatype: property.datatype,
    $unit: property.unit,
    $values: values.length === 0 ? null : values,
    $least: least,
    $most: most,
    $step: step,
    $valueTopic: property.topic,
    $commandTopic: property.setTopic,
  };
}

/** Undefined: the member is left out. */
function filled(value: unknown, fillings: Fillings): unknown {
  if (typeof value === 'string') {
    return WHOLE.test(value)
      ? (fillings[value as AnnouncementPlaceholder] ?? undefined)
      : text(value, fillings);
  }
  if (Array.isArray(value)) {
    return value.map((item) => filled(item, fillings)).filter((item) => item !== undefined);
  }
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, filled(inner, fillings)]));
}

function text(template: string, fillings: Fillings): string {
  return template.replaceAll(NAME, (name) => String(fillings[name as AnnouncementPlaceholder] ?? ''));
}
