// The hand-over page of commissioning on a telephone.
import { describe, expect, it } from 'vitest';
import { hasBrowser, PHONE, sharedBrowser } from '../../tools/browser.ts';
import { html } from '../../tools/hand-over.ts';

describe.runIf(hasBrowser)('on a telephone', () => {
  const browser = sharedBrowser();
  it('nothing is wider than the screen', async () => {
    const context = await browser.newContext(PHONE);
    const page = await context.newPage();
    await page.setContent(html);
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(390);
    await context.close();
  });
});
