// The page as it looked when somebody last judged it good. UPDATE_SCREENS=1 stores the present look: then look at it.
// Letters are drawn a little differently on every computer, so a small share of the pixels may differ.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import pixelmatch from 'pixelmatch';
import type { Browser } from 'playwright-core';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { DESK, drawn, hasBrowser, openBrowser, openPage, PHONE } from '../../tools/browser.ts';
import { type PanelStation, servedStation, textOfStation } from '../../tools/panel-station.ts';

const LONG = 120_000;
const FOLDER = 'test/panel/page/screens';
/** Share of pixels that may differ by more than a shade. */
const TOLERANCE = 0.02;
const UPDATE = process.env.UPDATE_SCREENS === '1';

interface Scene {
  readonly name: string;
  readonly file?: string;
  readonly faults?: readonly string[];
  readonly place: string;
  readonly until: (station: PanelStation) => void;
}

const HOUR_MS = 3_600_000;
const salt = (station: PanelStation) => {
  station.run(3 * HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
};
const leak = { faults: ['nobody-there:all@0', 'says:tray-leak=wet@1h'] };

const SCENES: readonly Scene[] = [
  { name: 'task', place: 'now', until: salt },
  { name: 'leak', ...leak, place: 'alarms', until: (station) => station.run(HOUR_MS + 60_000) },
  { name: 'history', place: 'history', until: (station) => station.run(6 * HOUR_MS) },
  {
    name: 'one-pump',
    file: 'schemas/examples/unequal-vats.json',
    place: 'now',
    until: (station) => station.run(HOUR_MS),
  },
];
const SCREENS = [
  ['phone', PHONE],
  ['desk', DESK],
  ['dark', { ...DESK, colorScheme: 'dark' as const }],
] as const;

function differing(found: Buffer, name: string): number {
  const path = `${FOLDER}/${name}.png`;
  if (UPDATE || !existsSync(path)) {
    expect(UPDATE, `there is no ${path}: run with UPDATE_SCREENS=1 and look at it`).toBe(true);
    mkdirSync(FOLDER, { recursive: true });
    writeFileSync(path, found);
    return 0;
  }
  const [a, b] = [PNG.sync.read(readFileSync(path)), PNG.sync.read(found)];
  if (a.width !== b.width || a.height !== b.height) return 1;
  const picture = new PNG({ width: a.width, height: a.height });
  const count = pixelmatch(a.data, b.data, picture.data, a.width, a.height, { threshold: 0.2 });
  const share = count / (a.width * a.height);
  if (share > TOLERANCE) writeFileSync(`${FOLDER}/${name}.differs.png`, PNG.sync.write(picture));
  return share;
}

describe.runIf(hasBrowser)('the page looks as it was judged good', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser.close());

  test.each(SCENES)(
    '$name, on a phone, a desk, and in the dark',
    async ({ name, file, faults, place, until }) => {
      const station = await servedStation({
        ...(file === undefined ? {} : { file }),
        ...(faults === undefined ? {} : { faults }),
        station: { file: 'station.json', text: textOfStation(file) },
      });
      until(station);
      for (const [screen, options] of SCREENS) {
        const { page, close } = await openPage(browser, `${station.panel.url}/#${place}`, options);
        await drawn(page);
        if (place === 'history') await page.locator('.charts canvas').first().waitFor();
        await page.waitForTimeout(300);
        const found = await page.screenshot();
        expect(
          differing(found, `${name}-${screen}`),
          `${name}-${screen}: see ${FOLDER}/${name}-${screen}.differs.png`,
        ).toBeLessThan(TOLERANCE);
        await close();
      }
      await station.close();
    },
    LONG,
  );
});
