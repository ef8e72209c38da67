import '../seed.ts';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { plantOf } from '../../src/station/compile.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { loadStation } from '../../src/station/load.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { EXAMPLES, errorsOf, example, spoilt, textOf } from './stations.ts';

const MARRAM = example('marram-point');

interface SchemaNode {
  readonly $ref?: string;
  readonly required?: readonly string[];
  readonly properties?: Readonly<Record<string, SchemaNode>>;
  readonly additionalProperties?: SchemaNode | boolean;
  readonly oneOf?: readonly SchemaNode[];
}

const SCHEMA = JSON.parse(textOf('schemas/station.schema.json')) as SchemaNode & {
  $defs: Record<string, SchemaNode>;
};

/** The pointers of every key in the station that the schema requires, found by walking both together. */
function requiredKeys(value: unknown, node: SchemaNode | undefined, pointer: string): string[] {
  if (node?.$ref !== undefined) return requiredKeys(value, SCHEMA.$defs[node.$ref.slice(8)], pointer);
  if (typeof value !== 'object' || value === null || Array.isArray(value) || node === undefined) return [];
  const entries = Object.entries(value as Record<string, unknown>);
  const branch = node.oneOf
    ?.map((one) => (one.$ref === undefined ? one : SCHEMA.$defs[one.$ref.slice(8)]))
    .find((one) => one?.required?.every((key) => Object.hasOwn(value, key)) && fits(one, value));
  if (branch !== undefined) return requiredKeys(value, branch, pointer);
  const own = (node.required ?? []).map((key) => `${pointer}/${key}`);
  return [
    ...own,
    ...entries.flatMap(([key, inner]) => {
      const next =
        node.properties?.[key] ??
        (typeof node.additionalProperties === 'object' ? node.additionalProperties : undefined);
      return requiredKeys(inner, next, `${pointer}/${key}`);
    }),
  ];
}

function fits(node: SchemaNode, value: object): boolean {
  return Object.entries(node.properties ?? {}).every(
    ([key, inner]) =>
      !('const' in inner) || (value as Record<string, unknown>)[key] === (inner as { const: unknown }).const,
  );
}

const REQUIRED = requiredKeys(MARRAM, SCHEMA, '');

function at(station: unknown, pointer: string): unknown {
  return pointer
    .split('/')
    .slice(1)
    .map((key) => key.replaceAll('~1', '/').replaceAll('~0', '~'))
    .reduce<unknown>((here, key) => (here as Record<string, unknown> | undefined)?.[key], station);
}

function pointers(value: unknown, pointer = ''): string[] {
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => [
    `${pointer}/${key}`,
    ...pointers(inner, `${pointer}/${key}`),
  ]);
}

/** One stroke wrong: a letter missing, doubled, or swapped with its neighbour. */
const slipOf = (word: string) =>
  fc
    .tuple(fc.nat(word.length - 1), fc.constantFrom('missing', 'doubled', 'swapped', 'capital'))
    .map(([index, kind]) => {
      const [before, letter, after] = [word.slice(0, index), word[index] ?? '', word.slice(index + 1)];
      if (kind === 'missing') return `${before}${after}`;
      if (kind === 'doubled') return `${before}${letter}${letter}${after}`;
      if (kind === 'capital') return `${before}${letter.toUpperCase()}${after}`;
      return `${before}${after.slice(0, 1)}${letter}${after.slice(1)}`;
    })
    .filter((slip) => slip !== word);

it('The walk finds the required keys of the station: more than two hundred, each of them there', () => {
  expect(REQUIRED.length).toBeGreaterThan(200);
  for (const pointer of REQUIRED) expect(at(MARRAM, pointer), pointer).toBeDefined();
});

it('Any required key taken out gives an error at a place that is in the file', () => {
  // All of them, not a sample: it is quick.
  for (const pointer of REQUIRED) {
    const station = spoilt(MARRAM, pointer, undefined);
    const errors = errorsOf(station);
    expect(errors.length, pointer).toBeGreaterThanOrEqual(1);
    for (const error of errors)
      expect(at(station, error.pointer), `${pointer}: ${error.pointer}`).toBeDefined();
  }
});

