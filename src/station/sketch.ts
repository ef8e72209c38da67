// A station file with its broken parts cut out: every property may be missing, whatever is there is of the right shape.
// The rules read this, so that one broken quantity doesn't silence them about everything else.
import type { StationFile } from './file/station.ts';
import { follow, member, stepsOf } from './pointer.ts';
import type { QuantityFormat } from './quantities.ts';
import { readStation } from './quantities.ts';
import type { SchemaMistake } from './schema-mistakes.ts';

export type Partly<T> = T extends readonly unknown[]
  ? T
  : T extends object
    ? { readonly [K in keyof T]?: Partly<T[K]> }
    : T;

/** A file of any kind without what its schema refused. */
export interface Whole<T> {
  readonly file: Partly<T>;
  /** Whether the file really lacks this, and not merely has it broken or misspelt. */
  lacks(pointer: string): boolean;
  /** Whether nothing under this pointer was cut out. */
  isWhole(pointer: string): boolean;
}

export type Section = 'devices' | 'vessels' | 'routes' | 'sensors' | 'actuators' | 'heaters' | 'dosers';

export interface Sketch extends Whole<StationFile> {
  /** Every id that the file defines in a section, broken entries included. */
  ids(section: Section): readonly string[];
  has(section: Section, id: string): boolean;
}

export function sketchOf(value: unknown, mistakes: readonly SchemaMistake[]): Sketch {
  const original = isRecord(value) ? value : {};
  const section = (name: Section) => (isRecord(original[name]) ? original[name] : {});
  return {
    ...wholePartsOf<StationFile>(value, mistakes),
    ids: (name) => Object.keys(section(name)),
    // Where a whole section is missing or broken nobody knows what it was meant to hold.
    has: (name, id) => !isRecord(original[name]) || Object.hasOwn(section(name), id),
  };
}

/** Cuts out what the schema refused. */
export function wholePartsOf<T>(value: unknown, mistakes: readonly SchemaMistake[]): Whole<T> {
  const original = isRecord(value) ? value : {};
  const file = structuredClone(original);
  const spoilt = mistakes.flatMap(({ spoils, lacks }) => [...(spoils === null ? [] : [spoils]), ...lacks]);
  const gaps = mistakes.filter(({ spoils }) => spoils === null).map(({ pointer }) => pointer);
  for (const { spoils } of mistakes) if (spoils !== null) cut(file, spoils);
  return {
    file: file as Partly<T>,
    lacks: (pointer) =>
      follow(original, stepsOf(pointer)) === undefined &&
      !spoilt.some((part) => pointer === part || pointer.startsWith(`${part}/`)),
    isWhole: (pointer) =>
      ![...spoilt, ...gaps].some((part) => part === pointer || part.startsWith(`${pointer}/`) || part === ''),
  };
}

/** A quantity of the sketch in its house unit; undefined where the sketch has none. */
export function value(text: string | undefined, format: QuantityFormat): number | undefined {
  return text === undefined ? undefined : readStation(text, format);
}

/** The entries of a section that can be looked into, each with its pointer. */
export function entries<S extends Section>(sketch: Sketch, section: S) {
  type Entry = NonNullable<Partly<NonNullable<StationFile[S]>[string]>>;
  const part = (sketch.file[section] ?? {}) as Readonly<Record<string, Entry | undefined>>;
  return Object.entries(part).flatMap(([id, entry]) =>
    entry === undefined ? [] : [{ id, entry, pointer: member('', section, id) }],
  );
}

function cut(file: Record<string, unknown>, pointer: string): void {
  const keys = stepsOf(pointer);
  let parent: Record<string, unknown> = file;
  let last = keys[0];
  for (const [index, key] of keys.entries()) {
    last = key;
    const next = parent[key];
    // A list with a broken element is cut out whole: its other elements would move up and be misread.
    if (index === keys.length - 1 || !isRecord(next)) break;
    parent = next;
  }
  if (last !== undefined) delete parent[last];
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
