// What a person goes through by hand, as far as a machine can go through it too: everything by keyboard and where the
// focus is seen, wide letters, the own colours of whoever needs them, what a screen reader is told. manual-list.md names
// what is left.
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { DESK, drawn, hasBrowser, openPage, PHONE, seen, sharedBrowser } from '../../tools/browser.ts';
import { servedStation, textOfStation } from '../../tools/panel-station.ts';

const LONG = 300_000;
const HOUR_MS = 3_600_000;
const PLACES = ['now', 'alarms', 'proofs', 'history', 'books', 'what-if', 'prefer'] as const;

async function goTo(page: Page, place: string): Promise<void> {
  await page.evaluate((to) => {
    location.hash = to;
  }, place);
  // Proof tests have no tab of their own.
  const tab = place.startsWith('proofs') ? 'now' : place;
  await page.locator(`.top a[href="#${tab}"][aria-current=${tab === place ? 'page' : 'true'}]`).waitFor();
  await page.waitForFunction(() => document.querySelector('main .first') === null);
}

/** The station, waiting for its salt. */
async function waiting() {
  const station = await servedStation({ station: { file: 'station.json', text: textOfStation() } });
  station.run(3 * HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
  return station;
}

/** What has the focus, and whether anybody could see that it has. */
const focus = (page: Page) =>
  page.evaluate(() => {
    const at = document.activeElement;
    if (at === null || at === document.body) return null;
    // A radio button is drawn by its label.
    const shown = at.matches('.choice input') ? (at.nextElementSibling ?? at) : at;
    const box = shown.getBoundingClientRect();
    const [x, y] = [box.left + Math.min(box.width / 2, 20), box.top + Math.min(box.height / 2, 10)];
    const hit = document.elementFromPoint(x, y);
    const { outlineStyle, outlineWidth } = getComputedStyle(shown);
    return {
      name: (at.textContent || at.getAttribute('aria-label') || at.id).trim().slice(0, 60),
      top: Math.round(box.top),
      below: Math.round(innerHeight - box.bottom),
      ringed: outlineStyle === 'solid' && Number.parseFloat(outlineWidth) >= 2,
      uncovered: hit !== null && (shown.contains(hit) || hit.contains(shown) || hit === at),
    };
  });

async function press(page: Page, words: string, key = 'Enter'): Promise<void> {
  for (let i = 0; i < 60; i += 1) {
    const at = await focus(page);
    if (at?.name.startsWith(words)) return await page.keyboard.press(key);
    await page.keyboard.press('Tab');
  }
  throw new Error(`the focus never came to '${words}'`);
}

describe.runIf(hasBrowser)('gone through by hand', () => {
  const browser = sharedBrowser();

  test.each([
    ['a phone', PHONE],
    ['a desk', DESK],
  ])(
    'on %s the focus goes through every view, always ringed and never behind the bar',
    async (_, screen) => {
      const station = await waiting();
      const { page, close } = await openPage(browser, station.panel.url, screen);
      await drawn(page);
      for (const place of PLACES) {
        await goTo(page, place);
        await page.locator('main').click({ position: { x: 2, y: 2 } });
        let steps = 0;
        for (; steps < 45; steps += 1) {
          await page.keyboard.press('Tab');
          const at = await focus(page);
          if (at === null) break;
          expect(at, `${place}, step ${steps}: ${JSON.stringify(at)}`).toMatchObject({
            ringed: true,
            uncovered: true,
          });
        }
        expect(steps, place).toBeGreaterThan(place === 'alarms' ? 0 : 2);
      }
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'salt is confirmed, a leak acknowledged and reset, and everything let go on, without ever touching a mouse',
    async () => {
      const station = await servedStation({
        faults: ['nobody-there:all@0', 'says:tray-leak=wet@40min-42min'],
      });
      station.run(3 * HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      station.pace(100);
      await press(page, 'It is in');
      await page.getByRole('textbox', { name: /^Really added/u }).fill('11.34');
      await press(page, 'Next');
      await press(page, 'Yes, it is in');
      await page.getByRole('status').getByText('Dissolving').waitFor();
      station.stop();
      station.run(30 * 60_000, () => Object.keys(station.coupled.state().trips).length > 0);
      station.run(5 * 60_000);
      await page.locator('.answer.urgent').waitFor();
      station.pace(20);
      await press(page, 'Is it all right?');
      await page.locator('.next-step').waitFor();
      // The focus goes from each step to the next: nobody looks for it.
      const own = () => page.locator('.next-step :is(input[type=checkbox], button):focus');
      await press(page, 'Acknowledge');
      await page.locator('.alarm.seen').waitFor();
      for (let i = 0; i < 40 && (await own().count()) === 0; i += 1) await page.keyboard.press('Tab');
      const told = () => page.locator('.next-step').innerText();
      for (let i = 0; i < 10 && (await page.locator('.reset').count()) === 0; i += 1) {
        const before = await told();
        await page.keyboard.press('Space');
        await expect.poll(told).not.toBe(before);
        await expect.poll(() => own().count()).toBe(1);
      }
      await press(page, 'Reset the safety shutdown');
      await page.getByText('No active alarms.').waitFor();
      await press(page, 'Station');
      await press(page, 'Resume all');
      await expect.poll(() => station.coupled.state().batch.procedure).toBe('running');
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'enlarged to 400 % (320 px are left) and with wide letters and lines, no word is cut off',
    async () => {
      const station = await waiting();
      for (const locale of ['en-GB', 'de-DE']) {
        const { page, close } = await openPage(browser, station.panel.url, {
          viewport: { width: 320, height: 640 },
          locale,
        });
        await drawn(page);
        for (const spaced of [false, true]) {
          await page.evaluate((wide) => {
            const sheet = new CSSStyleSheet();
            // WCAG 1.4.12, in full.
            sheet.replaceSync(
              '* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important } p { margin-bottom: 2em !important }',
            );
            document.adoptedStyleSheets = wide ? [sheet] : [];
          }, spaced);
          for (const place of PLACES) {
            await goTo(page, place);
            const cut = await page.evaluate(() => {
              const isOwn = (one: Element) =>
                [...one.childNodes].some(
                  ({ nodeType, textContent }) => nodeType === 3 && textContent?.trim(),
                );
              return [...document.querySelectorAll('body *')]
                .filter(
                  (one) =>
                    isOwn(one) &&
                    one.closest('.visually-hidden, .compact .words, .scroll, svg, .stacks thead') === null,
                )
                .filter((one) => {
                  const box = one.getBoundingClientRect();
                  if (box.width === 0) return false;
                  const clipped =
                    getComputedStyle(one).overflow !== 'visible' && one.scrollWidth > one.clientWidth + 1;
                  return clipped || box.right > innerWidth + 1 || box.left < -1;
                })
                .map((one) => one.textContent?.trim().slice(0, 60));
            });
            expect(cut, `${place}, ${locale}, ${spaced ? 'wide' : 'as it is'}`).toEqual([]);
          }
        }
        await close();
      }
      await station.close();
    },
    LONG,
  );

  test(
    'with the colours of the person forced on the page, the place, the focus, the bars and the drawing can still be told',
    async () => {
      const station = await waiting();
      const { page, close } = await openPage(browser, station.panel.url, { ...DESK, forcedColors: 'active' });
      await drawn(page);
      const ground = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
      const painted = (selector: string, property: string) =>
        page
          .locator(selector)
          .first()
          .evaluate((one, name) => getComputedStyle(one).getPropertyValue(name), property);
      for (const [selector, property] of [
        ['.bar-filled', 'background-color'],
        ['.timetable .past .span', 'background-color'],
        ['.drawing .wall, svg .wall', 'stroke'],
        ['.button.main', 'border-top-color'],
      ] as const)
        expect(await painted(selector, property), `${selector}: ${property}`).not.toBe(ground);
      // Words lie on a plate of the ground's colour.
      for (const words of ['.button.main', '.top nav a[aria-current]', '.task h3', '.vessel h3'])
        expect(await painted(words, 'color'), words).not.toBe(ground);
      expect(await painted('.top nav a[aria-current]', 'text-decoration-line')).toBe('underline');
      await page.getByRole('button', { name: 'It is in' }).focus();
      expect(await focus(page)).toMatchObject({ ringed: true });
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a screen reader is told the station in the order of the water, each way with whether it may run and why not, and nothing of the drawing',
    async () => {
      const station = await waiting();
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      const told = await page.locator('#station').ariaSnapshot();
      const heads = [...told.matchAll(/heading "([^"]+)" \[level=3\]/gu)].map(([, name]) => name);
      expect(heads).toEqual([
        'Purifier',
        'Refill',
        'Fresh vat',
        'Transfer',
        'Mixing vat',
        'Circulation',
        'Mixing heater',
        'Supply',
        'Reef display, holding tank and sump',
        'Drain',
        'Floor drain',
      ]);
      expect(told).not.toMatch(/\b(?:img|graphics-\w+)\b/u);
      const supply = told.slice(told.indexOf('"Supply"'), told.indexOf('"Reef display'));
      expect(supply).toMatch(/may not run/u);
      expect(supply).toMatch(/not accepted/u);
      expect(supply).toMatch(/Ends by itself/u);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'that what is seen is old is told once: the seconds count where nobody is made to hear them',
    async () => {
      const station = await waiting();
      const { page, close } = await openPage(browser, station.panel.url, { ...DESK, locale: 'de-DE' });
      await drawn(page);
      expect(await page.locator('html').getAttribute('lang')).toBe('de');
      await station.panel.close();
      await page.locator('.cut.service').waitFor();
      const alert = page.locator('.cut').getByRole('alert');
      const first = await seen(alert);
      const line = await seen(page.locator('.cut'));
      await expect.poll(() => seen(page.locator('.cut')), { timeout: 120_000 }).not.toBe(line);
      expect(await seen(alert)).toBe(first);
      expect(first).not.toMatch(/\d/u);
      await close();
      await station.close();
    },
    LONG,
  );
});
