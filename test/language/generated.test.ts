import { expect, it } from 'vitest';
import en from '../../src/language/en.json' with { type: 'json' };
import { placesOf } from '../tools/places.ts';

it('The places of the sentences are those that the English catalogue generates', async () => {
  await expect(placesOf(en)).toMatchFileSnapshot('../../src/language/places.generated.ts');
});
