// The page as it looked when somebody last judged it good: each tab on a phone, a desk, and a desk in the dark; and the
// pictures of the README among them. `npm run pictures` stores the present look: then look at it.
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { htmlOf } from '../../../src/plan/html.ts';
import { reportWith } from '../../plan/sites.ts';
import { DESK, drawn, hasBrowser, openPage, PHONE, sharedBrowser } from '../../tools/browser.ts';
import { differing, differs, isUpdating, type Tolerance, unlike } from '../../tools/looks.ts';
import { servedStation, textOfStation } from '../../tools/panel-station.ts';
import { SCENES } from '../../tools/scenes.ts';

const LONG = 300_000;
const FOLDER = 'test/panel/page/screens';
const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;

async function goTo(page: Page, place: string): Promise<void> {
  await page.evaluate((to) => {
    location.hash = to;
  }, place);
  // Proof tests have no tab of their own.
  const tab = place.startsWith('proofs') ? 'now' : place;
  await page.locator(`.top a[href="#${tab}"][aria-current=${tab === place ? 'page' : 'true'}]`).waitFor();
  await page.waitForFunction(() => document.querySelector('main .first') === null);
  if (place === 'history' || place === 'books') await page.locator('.chart canvas').first().waitFor();
  await page.evaluate(() => scrollTo(0, 0));
  await settled(page);
}

/** Two frames: what was asked for is on the screen. */
const settled = (page: Page): Promise<void> =>
  page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done()))),
  );

/** A busy computer may be a moment late with a letter or a line: what stays different is. */
async function judged(page: Page, name: string, tolerance?: Tolerance): Promise<string | null> {
  let words: string | null = null;
  for (let i = 0; i < 5; i += 1) {
    if (i > 0 || isUpdating) await page.waitForTimeout(250);
    words = unlike(`${FOLDER}/${name}.png`, await page.screenshot(), tolerance);
    if (words === null) return null;
  }
  return words;
}

describe.runIf(hasBrowser)('the page looks as it was judged good', () => {
  const browser = sharedBrowser();

  test.each(SCENES)(
    '$name: on a phone, a desk, and in the dark',
    async ({ file, faults, until, places, german = [] }) => {
      const station = await servedStation({
        ...(file === undefined ? {} : { file }),
        ...(faults === undefined ? {} : { faults }),
        station: { file: 'station.json', text: textOfStation(file) },
      });
      await until(station);
      const wrong: (string | null)[] = [];
      const judge = async (page: Page, name: string) => {
        wrong.push(await judged(page, name));
      };
      const phone = await openPage(browser, station.panel.url, PHONE);
      await drawn(phone.page);
      for (const [name, place] of Object.entries(places)) {
        await goTo(phone.page, place);
        await judge(phone.page, `${name}-phone`);
      }
      await phone.close();
      const desk = await openPage(browser, station.panel.url, DESK);
      await drawn(desk.page);
      for (const [name, place] of Object.entries(places)) {
        await goTo(desk.page, place);
        await judge(desk.page, `${name}-desk`);
        await desk.page.emulateMedia({ colorScheme: 'dark' });
        await settled(desk.page);
        await judge(desk.page, `${name}-dark`);
        await desk.page.emulateMedia({ colorScheme: 'light' });
      }
      await desk.close();
      if (german.length > 0) {
        const page = await openPage(browser, station.panel.url, { ...PHONE, locale: 'de-DE' });
        await drawn(page.page);
        await page.page.locator('html[lang=de]').waitFor();
        for (const name of german) {
          await goTo(page.page, places[name] ?? '');
          await judge(page.page, `${name}-german`);
        }
        await page.close();
      }
      await station.close();
      expect(wrong.filter((words) => words !== null)).toEqual([]);
    },
    LONG,
  );

  test(
    'the plan of a site, as a page to print',
    async () => {
      const { page, close } = await openPage(browser, 'about:blank', DESK);
      await page.setContent(htmlOf(reportWith()));
      await settled(page);
      // Its letters are the reader's own computer's: only its shape can be held.
      expect(await judged(page, 'plan-desk', { all: 0.2, place: 1 })).toBeNull();
      await close();
    },
    LONG,
  );

  test(
    'a chart that is left while the light changes does not take the colours away from the next',
    async () => {
      const station = await servedStation({
        faults: [],
        station: { file: 'station.json', text: textOfStation() },
      });
      void station.source.countSalt?.(40);
      station.run(8 * HOUR_MS);
      for (let i = 0; i < 6; i += 1) {
        const { page, close } = await openPage(browser, station.panel.url, DESK);
        await drawn(page);
        await goTo(page, 'history');
        await page.emulateMedia({ colorScheme: 'dark' });
        await settled(page);
        await Promise.all([page.emulateMedia({ colorScheme: 'light' }), goTo(page, 'books')]);
        expect(await judged(page, 'books-desk')).toBeNull();
        await close();
      }
      await station.close();
    },
    LONG,
  );

  test(
    'what is missing, moved or of another colour is noticed, be it as small as one button',
    async () => {
      const station = await servedStation({ station: { file: 'station.json', text: textOfStation() } });
      station.run(HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      await settled(page);
      const good = readFileSync(`${FOLDER}/task-desk.png`);
      await expect.poll(async () => differs(differing(good, await page.screenshot()))).toBe(false);
      for (const [what, style] of [
        ['a button is gone', '.tells .button:last-of-type { visibility: hidden }'],
        ['words are pale', '.task h3 { opacity: 0.2 }'],
        ['a panel is 4 px lower', '.aside { position: relative; top: 4px }'],
        ['the water is red', '.certain { fill: #c00 !important }'],
      ] as const) {
        // Through the debugger: the page's own policy allows no foreign style.
        await page.evaluate((text) => {
          const sheet = new CSSStyleSheet();
          sheet.replaceSync(text);
          document.adoptedStyleSheets = [sheet];
        }, style);
        await settled(page);
        const found = differing(good, await page.screenshot());
        expect(differs(found), `${what}: ${JSON.stringify({ ...found, picture: null })}`).toBe(true);
      }
      await close();
      await station.close();
    },
    LONG,
  );
});
