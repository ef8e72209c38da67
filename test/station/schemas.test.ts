// The schemas are ones. The service compiles them without asking, because asking takes longer than everything else about a
// start; so it is asked here.
import { readdirSync, readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';

const files = readdirSync('schemas').filter((name) => name.endsWith('.schema.json'));

test.each(files)('%s fits the schema of schemas', (name) => {
  const ajv = new Ajv2020({ discriminator: true, allowUnionTypes: true });
  expect(ajv.validateSchema(JSON.parse(readFileSync(`schemas/${name}`, 'utf8')))).toBe(true);
});

test('one that is none is found', () => {
  expect(new Ajv2020({ logger: false }).validateSchema({ type: 'vat' })).toBe(false);
});
