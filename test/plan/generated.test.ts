import { expect, it } from 'vitest';
import { siteSchema } from '../../src/plan/file/site.ts';

it('The schema of a site file is the one that the declaration prints', async () => {
  const schema = `${JSON.stringify(siteSchema(), null, 2)}\n`;
  await expect(schema).toMatchFileSnapshot('../../schemas/site.schema.json');
});
