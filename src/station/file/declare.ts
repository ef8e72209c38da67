// The means by which a file is declared. A part of a file is declared once, and that is all of it: what may be written there
// (the JSON Schema for ajv and for editors, and the type in TypeScript), what the program reads from it (quantities as
// numbers in the house unit), what counts where nothing is written, and the hint for whoever writes it.
//
// A schema library would do a third of this (no units, no defaults that depend on the rest of the file) and take longer to
// load than everything else at a start.
import { isWithin, type Range } from '../../engineering/range.ts';
import { member } from '../pointer.ts';
import { type Mistake, quoted } from '../problem.ts';
import { patternOf, type QuantityFormat, readStation, told, toldRange } from '../quantities.ts';

export interface JsonSchema {
  readonly [keyword: string]: unknown;
}

/** A value that was taken because the file does not say it. */
export interface Assumed {
  /** JSON Pointer to where it would be stated. */
  readonly at: string;
  /** With its unit. */
  readonly value: string;
  /** The same place with `*` for the id, and the id; '' where there is none. */
  readonly key: string;
  readonly of: string;
}

/** Where a value is read, and what the reading keeps on its way. */
export interface Place extends Pick<Assumed, 'at' | 'key' | 'of'> {
  readonly assumed: (Assumed | null)[];
  /** What depends on other values is worked out when those are read. */
  readonly later: ((whole: unknown) => void)[];
}

/** @template W what may be written, @template R what is read */
export interface Part<W, R> {
  readonly schema: JsonSchema;
  /** What the schema refers to, by name. */
  readonly named: Readonly<Record<string, JsonSchema>>;
  /** Of what the schema has accepted. */
  readonly read: (written: W, place: Place) => R;
  /** What lies outside its range in what the schema has accepted; parts of it may have been cut out. */
  readonly outside: (written: W, pointer: string) => readonly Mistake[];
  /** As a person reads it. */
  say(value: R): string;
}

/** A part that may be left out. */
export interface Lacking<W, R> extends Part<W, R> {
  readonly absent: (place: Place, here: object, put: (value: R) => void) => void;
}

type Some = Part<never, unknown>;
export type Members = Readonly<Record<string, Some>>;
type MayLack<M extends Members> = {
  [K in keyof M]: M[K] extends { readonly absent: unknown } ? K : never;
}[keyof M];
type Flat<T> = { [K in keyof T]: T[K] };

/** What may be written in a part. */
export type Written<P> = P extends Part<infer W, unknown> ? W : never;
/** What the program reads from a part: null where nothing is written and nothing is assumed. */
export type Read<P> = P extends Part<never, infer R> ? R : never;
export type WrittenMembers<M extends Members> = Flat<
  { [K in Exclude<keyof M, MayLack<M>>]: Written<M[K]> } & { [K in MayLack<M>]?: Written<M[K]> }
>;
export type ReadMembers<M extends Members> = { readonly [K in keyof M]: Read<M[K]> };

/** A hint, or a hint among other keywords of JSON Schema. */
type More = string | JsonSchema;
const keywords = (more: More): JsonSchema => (typeof more === 'string' ? { description: more } : more);
const nothing = () => [];

/** A part that is read as it is written. */
export function plain<T>(schema: JsonSchema): Part<T, T> {
  return { schema, named: {}, read: (written) => written, outside: nothing, say: String };
}
/** A part of which nothing is read here: somebody else does, and nothing is assumed for it. */
export const asWritten = <W>(part: Part<W, unknown>): Part<W, W> => ({
  ...part,
  read: (written) => written,
  say: JSON.stringify,
});
export const text = (more: More = {}) => plain<string>({ type: 'string', ...keywords(more) });
export const number = (more: More = {}) => plain<number>({ type: 'number', ...keywords(more) });
export const integer = (more: More = {}) => plain<number>({ type: 'integer', ...keywords(more) });
export const truth = (more: More = {}) => plain<boolean>({ type: 'boolean', ...keywords(more) });
export const literal = <const T extends string | number>(value: T, more: More = {}) =>
  plain<T>({ const: value, ...keywords(more) });
export const oneWordOf = <const T extends string | number>(values: readonly T[], more: More = {}) =>
  plain<T>({ enum: values, ...keywords(more) });

/** Where a quantity may lie, in the house unit; and why not beyond, where that is worth saying. */
export type Bounds = Range & { readonly why?: string };

