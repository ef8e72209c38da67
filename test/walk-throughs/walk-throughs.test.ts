// The walk-throughs of DEVELOPERS.md as real changes: each patch is applied to a copy of the tree, compiled, and run.
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it, vi } from 'vitest';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

interface Walk {
  readonly patch: string;
  /** The call that shows the change, and what it must print that it did not print before. */
  readonly call: readonly string[];
  readonly prints: RegExp;
  /** Sensors that Marram Point has as well; it is `station.json` then. */
  readonly sensors?: Readonly<Record<string, object>>;
  /** Tests that the patch brings along, or that hold what it makes: each title is that of one. */
  readonly tests?: { readonly files: readonly string[]; readonly titles: readonly string[] };
}

// Each compiles the whole program, beside whatever else this computer does.
vi.setConfig({ testTimeout: 120_000 });

interface Tested {
  readonly message: string;
  readonly assertionResults: readonly { readonly failureMessages?: readonly string[] }[];
}

const WALKS: readonly Walk[] = [
  {
    patch: 'plan-section.patch',
    call: ['plan', join(ROOT, 'schemas/examples/marram-point.site.json')],
    prints: /^Spares\n-+\n[\s\S]*two floats/mu,
  },
  {
    patch: 'interlock-row.patch',
    call: ['check', join(ROOT, 'schemas/examples/marram-point.json')],
    prints: /I-40\/supply {2}blocks supply\n.*near freezing/u,
  },
  {
    patch: 'sensor-kind.patch',
    sensors: {
      gauge: { measures: 'pressure', vessel: 'purifier', unit: 'bar', rated: '4.1 bar', topic: 'm/gauge' },
    },
    call: ['check', 'station.json'],
    prints:
      /purified-water {2}without limit .* pressure\n[\s\S]*gauge {2}.* pressure of purifier {2}.* bar /u,
    tests: {
      files: ['test/station/rules.test.ts', 'test/station/generated.test.ts', 'test/journal/gauge.test.ts'],
      titles: ['the pressure gauge', 'rates a purifier', 'The types of a station file', 'a line at half its'],
    },
  },
];

it.each(WALKS)('$patch applies, compiles, and does what it says', ({ patch, call, prints, ...more }) => {
  const copy = mkdtempSync(join(tmpdir(), 'vatwarden-walk-'));
  const run = (command: string, ...args: readonly string[]) =>
    spawnSync(command, args, { cwd: copy, encoding: 'utf8' });
  try {
    for (const name of ['src', 'schemas', 'package.json', 'tsconfig.json'])
      cpSync(join(ROOT, name), join(copy, name), { recursive: true });
    if (more.tests !== undefined)
      for (const name of ['test/station', 'test/tools', 'vitest.config.ts'])
        cpSync(join(ROOT, name), join(copy, name), { recursive: true });
    symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'));
    const station = JSON.parse(readFileSync(join(ROOT, 'schemas/examples/marram-point.json'), 'utf8'));
    Object.assign(station.sensors, more.sensors);
    writeFileSync(join(copy, 'station.json'), JSON.stringify(station));
    const before = run(process.execPath, join(ROOT, 'dist/cli/main.js'), ...call);
    expect(before.stdout).not.toMatch(prints);
    const applied = run('git', 'apply', join(ROOT, 'test/walk-throughs', patch));
    expect([applied.status, applied.stderr]).toEqual([0, '']);
    const compiled = run('node_modules/.bin/tsc', '-p', 'src');
    expect([compiled.status, compiled.stdout]).toEqual([0, '']);
    if (readFileSync(join(ROOT, 'test/walk-throughs', patch), 'utf8').includes('+++ b/src/panel/page/')) {
      const page = run('node_modules/.bin/tsc', '-p', 'src/panel/page', '--noEmit');
      expect([page.status, page.stdout]).toEqual([0, '']);
    }
    run(process.execPath, 'src/plan/ship-charts.mjs');
    const after = run(process.execPath, 'dist/cli/main.js', ...call);
    expect([after.status, after.stderr]).toEqual([0, '']);
    expect(after.stdout).toMatch(prints);
    if (more.tests !== undefined) {
      const { files, titles } = more.tests;
      const args = ['run', '--reporter=json', '--maxWorkers=1', ...files, '-t', titles.join('|')];
      const { numPassedTests, testResults } = JSON.parse(run('node_modules/.bin/vitest', ...args).stdout);
      const failed = testResults.flatMap((file: Tested) => [
        file.message,
        ...file.assertionResults.flatMap(({ failureMessages }) => failureMessages ?? []),
      ]);
      expect([failed.join(''), numPassedTests]).toEqual(['', titles.length]);
    }
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
});
