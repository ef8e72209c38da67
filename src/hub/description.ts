// `$description`: the one document from which a Homie controller learns everything. Byte for byte the same for the same
// station, and its version is the document's own fingerprint.
import { createHash } from 'node:crypto';
import type { Device, Node, Property } from './model.ts';

export interface Description {
  readonly homie: '5.0';
  readonly version: number;
  readonly name: string;
  readonly type: string;
  readonly nodes: Readonly<Record<string, NodeDescription>>;
}

interface NodeDescription {
  readonly name: string;
  readonly type: string;
  readonly properties: Readonly<Record<string, PropertyDescription>>;
}

interface PropertyDescription {
  readonly name: string;
  readonly datatype: string;
  readonly format?: string;
  readonly settable?: true;
  readonly retained?: false;
  readonly unit?: string;
}

export function descriptionOf(device: Device): Description {
  const document = {
    homie: '5.0' as const,
    name: device.name,
    type: 'vatwarden.station',
    nodes: byId(device.nodes, nodeDescription),
  };
  return { ...document, version: versionOf(JSON.stringify(document)) };
}

/**
 * A new number whenever the document changes, the same for the same document. The released text asks for a new value and
 * no longer for a higher one; 48 bits stay a safe integer in every language with doubles.
 */
function versionOf(document: string): number {
  return Number.parseInt(createHash('sha256').update(document).digest('hex').slice(0, 12), 16);
}

function nodeDescription({ name, kind, properties }: Node): NodeDescription {
  return { name, type: `vatwarden.${kind}`, properties: byId(properties, propertyDescription) };
}

/** Defaults are left out, and no field is ever null. */
function propertyDescription(property: Property): PropertyDescription {
  const { name, datatype, format, settable, retained, unit } = property;
  return {
    name,
    datatype,
    ...(format === null ? {} : { format }),
    ...(settable ? { settable: true as const } : {}),
    ...(retained ? {} : { retained: false as const }),
    ...(unit === null ? {} : { unit }),
  };
}

function byId<T extends { readonly id: string }, U>(
  items: readonly T[],
  make: (item: T) => U,
): Record<string, U> {
  return Object.fromEntries(items.map((item) => [item.id, make(item)]));
}
