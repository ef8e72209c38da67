import { expect, it } from 'vitest';
import { errorsPage } from './page.ts';

it('the page of errors is the table of codes', async () => {
  await expect(errorsPage()).toMatchFileSnapshot('../../ERRORS.md');
});
