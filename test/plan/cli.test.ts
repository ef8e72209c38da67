import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Comparison } from '../../src/plan/compare.ts';
import { htmlOf } from '../../src/plan/html.ts';
import { reportOf } from '../../src/plan/plan.ts';
import type { Report } from '../../src/plan/report.ts';
import { badDay } from '../../src/plan/sections/bad-day.ts';
import { textOf } from '../../src/plan/text.ts';
import { cli } from '../tools/cli.ts';
import { designWith, fileWith, MARRAM, UNEQUAL, valueIn } from './sites.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'plan-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function run(...args: string[]): Promise<{ code: number | null; out: string; err: string }> {
  const started = cli(['plan', ...args]);
  try {
    return { code: await started.code, out: started.out(), err: started.err() };
  } finally {
    await started.close();
  }
}

const inFolder = (name: string) => join(folder, name);

// Each is a process of its own, and the machine may be busy.
const SLOW = { timeout: 120_000 };

/** What the command adds to every report: the bad day, by the core. */
const printed = () => reportOf(designWith(), [badDay(designWith(), false)]);

describe('vatwarden plan', SLOW, () => {
  it('prints the report and ends with 0, warnings or not', async () => {
    expect(await run(MARRAM)).toEqual({ code: 0, out: textOf(printed()), err: '' });
  });

  it('--html writes the page beside it', async () => {
    const { code } = await run(MARRAM, '--html', inFolder('plan.html'));
    expect(code).toBe(0);
    expect(readFileSync(inFolder('plan.html'), 'utf8')).toBe(htmlOf(printed()));
  });

  it('--json prints the same report as data', async () => {
    const { code, out } = await run(MARRAM, '--json');
    expect(code).toBe(0);
    expect(JSON.parse(out)).toEqual(JSON.parse(JSON.stringify(printed())));
  });

  it('--station writes a station that check takes with 0, strict or not', async () => {
    const file = inFolder('station.json');
    expect((await run(MARRAM, '--station', file)).code).toBe(0);
    const checked = cli(['check', '--strict', file]);
    expect(await checked.code, checked.out() + checked.err()).toBe(0);
    expect(checked.out()).toContain('0 errors, 0 warnings');
  });

  it('--station of a plan that moves no water gives the report, then 2 and the reason, and writes no station', async () => {
    const site = inFolder('high.site.json');
    writeFileSync(
      site,
      JSON.stringify(
        fileWith((file) => {
          file.supply.outlet = '9 m';
        }),
      ),
    );
    const { code, err, out } = await run(site, '--station', inFolder('none.json'));
    expect(code).toBe(2);
    expect(err).toContain("the supply pump can't reach the system (P-08)");
    expect(out).toContain('These parts make no station file yet');
    expect(() => readFileSync(inFolder('none.json'))).toThrow(/ENOENT/);
  });

  it('--compare prints two plans side by side, and --html and --json do so too', async () => {
    const { code, out } = await run('--compare', MARRAM, UNEQUAL, '--html', inFolder('both.html'), '--json');
    expect(code).toBe(0);
    const both = JSON.parse(out) as Comparison;
    expect([both.a.id, both.b.id]).toEqual(['marram-point', 'marram-point-unequal']);
    expect(readFileSync(inFolder('both.html'), 'utf8')).toContain('<h1>Two plans side by side</h1>');
    const text = await run('--compare', MARRAM, UNEQUAL);
    expect(text.out).toMatch(/^Two plans: A Marram Point/u);
  });

  it('--simulate adds the days it ran, tells its progress on standard error, and repeats itself with its seed', async () => {
    const one = await run(MARRAM, '--simulate', '2', '--seed', '5', '--json');
    expect(one.code).toBe(0);
    expect(one.err).toMatch(/plan: 2 of 2 d simulated, \d+\.\d d\/s\n$/u);
    const report = JSON.parse(one.out) as Report;
    expect(valueIn(report, 'year', 'seed')).toBe(5);
    expect(report.sections.at(-1)?.says[0]).toContain('--simulate 2 --seed 5');
    expect((await run(MARRAM, '--simulate', '2', '--seed', '5', '--json')).out).toBe(one.out);
  });
});

describe('vatwarden plan refuses, with 2 and one line for each slip,', SLOW, () => {
  it.each([
    ['no file at all', [], 'name a site file'],
    ['a file that is not there', ['nowhere.json'], "can't be read: nowhere.json"],
    [
      'a slip in the file',
      ['schemas/examples/invalid-site/recovery-above-one.json'],
      'recovery-above-one.json:60:5 /purifier/recovery: found "150 %"',
    ],
    ['one file to compare', ['--compare', MARRAM], '--compare takes two site files'],
    ['three files to compare', ['--compare', MARRAM, UNEQUAL, MARRAM], '--compare takes two site files'],
    [
      'a comparison that shall make a station',
      ['--compare', MARRAM, UNEQUAL, '--station', 'x.json'],
      'for one site',
    ],
    ['half a day', [MARRAM, '--simulate', '0.5'], 'a whole number from 1 to 3660'],
    ['a seed in words', [MARRAM, '--seed', 'luck'], 'a whole number from 0'],
    [
      'a folder that is not there',
      [MARRAM, '--html', 'no/such/folder/plan.html'],
      "can't be written: no/such/folder/plan.html",
    ],
  ] as const)('%s', async (_, args, phrase) => {
    const { code, err } = await run(...args);
    expect(code).toBe(2);
    expect(err).toContain(phrase);
    expect(err).not.toMatch(/at .*\.js:\d+/u);
  });
});
