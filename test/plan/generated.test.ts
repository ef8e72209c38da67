import { expect, it } from 'vitest';
import { typesOf } from '../tools/generate.ts';

it('The types of a site file are those that the schema generates', async () => {
  const types = await typesOf('site.schema.json', 'SiteFile');
  await expect(types).toMatchFileSnapshot('../../src/plan/site.generated.ts');
});
