// WCAG 2.2 AA as far as a machine can see it: axe-core on every view, in light and dark, at rest and in trouble; sizes from
// 320 to 2560 px without sideways scrolling; targets large enough; everything by keyboard. What only a person can judge is
// in manual-list.md beside this file.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { hashPassword } from '../../../src/panel/people.ts';
import { DESK, drawn, hasBrowser, openPage, PHONE, sharedBrowser } from '../../tools/browser.ts';
import { servedStation, textOfStation } from '../../tools/panel-station.ts';

const LONG = 300_000;
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const PLACES = ['now', 'alarms', 'proofs', 'history', 'books', 'what-if', 'prefer'] as const;

interface Found {
  readonly id: string;
  readonly help: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary: string }[];
}

/** Everything in the light; in the dark only what colours can change. */
async function violations(page: Page): Promise<string[]> {
  const light = await run(page, { type: 'tag', values: TAGS });
  await page.emulateMedia({ colorScheme: 'dark' });
  const dark = await run(page, { type: 'rule', values: ['color-contrast'] });
  await page.emulateMedia({ colorScheme: 'light' });
  return [...light, ...dark.map((one) => `in the dark, ${one}`)];
}

async function run(
  page: Page,
  only: { readonly type: string; readonly values: string[] },
): Promise<string[]> {
  // Evaluated by the browser's debugger, not by the page: its policy allows no foreign script.
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(AXE);
  const found = await page.evaluate(async (runOnly) => {
    const { axe } = window as unknown as {
      axe: { run: (of: Document, how: object) => Promise<{ violations: Found[] }> };
    };
    return (await axe.run(document, { runOnly })).violations;
  }, only);
  return found.flatMap(({ id, help, nodes }) =>
    nodes.map(
      ({ html, failureSummary }) => `${id}: ${help}: ${html.slice(0, 160)} | ${failureSummary.slice(0, 300)}`,
    ),
  );
}

async function goTo(page: Page, url: string, place: string): Promise<void> {
  await page.goto(`${url}/#${place}`);
  await drawn(page);
  await page.waitForFunction(() => document.querySelector('main .first') === null);
}

