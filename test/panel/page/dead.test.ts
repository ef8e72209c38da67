// A page must never show the past as the present: not when the service is gone, not when it hangs, not when the station
// behind it can't be reached.
import { createServer, type Server } from 'node:net';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { startPanel } from '../../../src/panel/server.ts';
import { blackHole } from '../../tools/black-hole.ts';
import { DESK, drawn, hasBrowser, openPage, PHONE, seen, sharedBrowser } from '../../tools/browser.ts';
import { servedStation } from '../../tools/panel-station.ts';

const LONG = 300_000;
/** What was promised: within so long nobody can take the page for live. Counted in the page's own time, see `paledAfter`. */
const PROMISED_MS = 5_000;

function freePort(): Promise<number> {
  return new Promise((resolve) => {
    const server: Server = createServer().listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}

/** From now until the page says that the service is gone, ms by the turns of the page itself: a busy computer is not its doing. */
async function paledAfter(page: Page): Promise<() => Promise<number>> {
  await page.evaluate(() => {
    const counted = { turns: 0 };
    Object.assign(window, { counted });
    const timer = setInterval(() => {
      if (document.querySelector('.cut.service') === null) counted.turns += 1;
      else clearInterval(timer);
    }, 50);
  });
  return async () =>
    50 * (await page.evaluate(() => (window as unknown as { counted: { turns: number } }).counted.turns));
}

describe.runIf(hasBrowser)('what is dead looks dead', () => {
  const browser = sharedBrowser();

  test(
    'the service dies: pale within 5 s, counting, nothing can be pressed; it comes back: live again by itself',
    async () => {
      const station = await servedStation();
      station.run(60_000);
      const port = Number(new URL(station.panel.url).port);
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      expect(await page.locator('.cut.service').count()).toBe(0);
      const paled = await paledAfter(page);
      await station.panel.close();
      await page.locator('.cut.service').waitFor();
      const tookMs = await paled();
      expect(tookMs).toBeLessThan(PROMISED_MS);
      console.info(`a dead service was told after ${(tookMs / 1000).toFixed(1)} s`);

      const opacity = () => page.locator('main').evaluate((main) => Number(getComputedStyle(main).opacity));
      expect(await opacity()).toBeLessThan(0.7);
      expect(await seen(page.locator('.answer').first())).toContain("Can't tell");
      for (const button of await page.locator('main button').all())
        expect(await button.isDisabled()).toBe(true);
      const first = await seen(page.locator('.cut'));
      expect(first).toMatch(/Last seen \d+ s ago/u);
      await expect.poll(() => seen(page.locator('.cut')), { timeout: 120_000 }).not.toBe(first);

      const again = await startPanel({ source: station.source, port });
      await page.locator('.cut.service').waitFor({ state: 'detached', timeout: 15_000 });
      expect(await opacity()).toBe(1);
      await page.getByRole('button', { name: 'Pause all' }).waitFor();
      await close();
      await again.close();
      await station.close();
    },
    LONG,
  );

  test(
    'the line swallows everything and both ends call it connected: pale within 5 s all the same',
    async () => {
      const port = await freePort();
      const station = await servedStation({ port });
      const hole = await blackHole(port);
      const { page, close } = await openPage(browser, `http://127.0.0.1:${hole.port}`, DESK);
      await drawn(page);
      const paled = await paledAfter(page);
      hole.swallow();
      await page.locator('.cut.service').waitFor();
      expect(await paled()).toBeLessThan(PROMISED_MS);
      hole.restore();
      await page.locator('.cut.service').waitFor({ state: 'detached', timeout: 15_000 });
      await close();
      await hole.close();
      await station.close();
    },
    LONG,
  );

  test(
    'the station behind the service can not be reached: said in words, devices unproven, sensors silent',
    async () => {
      const station = await servedStation();
      station.run(10 * 60_000);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      station.coupled.setLink(false);
      station.run(5_000);
      await page.locator('.cut.link').waitFor();
      expect(await seen(page.locator('.cut'))).toMatch(/can't be reached.*Since \d\d:\d\d/u);
      await expect
        .poll(() => seen(page.locator('section.vessel', { hasText: 'Fresh vat' })))
        .toContain('low float silent');
      expect(await page.locator('.device.unproven').count()).toBeGreaterThan(3);
      expect(await page.locator('.device.on').count()).toBe(0);
      station.coupled.setLink(true);
      station.run(2 * 60_000);
      await page.locator('.cut.link').waitFor({ state: 'detached' });
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'the echo of the link is overdue, long before the station file gives it up: said all the same',
    async () => {
      const station = await servedStation({ simulated: false });
      station.run(10 * 60_000);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      expect(await page.locator('.cut.link').count()).toBe(0);
      const state = station.coupled.state();
      expect(station.coupled.plant.link.provenWithinMs).toBeGreaterThan(PROMISED_MS);
      station.source.observe({ ...state, link: { ...state.link, echoAgeMs: 4_000 } }, [], 250);
      await page.locator('.cut.link').getByText('Nothing comes back from the station').waitFor();
      station.source.observe(state, [], 250);
      await page.locator('.cut.link').waitFor({ state: 'detached' });
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'an answer that never comes is not taken for a yes',
    async () => {
      const station = await servedStation({ answerWithinMs: 1_000 });
      station.run(60_000);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      // The core stands still: the request is handed on and nobody answers it.
      await page.getByRole('button', { name: 'Pause all' }).click();
      await page
        .getByRole('status')
        .getByText(/Not done.*not known whether this was heard/u)
        .waitFor({ timeout: 120_000 });
      await close();
      await station.close();
    },
    LONG,
  );
});
