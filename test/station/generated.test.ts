import { expect, it } from 'vitest';
import { typesOf } from '../tools/generate.ts';

it('The types of a station file are those that the schema generates', async () => {
  const types = await typesOf('station.schema.json', 'StationFile');
  await expect(types).toMatchFileSnapshot('../../src/station/station.generated.ts');
});
