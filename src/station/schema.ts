// The schema, compiled once. Its formats call the same reader that the compiler uses.
import { readFileSync } from 'node:fs';
import { Ajv2020, type ErrorObject } from 'ajv/dist/2020.js';
import { FORMATS, isQuantityFormat, readStation } from './quantities.ts';

const SCHEMA = JSON.parse(
  readFileSync(new URL('../../schemas/station.schema.json', import.meta.url), 'utf8'),
) as { readonly $defs: Readonly<Record<string, SchemaNode>> };

export interface SchemaNode {
  readonly [key: string]: unknown;
}

/** What a reference inside the schema stands for. */
export function definition(reference: string): SchemaNode | undefined {
  return SCHEMA.$defs[reference.replace('#/$defs/', '')];
}

const ajv = new Ajv2020({ allErrors: true, discriminator: true, verbose: true, allowUnionTypes: true });
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

const validate = ajv.compile(SCHEMA);

/** What ajv finds, raw: several entries for one mistake. `schema-mistakes.ts` makes sentences of them. */
export function schemaErrors(value: unknown): readonly ErrorObject[] {
  return validate(value) ? [] : (validate.errors ?? []);
}
