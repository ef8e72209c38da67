// How fast, and how dear: each figure is measured here and printed, and held by what it is measured against in the same
// moment, so that a slow or a busy computer does not count. What was promised in milliseconds is held where MEASURED is set:
// `npm run measure -- page`, on a computer that does nothing else.
import { fork } from 'node:child_process';
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance as clock, monitorEventLoopDelay } from 'node:perf_hooks';
import { gzipSync } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { DESK, drawn, hasBrowser, PHONE, sharedBrowser } from '../../tools/browser.ts';
import { middle } from '../../tools/given-time.ts';
import { longPast } from '../../tools/long-journal.ts';
import { servedStation } from '../../tools/panel-station.ts';

const LONG = 300_000;
const MINUTE_MS = 60_000;

const MEASURED_MS = 3_000;
const holdsMilliseconds = process.env.MEASURED !== undefined;

/** What a page works until the station is on the screen, by a known piece of work in that throttled page. */
const DRAWN_BY_WORK = 3;
/** A year of minutes is read from a thousand times as much as a day, and drawn with as many points. */
const YEAR_BY_DAY = 5;
/** Twenty pages, by what the station's own steps cost meanwhile. */
const PAGES_BY_STEPS = 4;

const figure = (words: string): void => console.info(`measured: ${words}`);

test('everything that the page can ever load is less than 170 kB, compressed', () => {
  const folder = 'dist/panel/page/assets';
  const files = readdirSync(folder).filter((name) => !/\.(?:gz|br)$/u.test(name));
  const bytes = (name: string) =>
    name.endsWith('.woff2')
      ? statSync(join(folder, name)).size
      : gzipSync(readFileSync(join(folder, name)), { level: 9 }).length;
  // Letters beyond western Europe come only where a name has them.
  const usual = files.filter((name) => !name.includes('latin-ext'));
  const sum = usual.reduce((all, name) => all + bytes(name), 0);
  const code = usual.filter((name) => !name.endsWith('.woff2')).reduce((all, name) => all + bytes(name), 0);
  figure(
    `${(sum / 1000).toFixed(1)} kB in all, ${(code / 1000).toFixed(1)} kB of it code, words and styles (gzip)`,
  );
  expect(sum).toBeLessThan(170_000);
});

describe.runIf(hasBrowser)('in a browser', () => {
  const browser = sharedBrowser();

  test(
    'until the station is drawn on a phone the page works no more than a few known pieces of work',
    async () => {
      const station = await servedStation();
      station.run(3 * 3_600_000, () => station.coupled.state().tasks.mixing !== null);
      const paints: number[] = [];
      const sights: number[] = [];
      const ratios: number[] = [];
      for (let i = 0; i < 3; i += 1) {
        const context = await browser.newContext(PHONE);
        const page = await context.newPage();
        const debug = await context.newCDPSession(page);
        await debug.send('Emulation.setCPUThrottlingRate', { rate: 4 });
        await debug.send('Performance.enable');
        await page.goto(station.panel.url);
        await drawn(page);
        const { metrics } = await debug.send('Performance.getMetrics');
        const workedS = metrics.find(({ name }) => name === 'TaskDuration')?.value ?? Number.NaN;
        const [paint, sight] = await page.evaluate(() => [
          performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Number.NaN,
          performance.getEntriesByName('station-drawn')[0]?.startTime ?? Number.NaN,
        ]);
        paints.push(paint ?? Number.NaN);
        sights.push(sight ?? Number.NaN);
        ratios.push((1_000 * workedS) / (await page.evaluate(knownWork)));
        await context.close();
      }
      figure(
        `first paint ${middle(paints).toFixed(0)} ms, the station drawn ${middle(sights).toFixed(0)} ms, at a quarter of the speed; work of ${ratios.map((ratio) => ratio.toFixed(2)).join(', ')} known pieces`,
      );
      expect(Math.min(...ratios)).toBeLessThan(DRAWN_BY_WORK);
      if (holdsMilliseconds) {
        expect(Math.min(...paints)).toBeLessThan(1_000);
        expect(Math.min(...sights)).toBeLessThan(2_500);
      }
      await station.close();
    },
    LONG,
  );

  test(
    'a year of minutes opens not much later than a day of them',
    async () => {
      const year = await servedStation();
      year.run(10 * MINUTE_MS);
      const { samples } = longPast(year.journal.file, year.source.now().atMs - 10 * MINUTE_MS);
      figure(`a year in ${samples} values`);
      const context = await browser.newContext(DESK);
      const page = await context.newPage();
      await page.goto(`${year.panel.url}/#history`);
      await page.locator('.charts[data-days="1"] canvas').first().waitFor();
      // From the click to what is painted, by the browser's own clock.
      const opened = (choice: string, days: number): Promise<number> =>
        page.evaluate(
          async ([label, length]) => {
            const choices = [...document.querySelectorAll<HTMLInputElement>('input[type=radio]')];
            const clickedMs = performance.now();
            choices.find((one) => one.parentElement?.textContent === label)?.click();
            const isThere = () => document.querySelector(`.charts[data-days="${length}"] canvas`) !== null;
            while (!isThere()) await new Promise((done) => setTimeout(done, 4));
            await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
            return performance.now() - clickedMs;
          },
          [choice, days] as const,
        );
      const tookMs: number[] = [];
      const dayMs: number[] = [];
      for (let i = 0; i < 5; i += 1) {
        tookMs.push(await opened('Year', 366));
        dayMs.push(await opened('Day', 1));
      }
      await opened('Year', 366);
      // The page keeps nothing of one time for the next; what else this computer does it can't answer for.
      const leastMs = Math.min(...tookMs);
      figure(
        `the year opens in ${tookMs.map((ms) => ms.toFixed(0)).join(', ')} ms, a day in ${dayMs.map((ms) => ms.toFixed(0)).join(', ')} ms`,
      );
      expect(leastMs / Math.min(...dayMs)).toBeLessThan(YEAR_BY_DAY);
      if (holdsMilliseconds) expect(leastMs).toBeLessThan(1_500);
      const most = await page.locator('.chart').first().innerText();
      expect(most).toContain('Fresh vat');
      await context.close();
      await year.close();
    },
    LONG,
  );
});

