// A real browser for the tests of the page. CHROMIUM names another one than the usual place; where CI is set a missing
// browser is a failure, elsewhere the tests that need it are skipped.
import { existsSync } from 'node:fs';
import { type Browser, type BrowserContextOptions, chromium, type Locator, type Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';

const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';
export const hasBrowser = existsSync(CHROMIUM);
if (!hasBrowser && process.env.CI !== undefined) throw new Error(`there is no browser at ${CHROMIUM}`);
if (!hasBrowser)
  console.warn(`NOTICE: there is no browser at ${CHROMIUM}; the tests of the page are skipped`);

function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** One for all tests of a group; opened before the first of them and closed behind the last. */
export function sharedBrowser(): Pick<Browser, 'newContext'> {
  let browser: Browser | null = null;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());
  return {
    newContext: (options) => {
      if (browser === null) throw new Error('no test has begun: the browser is not open yet');
      return browser.newContext(options);
    },
  };
}

export const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, locale: 'en-GB' } as const;
export const DESK = { viewport: { width: 1280, height: 900 }, locale: 'en-GB' } as const;

/** What a person reads there, with plain spaces. */
export async function seen(place: Locator): Promise<string> {
  return (await place.innerText()).replace(/\s+/gu, ' ');
}

export interface Opened {
  readonly page: Page;
  /** What the browser complained about: refused scripts and styles, errors nobody caught. */
  readonly complaints: readonly string[];
  readonly close: () => Promise<void>;
}

export async function openPage(
  browser: Pick<Browser, 'newContext'>,
  url: string,
  options: BrowserContextOptions = DESK,
): Promise<Opened> {
  const context = await browser.newContext({ reducedMotion: 'reduce', ...options });
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('pageerror', ({ message }) => complaints.push(message));
  page.on('console', (message) => {
    // A refused connection is what some tests are about.
    if (message.type() === 'error' && !/ERR_CONNECTION|ERR_INCOMPLETE|401|403|429/u.test(message.text()))
      complaints.push(message.text());
  });
  page.setDefaultTimeout(120_000);
  await page.goto(url);
  return { page, complaints, close: () => context.close() };
}

/** Walks through the steps of an alarm's card, as somebody who does each of them. */
export async function stepThrough(card: Locator): Promise<void> {
  const next = card.locator('.next-step');
  const control = next
    .locator('input[type=checkbox]')
    .or(next.getByRole('button', { name: 'Next', exact: true }));
  for (let i = 0; i < 12 && (await control.count()) > 0; i += 1) await control.click();
}

/** Waits until the station is on the screen. */
export async function drawn(page: Page): Promise<void> {
  await page.waitForSelector('main#view');
  await page.evaluate(() => document.fonts.ready);
}
