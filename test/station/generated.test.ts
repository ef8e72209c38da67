import { readFileSync } from 'node:fs';
import { compile, type JSONSchema } from 'json-schema-to-typescript';
import { expect, it } from 'vitest';

const BANNER = `// Generated from schemas/station.schema.json by \`npm run generate\`: change the schema, not this file.`;

it('The types of a station file are those that the schema generates', async () => {
  const schema = JSON.parse(
    readFileSync(new URL('../../schemas/station.schema.json', import.meta.url), 'utf8'),
    // The generator knows tuples only as drafts before 2020-12 wrote them.
    (key, value) =>
      key !== '$schema' && value?.prefixItems !== undefined
        ? { ...value, items: value.prefixItems, prefixItems: undefined }
        : value,
  ) as JSONSchema;
  const types = await compile(schema, 'StationFile', {
    additionalProperties: false,
    bannerComment: BANNER,
    style: { singleQuote: true, printWidth: 110 },
  });
  await expect(types).toMatchFileSnapshot('../../src/station/station.generated.ts');
});
