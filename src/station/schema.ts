// Schemas, compiled once. Their formats call the same reader that the compilers of the files use.
import { Ajv2020, type ErrorObject, type ValidateFunction } from 'ajv/dist/2020.js';
import type { JsonSchema } from './file/declare.ts';
import { stationSchema } from './file/station.ts';
import { FORMATS, isQuantityFormat, readStation } from './quantities.ts';

export interface Schema {
  /** What ajv finds, raw: several entries for one mistake. `schema-mistakes.ts` makes sentences of them. */
  readonly errorsOf: (value: unknown) => readonly ErrorObject[];
  /** What a reference inside the schema stands for. */
  readonly definition: (reference: string) => JsonSchema | undefined;
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

/** Compiled when it is first asked, for that takes a while. */
export function compiledSchema(declared: () => JsonSchema): Schema {
  let schema: JsonSchema | null = null;
  let compiled: ValidateFunction | null = null;
  const whole = () => {
    schema ??= declared();
    return schema;
  };
  return {
    errorsOf: (value) => {
      compiled ??= ajv.compile(whole());
      return compiled(value) ? [] : (compiled.errors ?? []);
    },
    definition: (reference) =>
      (whole().$defs as Readonly<Record<string, JsonSchema>> | undefined)?.[
        reference.replace('#/$defs/', '')
      ],
  };
}

export const STATION_SCHEMA = compiledSchema(stationSchema);

/** What ajv finds in a station file. */
export const schemaErrors = STATION_SCHEMA.errorsOf;
