// Proof tests and bypasses in a real browser, as the person does them who stands before the vat with a phone.
import { describe, expect, test } from 'vitest';
import { provenBefore } from '../../../src/control/guard/proof-tests.ts';
import { hashPassword } from '../../../src/panel/people.ts';
import {
  DESK,
  drawn,
  hasBrowser,
  openPage,
  PHONE,
  seen,
  sharedBrowser,
  stepThrough,
} from '../../tools/browser.ts';
import { type PanelStation, servedStation } from '../../tools/panel-station.ts';

const MINUTE_MS = 60_000;
const DAY_MS = 24 * 60 * MINUTE_MS;
const LONG = 300_000;
/** Every step is one that the test makes, so that the hand comes to the float in time however busy the computer is. */
const STEP_MS = 5_000;

/** Steps on until the test that was begun on the page is where it ought to be. */
async function until(station: PanelStation, phase: string | undefined): Promise<void> {
  const { coupled } = station;
  await expect
    .poll(
      () => {
        station.run(STEP_MS);
        return coupled.state().proofs.test?.phase;
      },
      { interval: 200, timeout: 120_000 },
    )
    .toBe(phase);
}

/** The last proof tests were so long ago. */
const untried = ({ coupled }: PanelStation, days: number) =>
  coupled.adopt((state) => provenBefore(coupled.plant, state, days * DAY_MS, {}));

