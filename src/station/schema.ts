// Schemas, compiled once. Their formats call the same reader that the compilers of the files use.
import { readFileSync } from 'node:fs';
import { Ajv2020, type ErrorObject, type ValidateFunction } from 'ajv/dist/2020.js';
import { FORMATS, isQuantityFormat, readStation } from './quantities.ts';

export interface SchemaNode {
  readonly [key: string]: unknown;
}

export interface Schema {
  /** What ajv finds, raw: several entries for one mistake. `schema-mistakes.ts` makes sentences of them. */
  readonly errorsOf: (value: unknown) => readonly ErrorObject[];
  /** What a reference inside the schema stands for. */
  readonly definition: (reference: string) => SchemaNode | undefined;
}

/**
 * A schema is compiled to be used on one file, or on a few requests: tightening the code that comes out of it took longer
 * than all that it is ever run for (0.21 s of a start against 0.11 s). That the schemas are ones is a test's to say.
 */
export const COMPILED_FAST = { code: { optimize: false }, validateSchema: false } as const;

const ajv = new Ajv2020({
  ...COMPILED_FAST,
  allErrors: true,
  discriminator: true,
  verbose: true,
  allowUnionTypes: true,
});
// An empty pointer is the whole payload; leaving `at` out says that in one way instead of two.
ajv.addFormat('json-pointer', /^(?:\/(?:[^/~]|~[01])*)+$/u);
for (const format of Object.keys(FORMATS)) {
  ajv.addFormat(format, (text) => {
    if (!isQuantityFormat(format)) return true;
    try {
      readStation(text, format);
      return true;
    } catch {
      return false;
    }
  });
}

/** A schema of the folder `schemas`, by its file name; compiled when it is first asked, for that takes a while. */
export function compiledSchema(name: string): Schema {
  const schema = JSON.parse(
    readFileSync(new URL(`../../schemas/${name}`, import.meta.url), 'utf8'),
  ) as SchemaNode & { readonly $defs: Readonly<Record<string, SchemaNode>> };
  let compiled: ValidateFunction | null = null;
  return {
    errorsOf: (value) => {
      compiled ??= ajv.compile(schema);
      return compiled(value) ? [] : (compiled.errors ?? []);
    },
    definition: (reference) => schema.$defs[reference.replace('#/$defs/', '')],
  };
}

export const STATION_SCHEMA = compiledSchema('station.schema.json');

/** What ajv finds in a station file. */
export const schemaErrors = STATION_SCHEMA.errorsOf;
