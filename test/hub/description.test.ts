import { Ajv } from 'ajv';
import { describe, expect, it } from 'vitest';
import { descriptionOf } from '../../src/hub/description.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { device, EXAMPLES, plantOf } from './stations.ts';

const words = { type: 'string', minLength: 1 };
const id = { type: 'object', propertyNames: { pattern: '^[a-z0-9-]+$' } };

/** Section 4 of the conformance table, with nothing unknown allowed on our side. */
const SCHEMA = {
  type: 'object',
  additionalProperties: false,
  required: ['homie', 'version'],
  properties: {
    homie: { type: 'string', pattern: '^5\\.\\d+$' },
    version: { type: 'integer', minimum: 0, maximum: Number.MAX_SAFE_INTEGER },
    name: words,
    type: words,
    nodes: {
      ...id,
      additionalProperties: {
        type: 'object',
        additionalProperties: false,
        properties: {
          name: words,
          type: words,
          properties: {
            ...id,
            additionalProperties: {
              type: 'object',
              additionalProperties: false,
              required: ['datatype'],
              properties: {
                name: words,
                datatype: {
                  enum: [
                    'integer',
                    'float',
                    'boolean',
                    'string',
                    'enum',
                    'color',
                    'datetime',
                    'duration',
                    'json',
                  ],
                },
                format: words,
                settable: { type: 'boolean' },
                retained: { type: 'boolean' },
                unit: words,
              },
              if: { properties: { datatype: { enum: ['enum', 'color'] } } },
              // biome-ignore lint/suspicious/noThenProperty: a keyword of JSON Schema
              then: { required: ['format'] },
            },
          },
        },
      },
    },
  },
};
const fits = new Ajv({ strict: false, allErrors: true }).compile(SCHEMA);

describe.each(EXAMPLES)('$description of %s', (name) => {
  const document = descriptionOf(device(name));

  it('fits the fields of Homie 5 and has no field beyond them', () => {
    fits(document);
    expect(fits.errors).toBeNull();
  });

  it('is byte for byte the same on every start', () => {
    expect(JSON.stringify(descriptionOf(device(name)))).toBe(JSON.stringify(document));
  });

  it('has no null in it, no root and no parent: it is the root device', () => {
    expect(JSON.stringify(document)).not.toMatch(/null|"root"|"parent"|"children"/u);
  });

  it('lists exactly the nodes and properties that have topics', () => {
    const described = Object.entries(document.nodes).flatMap(([node, { properties }]) =>
      Object.keys(properties).map((property) => `${node}/${property}`),
    );
    expect(described).toEqual(device(name).properties.map(({ node, id }) => `${node}/${id}`));
  });
});

it('The version of two documents is equal exactly when the documents are; it need not rise (released text, pull request 304)', () => {
  const plant = plantOf('one-vat');
  const same = descriptionOf(deviceOf(plant, { homie: { domain: 'elsewhere', qos: 1 } }));
  const other = descriptionOf(deviceOf({ ...plant, name: 'Another name' }));
  const fewer = descriptionOf(deviceOf({ ...plant, routes: {} }));
  const own = descriptionOf(deviceOf(plant));
  expect(same.version).toBe(own.version);
  expect(new Set([own.version, other.version, fewer.version]).size).toBe(3);
});

it('Units are the well-known ones where Homie has them, byte for byte', () => {
  const units = new Set(device('marram-point').properties.map(({ unit }) => unit));
  const wellKnown = ['°C', 'L', '%', 'h', '#', 'K'];
  const free = ['kg', 'kg/kg', 'PSU', 'L/min'];
  expect([...units].filter((unit) => unit !== null).toSorted()).toEqual([...wellKnown, ...free].toSorted());
  expect(Buffer.from('°C').toString('hex')).toBe('c2b043');
  expect([...units]).toContain(Buffer.from('c2b043', 'hex').toString());
});
