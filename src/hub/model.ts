// The table spread over one station: the Homie device with its nodes, properties and topics. Nothing here changes while the
// service runs.
import type { StationFile } from '../station/file/station.ts';
import { type HomieSettings, homieSettings } from '../station/homie.ts';
import type { Plant } from '../station/plant.ts';
import type { Datatype, Kind, Part, Row } from './row.ts';
import { TABLE } from './table.ts';

export interface Property {
  readonly kind: Kind;
  readonly node: string;
  readonly nodeName: string;
  /** What the row is read for: the id of a vessel, a route, a system, ... */
  readonly subject: string;
  readonly id: string;
  readonly name: string;
  readonly datatype: Datatype;
  readonly format: string | null;
  readonly unit: string | null;
  readonly settable: boolean;
  readonly retained: boolean;
  readonly words: string;
  readonly topic: string;
  /** Only where it is settable. */
  readonly setTopic: string | null;
  /** Only where the value takes its time. */
  readonly targetTopic: string | null;
  readonly row: Row;
}

export interface Node {
  readonly id: string;
  readonly name: string;
  readonly kind: Kind;
  readonly properties: readonly Property[];
}

export interface Device extends HomieSettings {
  readonly id: string;
  readonly name: string;
  /** `homie/5/marram-point`. */
  readonly root: string;
  readonly nodes: readonly Node[];
  readonly properties: readonly Property[];
}

/** T2. */
const ID = /^[a-z0-9-]+$/u;

/**
 * @throws Error naming the place and the mend, for a domain or an id that Homie can't carry.
 */
export function deviceOf(
  plant: Plant,
  announce: StationFile['announce'] = {},
  table: readonly Part[] = TABLE,
): Device {
  const settings = homieSettings(announce);
  const { domain } = settings;
  if (/[#+/$\0]/u.test(domain) || domain === '') {
    throw new Error(
      `/announce/homie/domain: '${domain}' is not one level of a topic: write for example "homie"`,
    );
  }
  const root = `${domain}/5/${plant.id}`;
  const nodes = table.flatMap((part) => nodesOf(part, plant, root));
  const properties = nodes.flatMap((node) => node.properties);
  isOneOfAKind(
    'node',
    nodes.map(({ id }) => id),
  );
  for (const node of nodes) {
    isOneOfAKind(
      `property of ${node.id}`,
      node.properties.map(({ id }) => id),
    );
  }
  isHomieId('station', plant.id);
  return { ...settings, id: plant.id, name: plant.name, root, nodes, properties };
}

function nodesOf(part: Part, plant: Plant, root: string): readonly Node[] {
  return part.over(plant).map((subject) => {
    const id = part.node(subject.id);
    const rows = part.rows.filter(({ when }) => when?.(plant, subject.id) ?? true);
    const node = { id, name: subject.name, kind: part.kind };
    return { ...node, properties: rows.map((row) => propertyOf(row, node, subject.id, plant, root)) };
  });
}

function propertyOf(
  row: Row,
  node: Omit<Node, 'properties'>,
  subject: string,
  plant: Plant,
  root: string,
): Property {
  const { id, name, datatype, words, unit, format } = row;
  const topic = `${root}/${node.id}/${id}`;
  const settable = row.ask !== undefined;
  return {
    kind: node.kind,
    node: node.id,
    nodeName: node.name,
    subject,
    id,
    name,
    datatype,
    format: typeof format === 'function' ? format(plant, subject) : (format ?? null),
    unit: unit ?? null,
    settable,
    retained: row.value !== undefined,
    words,
    topic,
    setTopic: settable ? `${topic}/set` : null,
    targetTopic: row.target === undefined ? null : `${topic}/$target`,
    row,
  };
}

function isOneOfAKind(what: string, ids: readonly string[]): void {
  for (const [place, id] of ids.entries()) {
    isHomieId(what, id);
    if (ids.indexOf(id) !== place)
      throw new Error(`two of the ${what} have the id '${id}': give one another id`);
  }
}

function isHomieId(what: string, id: string): void {
  if (!ID.test(id)) {
    throw new Error(`the ${what} id '${id}' can't be carried by Homie: use a-z, 0-9 and hyphens`);
  }
}