it('Any required key misspelt by one stroke gives an error at a place that is in the file', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...REQUIRED).chain((pointer) => {
        const key = pointer.slice(pointer.lastIndexOf('/') + 1);
        return fc.tuple(fc.constant(pointer), slipOf(key));
      }),
      ([pointer, slip]) => {
        const parent = pointer.slice(0, pointer.lastIndexOf('/'));
        const part = at(MARRAM, pointer);
        const station = spoilt(spoilt(MARRAM, pointer, undefined), `${parent}/${slip}`, part);
        const errors = errorsOf(station);
        expect(errors.length).toBeGreaterThanOrEqual(1);
        for (const error of errors) expect(at(station, error.pointer), error.pointer).toBeDefined();
        // The slip itself is named, once, and with the right word.
        const named = errors.filter((error) => error.pointer === `${parent}/${slip}`);
        expect(named).toHaveLength(1);
        const key = pointer.slice(pointer.lastIndexOf('/') + 1);
        expect(named[0]?.nearest).toBe(JSON.stringify(key));
      },
    ),
    { numRuns: 300 },
  );
});

it('One key taken out, or one key misspelt, gives one error and no echoes of it', () => {
  const inner = pointers(MARRAM).filter((pointer) => !/\/\d+$/u.test(pointer));
  fc.assert(
    fc.property(fc.constantFrom(...inner), fc.constantFrom('out', 'misspelt'), (pointer, slip) => {
      const without = spoilt(MARRAM, pointer, undefined);
      const station = slip === 'out' ? without : spoilt(without, `${pointer}x`, at(MARRAM, pointer));
      expect(errorsOf(station).map(wordsOf).length).toBeLessThanOrEqual(1);
    }),
    { numRuns: 400 },
  );
});

it('Whatever replaces a part of the station, the loader answers and never throws', () => {
  const places = pointers(MARRAM);
  fc.assert(
    fc.property(fc.constantFrom(...places), fc.jsonValue({ maxDepth: 2 }), (pointer, part) => {
      const station = spoilt(MARRAM, pointer, part);
      const errors = errorsOf(station);
      for (const error of errors) expect(at(station, error.pointer), error.pointer).toBeDefined();
      if (errors.length === 0) expect(() => plantOf(station as StationFile)).not.toThrow();
    }),
    { numRuns: 400 },
  );
});

it('Whatever text is given, the loader answers with a line and a column and never throws', () => {
  const marram = textOf('schemas/examples/marram-point.json');
  fc.assert(
    fc.property(
      fc.oneof(
        fc.string({ maxLength: 200 }),
        fc.nat(marram.length).map((end) => marram.slice(0, end)),
        fc
          .tuple(fc.nat(marram.length), fc.string({ maxLength: 3 }))
          .map(([where, text]) => marram.slice(0, where) + text + marram.slice(where)),
      ),
      (text) => {
        const loaded = loadStation('any.json', text);
        if (loaded.ok) return;
        expect(loaded.errors.length).toBeGreaterThanOrEqual(1);
        for (const { line, column, found, accepted } of loaded.errors) {
          expect(line).toBeGreaterThanOrEqual(1);
          expect(column).toBeGreaterThanOrEqual(1);
          expect(found).not.toBe('');
          expect(accepted).not.toBe('');
        }
      },
    ),
    { numRuns: 300 },
  );
});

it('Every example loads whatever the order of its keys', () => {
  for (const name of EXAMPLES) {
    const turned = JSON.parse(JSON.stringify(example(name)), (_, value) =>
      typeof value === 'object' && value !== null && !Array.isArray(value)
        ? Object.fromEntries(Object.entries(value).reverse())
        : value,
    );
    expect(errorsOf(turned)).toEqual([]);
  }
});