describe.runIf(hasBrowser)('in a browser', () => {
  const browser = sharedBrowser();

  test(
    'a proof test from a phone: the overdue float is lifted, the row answers, the float goes back, the trip is reset',
    async () => {
      const station = await servedStation({
        faults: ['nobody-there:all@0', 'says:fresh-overflow=wet@14min-15min'],
      });
      station.run(9 * MINUTE_MS);
      untried(station, 91);
      station.run(MINUTE_MS);
      const { page, complaints, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      await page.locator('.task h3', { hasText: '17 proof tests are overdue' }).waitFor();
      await page.getByRole('link', { name: 'Proof tests', exact: true }).tap();
      await page.getByRole('heading', { name: 'Overdue', exact: true }).waitFor();
      const row = page.locator('.proof-list a[href="#proofs/I-02%2Ffresh"]');
      expect(await seen(row)).toContain('Overdue by 1 d');
      await row.tap();
      await page.getByText('lift the overflow float of the Fresh vat by hand').waitFor();
      expect(await page.evaluate(() => scrollY)).toBe(0);
      expect(await seen(page.locator('.proofs .caution'))).toContain('not cut off from the mains');
      await page.getByLabel('Your name').fill('Ada');
      await page.getByRole('button', { name: 'Begin', exact: true }).tap();

      await until(station, 'waiting');
      const told = page.locator('.proofs [aria-live]');
      await told.getByText('Now: With nothing running, lift the overflow float').waitFor();
      expect(await seen(page.locator('.proofs'))).toMatch(/Waiting for \d+ s, 5 min at most.*By Ada\./u);
      expect(station.coupled.state().routes.refill?.running).toBe('no');
      await until(station, 'returning');
      await told.getByText(/It answered after \d+\ss/u).waitFor();
      await told.getByText(/let .* return, and see that it does/u).waitFor();
      await until(station, undefined);
      await page.getByRole('status').getByText('Passed', { exact: true }).waitFor();
      await page.getByText('It has shut down, as it should').waitFor();

      // What a reload shows is the service's, not this page's.
      await page.reload();
      await page.getByText('Passed', { exact: true }).waitFor();
      station.pace(20);
      await page.getByRole('link', { name: 'To the reset' }).tap();
      const reset = page.getByRole('button', { name: 'Reset the safety shutdown' });
      await page.locator('.next-step').first().waitFor();
      await stepThrough(page.locator('.alarm').first());
      await reset.tap();
      await expect.poll(() => Object.keys(station.coupled.state().trips)).toEqual([]);
      await page.goto(`${station.panel.url}/#proofs/I-02%2Ffresh`);
      await page.getByRole('link', { name: /^Next: /u }).waitFor();
      await page.getByRole('link', { name: 'All proof tests' }).tap();
      await page.getByRole('heading', { name: 'Tested in time' }).waitFor();
      expect(await seen(row)).toMatch(/Due in .*Last: passed, \d\d:\d\d, Ada/u);
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a glued float: failed is said so, and one press takes it out of service; another test is ended without a result',
    async () => {
      const station = await servedStation();
      station.run(10 * MINUTE_MS);
      const { page, complaints, close } = await openPage(
        browser,
        `${station.panel.url}/#proofs/I-02%2Ffresh`,
        PHONE,
      );
      await drawn(page);
      const begin = page.getByRole('button', { name: 'Begin', exact: true });
      await begin.tap();
      await until(station, 'waiting');
      await page.goto(`${station.panel.url}/#proofs/I-11%2Ftray-leak`);
      await page.getByRole('link', { name: /^First finish: / }).tap();
      station.run(4 * MINUTE_MS);
      await until(station, undefined);
      await page.getByRole('status').getByText('Failed', { exact: true }).waitFor();
      await page.locator('.outcome').getByText('it is stuck, or was not moved').waitFor();
      expect(await seen(page.locator('.outcome'))).toContain('somebody at the station');
      const right = page.locator('.answer').first();
      expect(await seen(right)).toContain('Attention needed today');
      station.pace(20);
      await page.getByRole('button', { name: /^Take out of service: / }).tap();
      await expect.poll(() => station.coupled.state().outOfService['fresh-overflow']).toContain('proof test');
      // Out of service it protects nothing: that stays said until a test is passed.
      await expect.poll(() => seen(right)).toContain('The proof test of I-02/fresh failed');

      await page.goto(`${station.panel.url}/#proofs/I-11%2Ftray-leak`);
      await begin.tap();
      await page.getByRole('button', { name: 'End without a result' }).tap();
      await page.getByText('Ended without a result', { exact: true }).waitFor();
      expect(station.coupled.state().proofs.test).toBeNull();
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a bypass: only beside the row that may have one, seen on every view with the time left, and ended there',
    async () => {
      const password = await hashPassword('kelp grows in the dark');
      const station = await servedStation({
        faults: ['nobody-there:all@0', 'silent:tray-leak@5min'],
        people: [{ name: 'Ada', may: 'act', password }],
      });
      station.run(20 * MINUTE_MS);
      const { page, complaints, close } = await openPage(browser, station.panel.url, DESK);
      await page.getByLabel('Name').fill('Ada');
      await page.getByLabel('Password').fill('kelp grows in the dark');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await drawn(page);
      station.pace(10);
      const refill = page.locator('#target-refill');
      await refill.getByText('is silent or faulty: without it nothing runs').waitFor();
      const missing = page.locator('.answer').nth(2).getByText('Readings are missing');
      await missing.waitFor();
      await refill.getByRole('button', { name: /^Bypass for a while/u }).click();
      const send = page.getByRole('button', { name: 'Bypass it' });
      expect(await send.isDisabled()).toBe(true);
      await page
        .getByText('somebody stays at the station and watches for water where the sensor lies')
        .waitFor();
      expect(await page.getByLabel('Your name').count()).toBe(0);
      await page.getByRole('radio', { name: '15 min' }).check();
      await page.getByLabel('Reason').fill('flat battery');
      await send.click();

      const strip = page.locator('.bypassed');
      await strip.getByText(/This interlock is OFF, 1[345]\smin left/u).waitFor();
      expect(await seen(strip)).toContain('By Ada: flat battery.');
      expect(await seen(refill)).toMatch(/This interlock is OFF, 1[345] min left: By Ada: flat battery\./u);
      await refill.locator('.state').getByText('may not run').waitFor({ state: 'detached' });
      await missing.waitFor({ state: 'detached' });
      for (const place of ['alarms', 'proofs', 'history', 'prefer']) {
        await page.goto(`${station.panel.url}/#${place}`);
        expect(await seen(strip), place).toContain('flat battery');
      }
      await strip.getByRole('button', { name: /^End it now/u }).click();
      await strip.waitFor({ state: 'detached' });
      expect(station.coupled.state().bypasses).toEqual({});
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );
});
