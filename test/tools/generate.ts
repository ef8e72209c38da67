// Types from a schema, so that what the code believes about a file is what its schema says.
import { readFileSync } from 'node:fs';
import { compile, type JSONSchema } from 'json-schema-to-typescript';

/** @param name of the schema in the folder `schemas` */
export async function typesOf(name: string, title: string): Promise<string> {
  const schema = JSON.parse(
    readFileSync(new URL(`../../schemas/${name}`, import.meta.url), 'utf8'),
    // The generator knows tuples only as drafts before 2020-12 wrote them.
    (key, value) =>
      key !== '$schema' && value?.prefixItems !== undefined
        ? { ...value, items: value.prefixItems, prefixItems: undefined }
        : value,
  ) as JSONSchema;
  return await compile(schema, title, {
    additionalProperties: false,
    bannerComment: `// Generated from schemas/${name} by \`npm run generate\`: change the schema, not this file.`,
    style: { singleQuote: true, printWidth: 110 },
  });
}