/** A number with its unit; read in the house unit of its kind. */
export function quantity(format: QuantityFormat, hint: string, range?: Bounds): Part<string, number> {
  return {
    schema: { type: 'string', format, description: hint, pattern: patternOf(format) },
    named: {},
    read: (written) => readStation(written, format),
    outside: (written, pointer) =>
      range === undefined || isWithin(readStation(written, format), range)
        ? []
        : [
            {
              pointer,
              found: quoted(written),
              accepted: [toldRange(range), range.why].filter(Boolean).join(': '),
            },
          ],
    say: (value) => told(value, format),
  };
}

/** A kind of quantity under a name; each use may have a hint and a range of its own. */
export function namedQuantity(name: string, format: QuantityFormat, example: string) {
  return (hint?: string, range?: Bounds) => named(name, quantity(format, example, range))(hint);
}

/** A part under a name, to be used in several places, each with a hint of its own. */
export function named<P extends Some>(name: string, part: P): (hint?: string) => P {
  const defined = { ...part.named, [name]: part.schema };
  return (hint) => ({
    ...part,
    schema: { $ref: `#/$defs/${name}`, ...(hint === undefined ? {} : { description: hint }) },
    named: defined,
  });
}

export interface ObjectPart<M extends Members> extends Part<WrittenMembers<M>, ReadMembers<M>> {
  readonly members: M;
}

export function object<M extends Members>(members: M, more: More = {}): ObjectPart<M> {
  const entries = Object.entries(members);
  const required = entries.flatMap(([key, part]) => ('absent' in part ? [] : [key]));
  const granted = entries.filter(([, part]) => 'isGranted' in part);
  return {
    members,
    schema: {
      ...keywords(more),
      type: 'object',
      additionalProperties: false,
      ...(required.length > 0 ? { required } : {}),
      properties: Object.fromEntries(entries.map(([key, { schema }]) => [key, schema])),
      // Where the entry may name a device it must say itself what a device would have given it.
      ...(GRANTED_BY in members && granted.length > 0
        ? {
            if: { required: [GRANTED_BY] },
            else: { required: granted.map(([key]) => key), properties: hintsOf(granted) },
          }
        : {}),
    },
    named: allNamed(Object.values(members)),
    read: (written, place) => {
      const here: Record<string, unknown> = {};
      for (const [key, part] of entries) {
        const inner = { ...place, at: member(place.at, key), key: `${place.key}/${key}` };
        const value = (written as Readonly<Record<string, never>>)[key];
        // Keys stand in the order of the declaration, whenever their values are known.
        here[key] = undefined;
        if (value !== undefined) here[key] = part.read(value, inner);
        else if ('absent' in part)
          (part as Lacking<never, unknown>).absent(inner, here, (assumed) => {
            here[key] = assumed;
          });
      }
      return here as ReadMembers<M>;
    },
    outside: (written, pointer) =>
      Object.entries(written).flatMap(([key, value]) =>
        members[key] === undefined || value === undefined
          ? []
          : members[key].outside(value as never, member(pointer, key)),
      ),
    say: (value) =>
      entries.map(([key, part]) => `${key} ${part.say((value as Record<string, unknown>)[key])}`).join(', '),
  };
}

export const GRANTED_BY = 'device'; // Names the device of an entry.

const hintsOf = (entries: readonly (readonly [string, Some])[]) =>
  Object.fromEntries(
    entries.map(([key, { schema, named }]) => [
      key,
      { description: (named[String(schema.$ref).replace('#/$defs/', '')] ?? schema).description ?? '' },
    ]),
  );

const allNamed = (parts: readonly Some[]): Readonly<Record<string, JsonSchema>> =>
  Object.assign({}, ...parts.map((part) => part.named));

type Kinds = Readonly<Record<string, Members>>;
type WrittenKind<T extends string, K extends Kinds> = {
  [Kind in keyof K & string]: Flat<{ [_ in T]: Kind } & WrittenMembers<K[Kind]>>;
}[keyof K & string];
type ReadKind<T extends string, K extends Kinds> = {
  [Kind in keyof K & string]: Flat<{ readonly [_ in T]: Kind } & ReadMembers<K[Kind]>>;
}[keyof K & string];

