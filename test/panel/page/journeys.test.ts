// Whole journeys in a real browser, over a station in memory whose time runs fast.
import { describe, expect, test } from 'vitest';
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
import { servedStation } from '../../tools/panel-station.ts';

const HOUR_MS = 3_600_000;
const LONG = 300_000;

describe.runIf(hasBrowser)('in a browser', () => {
  const browser = sharedBrowser();

  test(
    'a whole batch with nothing but a phone: salt is asked for, added, confirmed, and the water stands ready',
    async () => {
      const station = await servedStation();
      const { page, complaints, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      station.run(HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
      station.pace(200);
      await page.locator('.task h3', { hasText: 'Add 11.34 kg of salt' }).waitFor();
      expect(await seen(page.locator('.answer').nth(3))).toContain('Add 11.34 kg of salt');

      await page.locator('.task').getByRole('button', { name: 'It is in' }).tap();
      const really = page.getByRole('textbox', { name: /^Really added/u });
      expect(await really.inputValue()).toBe('');
      expect(await page.getByRole('button', { name: 'Next' }).isDisabled()).toBe(true);
      await really.fill('11.34');
      await page.getByRole('button', { name: 'Less: Really added' }).tap();
      expect(await really.inputValue()).toBe('11.24');
      await page.getByRole('button', { name: 'Next' }).tap();
      await page.getByText('11.24 kg is in the Mixing vat?').waitFor();
      await page.getByRole('button', { name: 'No, change it' }).tap();
      await page.getByRole('button', { name: 'More: Really added' }).tap();
      await page.getByRole('button', { name: 'Next' }).tap();
      await page.getByRole('button', { name: 'Yes, it is in' }).tap();

      await page.getByRole('status').getByText('Dissolving').waitFor();
      await expect.poll(() => station.coupled.twin.world.ledger.productAddedKg.mixing).toBeCloseTo(11.34, 1);
      station.stop();
      const asks = () => station.coupled.state().tasks.mixing?.task === 'measure-salinity';
      expect(station.run(8 * HOUR_MS, asks)).toBe(true);
      station.pace(20);
      await page
        .locator('.task')
        .getByText('before the first delivery a second instrument must agree')
        .waitFor();
      await page.locator('.task').getByRole('button', { name: 'I measured' }).tap();
      await page.getByRole('textbox', { name: 'Name of the instrument' }).fill('refractometer');
      await page.getByRole('textbox', { name: /^It shows/u }).fill('35.0');
      await page.getByRole('button', { name: 'Next' }).tap();
      await page.getByText(/^You measured 35\.0\sPSU with refractometer: send it\?$/u).waitFor();
      await page.getByRole('button', { name: 'Yes, send it' }).tap();
      await page.getByRole('status').getByText('Noted').waitFor();
      station.stop();
      station.run(8 * HOUR_MS, () => station.coupled.state().batch.stage === 'ready');
      await page.locator('.answer').nth(1).getByText('A batch stands ready').waitFor();
      expect(station.coupled.state().batch.accepted).toBe(true);
      expect(await seen(page.locator('.timetable'))).toContain('Dissolving');
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a leak: seen at once, acknowledged, not reset while it is wet, reset when it is dry, and gone on with',
    async () => {
      const station = await servedStation({
        faults: ['nobody-there:all@0', 'says:tray-leak=wet@30min-50min'],
      });
      station.run(29 * 60_000);
      const { page, complaints, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      station.run(70_000);
      await page.locator('.answer.urgent').getByText('No: act now').waitFor();
      expect(await seen(page.locator('#target-refill .state'))).toContain('safety shutdown');
      expect(await page.title()).toMatch(/^Urgent/u);

      station.pace(20);
      await page.locator('.answer.urgent').click();
      await page
        .getByText(/^Electricity first: switch off circuits 3 and 4/u)
        .first()
        .waitFor();
      await page.getByRole('button', { name: /^Acknowledge/u }).click();
      await page.locator('.alarm.seen').getByText('Acknowledged').waitFor();

      const reset = page.getByRole('button', { name: 'Reset the safety shutdown' });
      expect(await reset.count()).toBe(0);
      await stepThrough(page.locator('.alarm').first());
      await reset.click();
      await page
        .getByRole('status')
        .getByText(/Not done.*the cause is still there/u)
        .waitFor();

      station.run(20 * 60_000);
      await page.getByText('The cause is still there:', { exact: true }).waitFor({ state: 'detached' });
      await reset.click();
      await page.getByText('No active alarms.').waitFor();
      await page.getByRole('link', { name: 'Station', exact: true }).click();
      await page.getByRole('button', { name: 'Resume all' }).click();
      await expect.poll(() => station.coupled.state().refill.procedure).toBe('running');
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'an alarm that is known is shelved with time, reason and name, counts down, and comes back when asked',
    async () => {
      const station = await servedStation({ faults: ['nobody-there:all@0', 'silent:all@10min'] });
      const alarm = () =>
        Object.entries(station.coupled.state().alarms).find(([key]) => key.startsWith('I-12/'));
      station.run(2 * HOUR_MS, () => alarm()?.[1].state === 'unacknowledged');
      const key = alarm()?.[0] ?? '';
      const { page, complaints, close } = await openPage(browser, `${station.panel.url}/#alarms`, PHONE);
      await drawn(page);
      station.pace(20);
      const card = page.locator(`#alarm-${key.replace('/', '-')}`);
      // What has the same cause lies under one card.
      const unfold = () =>
        page.evaluate(() => {
          for (const fold of document.querySelectorAll<HTMLDetailsElement>('.folded')) fold.open = true;
        });
      await unfold();
      await card.getByRole('button', { name: /^Shelve/u }).tap();
      await page.getByText('the interlock stays active', { exact: false }).first().waitFor();
      const send = page.getByRole('button', { name: 'Shelve it' });
      expect(await send.isDisabled()).toBe(true);
      await page.getByRole('radio', { name: '4 h' }).check();
      await page.getByLabel('Reason').fill('new battery ordered');
      await page.getByLabel('Your name').fill('Ada');
      await send.tap();
      await page.getByRole('status').getByText('shelved for 4 h').waitFor();
      expect(alarm()?.[1].state).toBe('shelved');
      // Out of the list of those that ask for somebody, and never out of sight.
      await page
        .locator('.alarms details summary')
        .getByText(/shelved/u)
        .click();
      await card.getByText(/Back in .*new battery ordered \(Ada\)/u).waitFor();
      await card.getByRole('button', { name: 'Unshelve' }).tap();
      await expect.poll(() => alarm()?.[1].state).not.toBe('shelved');
      await unfold();
      await card.getByRole('button', { name: /^Acknowledge/u }).waitFor();
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'two browsers agree, to the number and the word',
    async () => {
      const station = await servedStation();
      const [one, two] = [
        await openPage(browser, station.panel.url, DESK),
        await openPage(browser, station.panel.url, DESK),
      ];
      await Promise.all([drawn(one.page), drawn(two.page)]);
      station.run(40 * 60_000);
      await two.page.reload();
      await drawn(two.page);
      station.run(20 * 60_000);
      const told = async ({ page }: typeof one) => await seen(page.locator('main'));
      await expect.poll(async () => (await told(one)) === (await told(two))).toBe(true);
      expect(await told(one)).toContain('Add 11.34 kg');
      await Promise.all([one.close(), two.close()]);
      await station.close();
    },
    LONG,
  );

  test(
    'looking at everything, and loading it again and again, leaves the station as if nobody had looked',
    async () => {
      const [read, alone] = [await servedStation(), await servedStation()];
      const { page, close } = await openPage(browser, read.panel.url, DESK);
      await drawn(page);
      for (const place of ['alarms', 'history', 'books', 'what-if', 'prefer', 'now']) {
        await page.goto(`${read.panel.url}/#${place}`);
        await page.reload();
        await drawn(page);
        read.run(10 * 60_000);
        alone.run(10 * 60_000);
      }
      for (const summary of await page.locator('summary').all()) await summary.click();
      read.run(5_000);
      alone.run(5_000);
      expect(JSON.stringify(read.coupled.state())).toBe(JSON.stringify(alone.coupled.state()));
      await close();
      await Promise.all([read.close(), alone.close()]);
    },
    LONG,
  );

  test(
    'why not: every check of a route with its present inputs, live',
    async () => {
      const station = await servedStation();
      station.run(5 * 60_000);
      const { page, close } = await openPage(browser, station.panel.url, DESK);
      await drawn(page);
      const supply = page.locator('#target-supply');
      expect(await seen(supply.locator('.state'))).toContain('may not run');
      expect(await seen(supply)).toMatch(/not accepted.*I-20/su);
      expect(await seen(supply)).toContain('Ends by itself once a batch is accepted');
      const transfer = page.locator('#target-transfer');
      await transfer.locator('summary').click();
      const room = transfer.locator('.check', { hasText: 'I-03' });
      const before = await seen(room);
      expect(before).toMatch(
        /May contain, with what is still on its way: \d+\.\d L limit 310\.0 L, above it blocks/u,
      );
      station.run(3 * 60_000);
      await expect.poll(() => seen(room)).not.toBe(before);
      const checks = await transfer.locator('.check').count();
      expect(checks).toBeGreaterThan(40);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'signing in: a wrong word is refused, the right one opens; who may only look has no button to press',
    async () => {
      const password = await hashPassword('kelp grows in the dark');
      const station = await servedStation({
        people: [
          { name: 'Ada', may: 'act', password },
          { name: 'Ben', may: 'look', password },
        ],
      });
      station.run(60_000);
      const { page, complaints, close } = await openPage(browser, station.panel.url, PHONE);
      const fill = async (name: string, word: string) => {
        await page.getByLabel('Name').fill(name);
        await page.getByLabel('Password').fill(word);
        await page.getByRole('button', { name: 'Sign in' }).tap();
      };
      await page.getByLabel('Name').waitFor();
      expect(await seen(page.locator('body'))).not.toContain('Marram');
      await fill('Ben', 'something else');
      await page.getByRole('alert').getByText('wrong').waitFor();
      await fill('Ben', 'kelp grows in the dark');
      await drawn(page);
      expect(await page.getByRole('button', { name: /^Hold/u }).count()).toBe(0);
      for (const button of await page.locator('.tells button').all())
        expect(await button.isDisabled()).toBe(true);
      await page.goto(`${station.panel.url}/#prefer`);
      await page.getByRole('button', { name: 'Sign out Ben' }).tap();
      await page.getByLabel('Name').waitFor();
      expect(await seen(page.locator('body'))).not.toContain('Marram');
      await fill('Ada', 'kelp grows in the dark');
      await drawn(page);
      await page.goto(`${station.panel.url}/#now`);
      await page.getByRole('button', { name: 'Pause all' }).waitFor();
      expect(complaints).toEqual([]);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a measurement by hydrometer: the temperatures are asked for, and what it means is said before it is sent',
    async () => {
      const station = await servedStation({
        file: 'schemas/examples/one-vat.json',
        faults: ['nobody-there:all@0'],
      });
      station.run(60_000);
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      station.pace(50);
      await page.getByRole('button', { name: 'I measured' }).tap();
      await page.getByRole('radio', { name: 'Hydrometer or refractometer, SG' }).check();
      const next = page.getByRole('button', { name: 'Next' });
      expect(await page.getByRole('textbox', { name: /^It shows/u }).inputValue()).toBe('');
      await page.getByRole('textbox', { name: /^Temperature of the sample/u }).fill('25');
      await page.getByRole('textbox', { name: /reference temperature/u }).fill('25');
      await page.getByRole('textbox', { name: /^It shows/u }).fill('1,0200');
      await page.getByText(/practical salinity of 26\.\d/u).waitFor();
      await page.getByRole('textbox', { name: /^It shows/u }).fill('1.5');
      await page.getByText('A number from').waitFor();
      expect(await next.isDisabled()).toBe(true);
      await page.getByRole('textbox', { name: /^It shows/u }).fill('1.0264');
      expect(await next.isDisabled()).toBe(true);
      await page.getByRole('textbox', { name: 'Name of the instrument' }).fill('hydrometer');
      await next.tap();
      await page.getByText(/^You measured 1\.0264\sSG with hydrometer: send it\?$/u).waitFor();
      expect(station.coupled.state().salinity.mixing?.measured).toBeNull();
      await page.getByRole('button', { name: 'Yes, send it' }).tap();
      await page.getByRole('status').getByText('Noted').waitFor();
      expect(station.coupled.state().salinity.mixing?.measured).toBeCloseTo(35.03, 1);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'a vat that was salted twice: 70 PSU is taken from the page',
    async () => {
      const station = await servedStation({ faults: ['nobody-there:all@0'] });
      station.run(60_000);
      const { page, close } = await openPage(browser, station.panel.url, PHONE);
      await drawn(page);
      station.pace(50);
      await page.getByRole('button', { name: 'I measured' }).tap();
      await page.getByRole('textbox', { name: /^It shows/u }).fill('70');
      await page.getByRole('textbox', { name: 'Name of the instrument' }).fill('refractometer');
      await page.getByRole('button', { name: 'Next' }).tap();
      await page.getByRole('button', { name: 'Yes, send it' }).tap();
      await page.getByRole('status').getByText('Noted').waitFor();
      expect(station.coupled.state().salinity.mixing?.measured).toBe(70);
      await close();
      await station.close();
    },
    LONG,
  );

  test(
    'German and gallons: no English word of the page is left, and numbers are the same water',
    async () => {
      const station = await servedStation();
      station.run(2 * HOUR_MS, () => station.coupled.state().tasks.mixing !== null);
      const { page, close } = await openPage(browser, station.panel.url, { ...DESK, locale: 'de-DE' });
      await drawn(page);
      await page.getByText('Was ist zu tun?').waitFor();
      await page.locator('.task').getByText('11,34 kg Meersalz langsam zugeben').waitFor();
      const words = await seen(page.locator('body'));
      expect(words).not.toMatch(/\b(the|is|with|since|float|checks|waiting|hold)\b/iu);
      await page.goto(`${station.panel.url}/#prefer`);
      await page.getByRole('radio', { name: 'US-Gallonen' }).check();
      await page.getByRole('radio', { name: /^Relative Dichte/u }).check();
      await page.goto(`${station.panel.url}/#now`);
      const litres = station.coupled.state().vessels.mixing?.leastL ?? 0;
      const gallons = (litres / 3.785411784).toFixed(0);
      await page
        .locator('section.vessel', { hasText: 'Mischbehälter' })
        .getByText(new RegExp(`${gallons}.*gal`, 'u'))
        .first()
        .waitFor();
      await close();
      await station.close();
    },
    LONG,
  );
});