test(
  'twenty open pages cost the control loop nothing that can be measured',
  async () => {
    const station = await servedStation();
    station.run(3 * 3_600_000, () => station.coupled.state().tasks.mixing !== null);
    // Two steps a second: faster than any real station speaks, so that every push has something to tell.
    station.pace(10);
    await load(1_000);
    const alone = await load(MEASURED_MS);
    const watchers = await watch(station.panel.url, 20);
    await expect.poll(() => station.panel.pages(), { timeout: 120_000 }).toBe(20);
    const watched = await load(MEASURED_MS);
    const read = await watchers.stop();
    figure(
      `processor ${alone.busy.toFixed(2)} % without and ${watched.busy.toFixed(2)} % with 20 pages; late by ${alone.usuallyLateMs.toFixed(2)} and ${watched.usuallyLateMs.toFixed(2)} ms on the average, ${alone.lateMs.toFixed(1)} and ${watched.lateMs.toFixed(1)} ms in the worst of a hundred turns; each page read ${(read / 20 / MEASURED_MS).toFixed(1)} kB/s`,
    );
    expect((watched.busy - alone.busy) / alone.busy).toBeLessThan(PAGES_BY_STEPS);
    if (holdsMilliseconds) {
      expect(watched.busy - alone.busy).toBeLessThan(4);
      // The latest of a hundred turns belongs to whatever else this computer does.
      expect(watched.usuallyLateMs - alone.usuallyLateMs).toBeLessThan(3);
    }
    expect(read).toBeGreaterThan(20 * 500);
    await station.close();
  },
  LONG,
);

/** In the page: words, a tree of elements, and where each of them lies. How long that took there, ms. */
function knownWork(): number {
  const beganMs = performance.now();
  const room = document.createElement('div');
  for (let nth = 0; nth < 6_000; nth += 1) {
    const one = document.createElement('p');
    one.textContent = `${nth} ${Math.sqrt(nth).toFixed(3)}`.repeat(4);
    room.append(one);
  }
  document.body.append(room);
  room.getBoundingClientRect();
  room.remove();
  return performance.now() - beganMs;
}

/**
 * How much of one processor this process uses, %, and by how much its turns come late. Its own time, not the wall's: what
 * else runs on this computer is not the page's doing. Of two stretches the less disturbed one counts.
 */
async function load(forMs: number): Promise<{ busy: number; lateMs: number; usuallyLateMs: number }> {
  const stretches = [await stretch(forMs / 2), await stretch(forMs / 2)];
  const least = (of: 'busy' | 'lateMs' | 'usuallyLateMs') => Math.min(...stretches.map((one) => one[of]));
  return { busy: least('busy'), lateMs: least('lateMs'), usuallyLateMs: least('usuallyLateMs') };
}

async function stretch(forMs: number) {
  const delay = monitorEventLoopDelay({ resolution: 5 });
  const [before, beganMs] = [process.cpuUsage(), clock.now()];
  delay.enable();
  await new Promise((done) => setTimeout(done, forMs));
  delay.disable();
  const { user, system } = process.cpuUsage(before);
  return {
    busy: (100 * (user + system)) / 1_000 / (clock.now() - beganMs),
    lateMs: delay.percentile(99) / 1e6 - 5,
    usuallyLateMs: delay.mean / 1e6 - 5,
  };
}

/** Pages in another process, as they are in life. */
async function watch(url: string, count: number): Promise<{ stop: () => Promise<number> }> {
  const script = join(tmpdir(), `watchers-${process.pid}.mjs`);
  writeFileSync(script, WATCHERS);
  const child = fork(script, [url, String(count)]);
  await new Promise((ready) => child.once('message', ready));
  return {
    stop: () =>
      new Promise((done) => {
        child.once('message', (read) => {
          child.kill();
          done(Number(read));
        });
        child.send('stop');
      }),
  };
}

const WATCHERS = `
import { get } from 'node:http';
const [url, count] = [process.argv[2], Number(process.argv[3])];
const me = await fetch(url + '/api/me');
const cookie = me.headers.get('set-cookie').split(';')[0];
let read = 0;
let open = 0;
for (let i = 0; i < count; i += 1)
  get(url + '/api/live', { headers: { cookie } }, (response) => {
    open += 1;
    response.on('data', (part) => { read += part.length; });
    if (open === count) process.send('open');
  });
process.on('message', () => process.send(read));
`;
