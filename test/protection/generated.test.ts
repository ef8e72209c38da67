import { describe, expect, it } from 'vitest';
import { protectionOf } from '../../src/protection/report.ts';
import { textOf } from '../../src/protection/text.ts';
import { PLANTS } from './stations.ts';

describe('The protection report as text', () => {
  it.each(PLANTS)('of %s is the one that is kept', async (name, plant) => {
    await expect(textOf(protectionOf(plant))).toMatchFileSnapshot(`kept/${name}.txt`);
  });
});
