// The walk-throughs of DEVELOPERS.md as real changes: each patch is applied to a copy of the tree, compiled, and run.
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { textWith } from '../tools/station-text.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

interface Walk {
  readonly patch: string;
  /** The call that shows the change, and what it must print that it did not print before. */
  readonly call: readonly string[];
  readonly prints: RegExp;
  /** What the file of Marram Point says instead, or besides, by JSON Pointer; it is `station.json` then. */
  readonly otherwise?: Readonly<Record<string, unknown>>;
  /** Tests that the patch brings along, or that hold what it makes: each title is that of one. */
  readonly tests?: { readonly files: readonly string[]; readonly titles: readonly string[] };
}

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
    call: ['check', '--all', join(ROOT, 'schemas/examples/marram-point.json')],
    prints: /I-40\/supply {2}blocks supply\n.*near freezing/u,
  },
  {
    patch: 'request.patch',
    call: ['wire', join(ROOT, 'schemas/examples/marram-point.json'), '--asyncapi'],
    prints: /"note"/u,
    tests: {
      files: ['test/scenarios/scenarios.test.ts', 'test/station/generated.test.ts'],
      titles: ['note-for-whoever', 'request.schema.json is what'],
    },
  },
  {
    patch: 'sensor-kind.patch',
    otherwise: {
      '/sensors/gauge': {
        measures: 'pressure',
        vessel: 'purifier',
        unit: 'bar',
        rated: '4.1 bar',
        topic: 'm/gauge',
      },
    },
    call: ['check', 'station.json'],
    prints:
      /purified-water {2}without limit .* pressure\n[\s\S]*gauge {2}.* pressure of purifier {2}.* bar /u,
    tests: {
      files: ['test/station/generated.test.ts', 'test/journal/gauge.test.ts'],
      titles: ['station.schema.json is what', 'a line at half its'],
    },
  },
  {
    patch: 'phase.patch',
    // Nothing to warm, and little to wait for: the story is over after two hours of the station.
    otherwise: {
      '/process/temperature': undefined,
      '/process/batch/dissolve': '5 min',
      '/process/batch/settle': '2 min',
      '/process/batch/aerate': '30 min',
    },
    call: ['demo', 'station.json', '--once'],
    prints:
      /measured until it stands still .*\n(?:.*\n)*?.* goes round, open to the air .*\n[\s\S]* is ready: /u,
    tests: {
      files: [
        'test/scenarios/scenarios.test.ts',
        'test/verify/canonical.test.ts',
        'test/control/promises.test.ts',
      ],
      titles: ['batch-is-aired-first', 'aerate', "'airing' of 'batch'"],
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
      for (const name of new Set(['vitest.config.ts', 'test/tools', ...more.tests.files.map(dirname)]))
        cpSync(join(ROOT, name), join(copy, name), { recursive: true });
    symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'));
    const station = readFileSync(join(ROOT, 'schemas/examples/marram-point.json'), 'utf8');
    writeFileSync(join(copy, 'station.json'), textWith(station, more.otherwise ?? {}));
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
    // A demo says where to listen along, which differs from call to call.
    expect([after.status, after.stderr.replace(/^Listen along: .*\n/u, '')]).toEqual([0, '']);
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

it.each(WALKS)('the guide names every file that $patch touches', ({ patch }) => {
  const guide = readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8').split('\n');
  const row = guide.find((line) => line.startsWith('|') && line.includes(patch)) ?? '';
  const named = [...row.matchAll(/`([^`]+)`/gu)].map(([, name = '']) => {
    const path = name.replaceAll('.', '\\.').replaceAll('*', '[^/]*');
    return new RegExp(`(?:^|/)${path}${path.endsWith('/') ? '[^/]+' : ''}$`, 'u');
  });
  const text = readFileSync(join(ROOT, 'test/walk-throughs', patch), 'utf8');
  const touched = [...text.matchAll(/^\+\+\+ b\/(.+)$/gmu)].map(([, path = '']) => path);
  expect(touched).not.toEqual([]);
  // What `npm run generate` writes follows from what the row names.
  const chosen = touched.filter((path) => !path.endsWith('.generated.ts'));
  expect(chosen.filter((path) => !named.some((pattern) => pattern.test(path)))).toEqual([]);
});