/** An object of one of several kinds, told by the member `tag`. */
export function oneKindOf<T extends string, K extends Kinds>(
  tag: T,
  kinds: K,
  { nameOf, ...more }: JsonSchema & { readonly nameOf?: (kind: string) => string } = {},
): Part<WrittenKind<T, K>, ReadKind<T, K>> {
  const branches = Object.fromEntries(
    Object.entries(kinds).map(([kind, members]) => {
      const branch = object({ [tag]: literal(kind), ...members });
      return [kind, nameOf === undefined ? branch : named(nameOf(kind), branch)()];
    }),
  );
  const branchOf = (value: object) =>
    branches[(value as Record<string, string>)[tag] ?? ''] as Part<object, object> | undefined;
  const all = Object.values(branches);
  return {
    schema: {
      type: 'object',
      discriminator: { propertyName: tag },
      ...more,
      oneOf: all.map(({ schema }) => schema),
    },
    named: allNamed(all),
    read: (written, place) => branchOf(written)?.read(written, place) as ReadKind<T, K>,
    outside: (written, pointer) => branchOf(written)?.outside(written, pointer) ?? [],
    say: JSON.stringify,
  };
}

export function list<W, R>(part: Part<W, R>, more: More = {}): Part<W[], readonly R[]> {
  return {
    schema: { type: 'array', ...keywords(more), items: part.schema },
    named: part.named,
    read: (written, place) =>
      written.map((one, index) => part.read(one, { ...place, at: member(place.at, index) })),
    outside: (written, pointer) => written.flatMap((one, index) => part.outside(one, member(pointer, index))),
    say: (values) => values.map((value) => part.say(value)).join(', '),
  };
}

/** One object, or a list of such. */
export function oneOrMany<M extends Members>(
  part: ObjectPart<M>,
): Part<WrittenMembers<M> | WrittenMembers<M>[], readonly ReadMembers<M>[]> {
  const many = list(part);
  const asList = (written: WrittenMembers<M> | WrittenMembers<M>[]) =>
    Array.isArray(written) ? written : [written];
  return {
    ...many,
    schema: { ...part.schema, type: ['object', 'array'], items: part.schema, minItems: 1 },
    read: (written, place) => many.read(asList(written), place),
    outside: (written, pointer) =>
      Array.isArray(written) ? many.outside(written, pointer) : part.outside(written, pointer),
  };
}

/** Exactly two, each of its own kind. */
export function pair<V, Q, W, R>(
  first: Part<V, Q>,
  second: Part<W, R>,
  more: More = {},
): Part<[V, W], readonly [Q, R]> {
  return {
    schema: {
      type: 'array',
      ...keywords(more),
      prefixItems: [first.schema, second.schema],
      items: false,
      minItems: 2,
      maxItems: 2,
    },
    named: allNamed([first, second]),
    read: ([one, other], place) => [first.read(one, place), second.read(other, place)],
    outside: ([one, other], pointer) => [
      ...first.outside(one, member(pointer, 0)),
      ...second.outside(other, member(pointer, 1)),
    ],
    say: ([one, other]) => `${first.say(one)}, ${second.say(other)}`,
  };
}

/** Any number of parts by names that the owner gives them. @param id how such a name may look */
export function byName<W, R>(
  part: Part<W, R>,
  more: More = {},
  id?: Some,
): Part<Record<string, W>, Readonly<Record<string, R>>> {
  return {
    schema: {
      type: 'object',
      ...keywords(more),
      ...(id === undefined ? {} : { propertyNames: id.schema }),
      additionalProperties: part.schema,
    },
    named: { ...id?.named, ...part.named },
    read: (written, place) =>
      Object.fromEntries(
        Object.entries(written).map(([key, one]) => [
          key,
          part.read(one, { ...place, at: member(place.at, key), key: `${place.key}/*`, of: key }),
        ]),
      ),
    outside: (written, pointer) =>
      Object.entries(written).flatMap(([key, one]) => part.outside(one, member(pointer, key))),
    say: JSON.stringify,
  };
}

/** A whole file: what it is called, and all that it declares. */
export function printed(file: Some, head: { readonly $id: string; readonly title: string }): JsonSchema {
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    ...head,
    ...file.schema,
    ...(Object.keys(file.named).length > 0 ? { $defs: file.named } : {}),
  };
}

/** Every quantity in its house unit, every default filled in; and which of them the file does not say. */
export function readFile<W, R>(
  part: Part<W, R>,
  file: W,
): { readonly values: R; readonly assumed: readonly Assumed[] } {
  const place: Place = { at: '', key: '', of: '', assumed: [], later: [] };
  const values = part.read(file, place);
  for (const work of place.later) work(values);
  return { values, assumed: place.assumed.filter((one) => one !== null) };
}