describe.runIf(hasBrowser)('for everybody', () => {
  const browser = sharedBrowser();

  test(
    'axe finds nothing on any view, light and dark, with a task waiting',
    async () => {
      const station = await servedStation({ station: { file: 'station.json', text: textOfStation() } });
      station.run(3 * 3_600_000, () => station.coupled.state().tasks.mixing !== null);
      for (const screen of [DESK, PHONE]) {
        const { page, close } = await openPage(browser, station.panel.url, screen);
        for (const place of PLACES) {
          await goTo(page, station.panel.url, place);
          expect(await violations(page), place).toEqual([]);
        }
        if (screen === DESK) {
          await close();
          continue;
        }
        await goTo(page, station.panel.url, 'now');
        for (const summary of await page.locator('summary').all()) await summary.click();
        expect(await violations(page), 'all checks open').toEqual([]);
        for (const name of ['It is in', 'I measured', 'Water change now', 'I work on a device']) {
          await page.getByRole('button', { name, exact: true }).click();
          expect(await violations(page), name).toEqual([]);
          await page.keyboard.press('Escape');
        }
        await close();
      }
      await station.close();
    },
    LONG,
  );

  test(
    'axe finds nothing on a proof test before, while and after it, with a check bypassed, light and dark',
    async () => {
      const station = await servedStation({ faults: ['nobody-there:all@0', 'silent:tray-leak@5min'] });
      const { source, coupled } = station;
      const row = 'I-02/fresh';
      station.run(20 * 60_000);
      const known = { minutes: 60, reason: 'flat battery', who: 'Ada' };
      void source.request({ ask: 'bypass', row: 'I-13/tray-leak', ...known });
      station.run(60_000);
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      const look = async (what: string, words: string) => {
        await goTo(page, station.panel.url, `proofs/${encodeURIComponent(row)}`);
        await page.getByText(words).first().waitFor();
        for (const colorScheme of ['light', 'dark'] as const) {
          await page.emulateMedia({ colorScheme });
          expect(await violations(page), `${what}, ${colorScheme}`).toEqual([]);
        }
      };
      await look('before', 'Switched off while it lasts');
      void source.request({ ask: 'proof-test', row, who: 'Ada' });
      expect(station.run(600_000, () => coupled.state().proofs.test?.phase === 'waiting')).toBe(true);
      await look('while', 'Waiting for');
      expect(station.run(600_000, () => coupled.state().proofs.test === null)).toBe(true);
      await look('after', 'Failed');
      await goTo(page, station.panel.url, 'now');
      await page.getByText('Proof test failed').first().waitFor();
      expect(await violations(page), 'station').toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'axe finds nothing in trouble either, light and dark: a leak, a story, a dead link, a dead service',
    async () => {
      const station = await servedStation({ faults: ['nobody-there:all@0', 'says:tray-leak=wet@1h'] });
      station.run(3_600_000 + 120_000);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      for (const place of ['now', 'alarms', 'history']) {
        await goTo(page, station.panel.url, place);
        expect(await violations(page), place).toEqual([]);
      }
      await page.locator('.incident-list a').first().click();
      await page.locator('#story-head').waitFor();
      expect(await violations(page), 'story').toEqual([]);
      await goTo(page, station.panel.url, 'now');
      station.coupled.setLink(false);
      station.run(5_000);
      await page.locator('.cut.link').waitFor();
      expect(await violations(page), 'no link').toEqual([]);
      await station.panel.close();
      await page.locator('.cut.service').waitFor();
      // What is pale is the past, and pale on purpose; what says so must still be legible.
      const faded = (one: string) => one.includes('color-contrast') && !one.includes('class="cut');
      expect((await violations(page)).filter((one) => !faded(one))).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'axe finds nothing at the sign-in',
    async () => {
      const password = await hashPassword('kelp grows in the dark');
      const station = await servedStation({ people: [{ name: 'Ada', may: 'act', password }] });
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      await page.getByLabel('Name').waitFor();
      expect(await violations(page)).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test.each([
    'schemas/examples/marram-point.json',
    'schemas/examples/one-vat.json',
    'schemas/examples/unequal-vats.json',
    'test/stations/bench-rig.json',
  ])(
    '%s: from 320 to 2560 px nothing has to be scrolled sideways, in both languages',
    async (file) => {
      const station = await servedStation({ file, station: { file, text: textOfStation(file) } });
      station.run(30 * 60_000);
      for (const locale of ['en-GB', 'de-DE']) {
        const { page, close } = await openPage(browser, station.panel.url, { ...DESK, locale });
        // Another plumbing is drawn on the first view alone.
        for (const place of file.includes('marram') ? PLACES : (['now'] as const)) {
          await goTo(page, station.panel.url, place);
          for (const width of [320, 360, 390, 600, 768, 1024, 1280, 1920, 2560]) {
            await page.setViewportSize({ width, height: 900 });
            await page.waitForFunction((wide) => innerWidth === wide, width);
            const needed = await page.evaluate(
              () =>
                new Promise<number>((done) =>
                  requestAnimationFrame(() => done(document.documentElement.scrollWidth)),
                ),
            );
            expect(needed, `${place} at ${width} px, ${locale}`).toBeLessThanOrEqual(width);
          }
        }
        await close();
      }
      await station.close();
    },
    LONG,
  );

  test(
    'every target is at least 24 px either way (WCAG 2.5.8), and what a wet thumb must hit at least 44',
    async () => {
      const station = await servedStation();
      station.run(3 * 3_600_000, () => station.coupled.state().tasks.mixing !== null);
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      await page.getByRole('button', { name: 'It is in' }).click();
      const small = async (selector: string, leastPx: number) =>
        page.locator(selector).evaluateAll(
          (all, least) =>
            all
              .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent }))
              // Links inside a sentence may be as high as its line.
              .filter(({ box }) => box.width > 0 && (box.width < least || box.height < least))
              .map(({ box, text }) => `${text}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`),
          leastPx,
        );
      expect(await small('dialog button, dialog input', 44)).toEqual([]);
      await page.keyboard.press('Escape');
      expect(await small('button, .top nav a, .answer', 44)).toEqual([]);
      expect(await small('summary', 24)).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'by keyboard alone: skip to the station, open a dialog, stay inside it, leave it, and be where one was',
    async () => {
      const station = await servedStation();
      station.run(3 * 3_600_000, () => station.coupled.state().tasks.mixing !== null);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      const focused = () => page.evaluate(() => document.activeElement?.textContent?.trim() ?? '');
      await page.keyboard.press('Tab');
      expect(await focused()).toBe('Skip to the station');
      await page.keyboard.press('Enter');
      expect(await page.evaluate(() => document.activeElement?.id)).toBe('view');
      const button = page.getByRole('button', { name: 'It is in' });
      await button.focus();
      const outline = await button.evaluate((one) => getComputedStyle(one).outlineStyle);
      expect(outline).toBe('solid');
      await page.keyboard.press('Enter');
      await page.locator('dialog[open]').waitFor();
      for (let i = 0; i < 12; i += 1) {
        await page.keyboard.press('Tab');
        const inside = await page.evaluate(
          () =>
            document.activeElement?.closest('dialog') !== null || document.activeElement === document.body,
        );
        expect(inside).toBe(true);
      }
      await page.keyboard.press('Escape');
      await page.locator('dialog').waitFor({ state: 'detached' });
      expect(await focused()).toBe('It is in');
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'who wants less motion gets none',
    async () => {
      const station = await servedStation();
      for (const reducedMotion of ['reduce', 'no-preference'] as const) {
        const { page, close } = await openPage(browser, station.panel.url, { ...DESK, reducedMotion });
        await drawn(page);
        const behaviour = await page.evaluate(
          () => getComputedStyle(document.documentElement).scrollBehavior,
        );
        expect(behaviour).toBe(reducedMotion === 'reduce' ? 'auto' : 'smooth');
        const moving = await page.evaluate(() => document.getAnimations().length);
        expect(moving).toBe(0);
        await close();
      }
      await station.close();
    },
    LONG,
  );
});
