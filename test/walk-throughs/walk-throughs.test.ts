// The walk-throughs of DEVELOPERS.md as real changes: each patch is applied to a copy of the tree, compiled, and run.
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

interface Walk {
  readonly patch: string;
  /** The call that shows the change, and what it must print that it did not print before. */
  readonly call: readonly string[];
  readonly prints: RegExp;
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
];

it.each(WALKS)('$patch applies, compiles, and does what it says', ({ patch, call, prints }) => {
  const copy = mkdtempSync(join(tmpdir(), 'vatwarden-walk-'));
  const run = (command: string, ...args: readonly string[]) =>
    spawnSync(command, args, { cwd: copy, encoding: 'utf8' });
  try {
    for (const name of ['src', 'schemas', 'package.json', 'tsconfig.json'])
      cpSync(join(ROOT, name), join(copy, name), { recursive: true });
    symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'));
    const before = spawnSync(process.execPath, [join(ROOT, 'dist/cli/main.js'), ...call], {
      encoding: 'utf8',
    });
    expect(before.stdout).not.toMatch(prints);
    const applied = run('git', 'apply', join(ROOT, 'test/walk-throughs', patch));
    expect([applied.status, applied.stderr]).toEqual([0, '']);
    const compiled = run('node_modules/.bin/tsc', '-p', 'src');
    expect([compiled.status, compiled.stdout]).toEqual([0, '']);
    run(process.execPath, 'src/plan/ship-charts.mjs');
    const after = run(process.execPath, 'dist/cli/main.js', ...call);
    expect([after.status, after.stderr]).toEqual([0, '']);
    expect(after.stdout).toMatch(prints);
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
});
