// What somebody gets who installs the packed release into an empty folder: `npm pack`, the tarball and its production
// dependencies (the locked ones, so that no network is needed where `npm ci` has just been), a tree that nobody may
// write, another user than its owner, and `npx vatwarden`.
import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { installedIn, isRoot, NOBODY, packedInto, ROOT, ran } from '../tools/packed.ts';

if (!isRoot) console.warn('NOTICE: not root; the packed release is tried as this user instead of as nobody');

const json = (file: string) => JSON.parse(readFileSync(join(ROOT, file), 'utf8'));

describe('the packed release in an empty folder', () => {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-package-'));
  const app = join(directory, 'empty');
  let tarball = '';

  const npx = (args: readonly string[], cwd = app) =>
    spawnSync('npx', ['--offline', '--no', '--', 'vatwarden', ...args], {
      cwd,
      encoding: 'utf8',
      timeout: 120_000,
      ...(isRoot ? { uid: NOBODY, gid: NOBODY } : {}),
      // A home that is not there: nothing may be needed of it.
      env: { PATH: process.env.PATH, HOME: join(directory, 'nowhere'), npm_config_update_notifier: 'false' },
    });
  const listing = (): string[] => readdirSync(app, { recursive: true, encoding: 'utf8' }).toSorted();

  beforeAll(() => {
    chmodSync(directory, 0o755);
    mkdirSync(app);
    tarball = packedInto(directory);
    const { name, version, dependencies, optionalDependencies, bin, engines, overrides } =
      json('package.json');
    const own = { [name]: `file:../${tarball}` };
    const locked = Object.entries<{ dev?: true }>(json('package-lock.json').packages).filter(
      ([path, { dev }]) => path !== '' && dev !== true,
    );
    const packages = {
      '': { dependencies: own },
      [`node_modules/${name}`]: {
        version,
        resolved: own[name],
        dependencies,
        optionalDependencies,
        bin,
        engines,
      },
      ...Object.fromEntries(locked),
    };
    writeFileSync(join(app, 'package.json'), JSON.stringify({ private: true, dependencies: own, overrides }));
    writeFileSync(
      join(app, 'package-lock.json'),
      JSON.stringify({ lockfileVersion: 3, requires: true, packages }),
    );
    installedIn(app);
    ran('chmod', ['-R', 'a-w,a+rX', app], directory);
  });

  afterAll(() => {
    ran('chmod', ['-R', 'u+w', directory], tmpdir());
    rmSync(directory, { recursive: true, force: true });
  });

  it('is small, and holds what the commands need and nothing of the workshop', () => {
    expect(statSync(join(directory, tarball)).size / 1e6).toBeLessThan(3);
    const files = ran('tar', ['-tzf', join(directory, tarball)], directory)
      .trim()
      .split('\n');
    const top = [...new Set(files.map((file) => file.split('/')[1] ?? ''))].toSorted();
    expect(top).toEqual([
      ...['CHANGELOG.md', 'ERRORS.md', 'LICENCES.md', 'LICENSE', 'README.md'],
      ...['dist', 'package.json', 'schemas'],
    ]);
    // What is in it is what runs: no source, no test, no map, no file that only the workshop reads.
    expect(files.filter((file) => /\.(map|tsx?)$|\/(test|src|docker|invalid.*)\//u.test(file))).toEqual([]);
  });

  it('npx vatwarden demo --once: a full cycle, exit code 0, as nobody, and not a file more in the tree', () => {
    const before = listing();
    const { status, stdout, stderr } = npx(['demo', '--once']);
    expect([status, stderr]).toEqual([0, expect.stringMatching(/^Listen along: \S+, topics \S+\n$/u)]);
    expect(stdout).toContain('Good: nothing spilled');
    expect(listing()).toEqual(before);
  });

  it('could not have written there: the tree is read-only for whoever runs it', () => {
    const who = isRoot ? { uid: NOBODY, gid: NOBODY } : {};
    const touched = spawnSync('touch', [join(app, 'node_modules/vatwarden/one')], {
      encoding: 'utf8',
      ...who,
    });
    expect([touched.status, touched.stderr]).toEqual([1, expect.stringContaining('ermission denied')]);
  });

  it('keeps a journal where it may write, and tells it back', () => {
    const state = join(directory, 'state');
    mkdirSync(state, { mode: 0o777 });
    chmodSync(state, 0o777);
    expect(npx(['demo', '--once', '--json', '--state', state]).status).toBe(0);
    const told = npx(['replay', join(state, 'journal', 'journal.db')]);
    expect([told.status, told.stderr]).toEqual([0, '']);
    expect(told.stdout.length).toBeGreaterThan(0);
  });
});
