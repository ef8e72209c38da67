// The file system of the image, built by hand: what `npm pack` ships, the production dependencies of the lock file, owned by
// somebody else, not writable; and the service in it, as nobody, on a broker set up as shipped.
import { type ChildProcess, spawn } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  existsSync,
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
import { until } from '../bridge/rig.ts';
import { OBSERVER, type Site, startSite } from '../hub/site.ts';
import { loaded, stationFile } from '../hub/stations.ts';
import { freePort, hasMosquitto } from '../tools/brokers.ts';
import { installedIn, isRoot, NOBODY, packedInto, ROOT, ran } from '../tools/packed.ts';

if (!isRoot) console.warn('NOTICE: not root; the service is not tried as another user');

describe.runIf(isRoot && hasMosquitto)('the service in a tree that it can not write', () => {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-root-'));
  const app = join(directory, 'app');
  const state = join(directory, 'state');
  const secrets = join(directory, 'secrets');
  const { plant, station } = loaded(stationFile('one-vat'));
  const service = `vatwarden-${plant.id}`;
  let site: Site;

  beforeAll(async () => {
    chmodSync(directory, 0o755);
    for (const folder of [app, state, secrets]) mkdirSync(folder);
    const tarball = packedInto(directory);
    ran('tar', ['-xzf', join(directory, tarball), '--strip-components=1', '-C', app], directory);
    for (const file of ['package-lock.json', '.npmrc']) cpSync(join(ROOT, file), join(app, file));
    installedIn(app);
    // The same line that the image is made smaller with.
    const cleaning = /^RUN (find node_modules .*)$/mu.exec(
      readFileSync(join(ROOT, 'docker/Dockerfile'), 'utf8'),
    )?.[1];
    ran('sh', ['-c', cleaning ?? 'exit 9'], app);
    ran('chmod', ['-R', 'a-w,a+rX', app], directory);
    ran('chown', ['-R', `${NOBODY}:${NOBODY}`, state], directory);
    site = await startSite({ plant, station });
    for (const name of [service, `${service}-homie`])
      writeFileSync(join(secrets, name), `${site.account(name).password}\n`);
    ran('chown', ['-R', `${NOBODY}:${NOBODY}`, secrets], directory);
    ran('chmod', ['-R', 'go-rwx', secrets], directory);
  });

  afterAll(async () => {
    await site?.close();
    rmSync(directory, { recursive: true, force: true });
  });

  const asNobody = (...args: readonly string[]): ChildProcess & { readonly output: string[] } => {
    const child = spawn(process.execPath, [join(app, 'dist/cli/main.js'), ...args], {
      cwd: '/',
      uid: NOBODY,
      gid: NOBODY,
      env: { PATH: process.env.PATH, NODE_ENV: 'production' },
    });
    const output: string[] = [];
    for (const stream of [child.stdout, child.stderr])
      stream?.on('data', (chunk) => output.push(String(chunk)));
    return Object.assign(child, { output });
  };
  const listing = (folder: string): string[] =>
    readdirSync(folder, { recursive: true, encoding: 'utf8' }).toSorted();

  it('has no development dependency in it, and less than 110 MB', () => {
    const { devDependencies } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
    // The types of the language's library are one of a dependency's dependencies.
    for (const name of Object.keys(devDependencies).filter((one) => one !== '@types/node'))
      expect([name, existsSync(join(app, 'node_modules', name))]).toEqual([name, false]);
    const bytes = listing(app).reduce((sum, name) => sum + statSync(join(app, name)).size, 0);
    expect(bytes / 1e6).toBeLessThan(110);
  });

  it('answers a question as nobody', async () => {
    const child = asNobody('check', join(app, 'schemas/examples/one-vat.json'), '--json');
    const status = await new Promise((resolve) => child.once('exit', resolve));
    expect([status, JSON.parse(child.output.join('')).ok]).toEqual([0, true]);
  });

  it('runs, shows itself to hubs, says that it is well, remembers, leaves in order, and writes nowhere else', async () => {
    const before = listing(app);
    const port = await freePort();
    const child = asNobody(
      'run',
      join(app, 'schemas/examples/one-vat.json'),
      '--broker',
      `mqtt://127.0.0.1:${site.port}`,
      '--username',
      service,
      '--password-file',
      join(secrets, service),
      '--state',
      state,
      '--homie',
      '--homie-username',
      `${service}-homie`,
      '--homie-password-file',
      join(secrets, `${service}-homie`),
      '--observe',
      String(port),
    );
    try {
      const eye = await site.as(OBSERVER);
      const heard = new Map<string, string>();
      eye.on('message', (topic, payload) => heard.set(topic, payload.toString()));
      await eye.subscribeAsync('#', { qos: 1 });
      await until(
        () => heard.get(`homie/5/${plant.id}/$state`) === 'ready',
        `ready; it said ${child.output.join('')}`,
        300_000,
      );
      const health = await fetch(`http://127.0.0.1:${port}/healthz`);
      expect([health.status, await health.json()]).toEqual([200, { ok: true, troubles: [] }]);
      expect((await fetch(`http://127.0.0.1:${port}/readyz`)).status).toBe(200);
      expect(await (await fetch(`http://127.0.0.1:${port}/metrics`)).text()).toContain(
        'vatwarden_link_proven',
      );
      const ended = new Promise((resolve) => child.once('exit', resolve));
      child.kill('SIGTERM');
      // Nothing confirms that it is off: there are no devices.
      expect(await ended).toBe(1);
      expect(heard.get(`homie/5/${plant.id}/$state`)).toBe('disconnected');
      expect(heard.get(`vatwarden/${plant.id}/online`)).toBe('offline');
      expect(listing(state)).toEqual(expect.arrayContaining(['announced.json', 'state.json']));
      expect(listing(app)).toEqual(before);
    } finally {
      if (child.exitCode === null) child.kill('SIGKILL');
    }
  });

  it('ends with 2 and the mend where a companion can not start', async () => {
    const child = asNobody(
      'run',
      join(app, 'schemas/examples/one-vat.json'),
      '--broker',
      `mqtt://127.0.0.1:${site.port}`,
      '--username',
      service,
      '--password-file',
      join(secrets, service),
      '--observe',
      String(site.port),
    );
    const status = await new Promise((resolve) => child.once('exit', resolve));
    expect([status, child.output.join('')]).toEqual([2, expect.stringContaining('E-501')]);
  });
});
