// The help teaches by example, so the examples are what is tested: each one is run as it stands, in one folder, in the order
// of the job. Only ports are changed: to those that are free here, and to the broker of this test.
import { spawn, spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Command } from 'commander';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { wholeProgram } from '../../src/cli/program.ts';
import { hasMosquitto, mosquitto } from '../tools/brokers.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const MAIN = join(ROOT, 'dist/cli/main.js');

const program = await wholeProgram();
const helpOf = (command: Command): string => {
  let text = '';
  command.configureOutput({
    writeOut: (words) => {
      text += words;
    },
  });
  command.outputHelp();
  return text;
};
const examplesIn = (help: string): readonly string[] =>
  [...help.matchAll(/^ {2}\$ (.*)$/gmu)].map(([, line]) => line ?? '');
const help = new Map(program.commands.map((command) => [command.name(), helpOf(command)]));
/** After what makes the files that they read. */
const FIRST = [
  'vatwarden example one-vat',
  'vatwarden example marram-point.site',
  'vatwarden run',
  'vatwarden demo',
];
const order = (line: string): number => {
  const place = FIRST.findIndex((start) => line.startsWith(start));
  return place < 0 ? FIRST.length : place;
};
const all = [...help.values()].flatMap(examplesIn).toSorted((a, b) => order(a) - order(b));

describe('help', () => {
  it.each(program.commands.map((command) => [command.name(), command] as const))(
    '%s says what it does, ends with examples and exit codes, and asks no more than it documents',
    (name, command) => {
      const text = help.get(name) ?? '';
      expect(examplesIn(text).length).toBeGreaterThanOrEqual(1);
      expect(text).toMatch(/Exit code 0: /u);
      expect(command.summary() || command.description()).toMatch(/^[A-Z][a-z]+s /u);
      for (const { description, long } of command.options) expect(description, long ?? '').not.toBe('');
    },
  );

  it('lists the commands in the order of the job, each with a group', () => {
    const text = helpOf(program);
    const names = program.commands.map((command) => command.name());
    const places = names.map((name) => text.search(new RegExp(`^ {2}${name} `, 'mu')));
    expect(places).toEqual(places.toSorted((a, b) => a - b));
    expect(text).toMatch(/Draw up a station:[\s\S]*Try it dry:[\s\S]*Run it:[\s\S]*This program:/u);
  });
});

describe.runIf(hasMosquitto)('every example of the help', () => {
  let folder = '';
  let broker: Awaited<ReturnType<typeof mosquitto>>;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'vatwarden-help-'));
    const program = join(folder, 'vatwarden');
    writeFileSync(program, `#!/bin/sh\nexec '${process.execPath}' '${MAIN}' "$@"\n`);
    chmodSync(program, 0o755);
    const other = join(ROOT, 'schemas/examples/marram-point-unequal.site.json');
    writeFileSync(join(folder, 'other.json'), readFileSync(other));
    writeFileSync(
      join(folder, 'prices.csv'),
      'kind,item,price,currency\nfloat,Float switch 10 m,18.50,EUR\n',
    );
    broker = await mosquitto();
  });
  afterAll(async () => {
    await broker.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const environment = () => ({ ...process.env, PATH: `${folder}:${process.env.PATH}`, HOME: folder });
  const here = (line: string): string =>
    line
      .replace('127.0.0.1:1883', `127.0.0.1:${broker.port}`)
      .replace(/--(panel|observe) \d+/gu, '--$1 0')
      .replace(/ > ~?\/?[\w./-]+$/u, (to) => (to.includes('/') ? ' > completed' : to));

  // A demo is half a minute of work for a computer that does nothing else.
  const PATIENCE_MS = 180_000;
  it.each(all)(
    '%s',
    async (line) => {
      if (line.startsWith('vatwarden run') || line === 'vatwarden demo') return untilItRuns(here(line));
      const { status, stderr } = spawnSync('sh', ['-c', here(line)], {
        cwd: folder,
        env: environment(),
        encoding: 'utf8',
        timeout: PATIENCE_MS - 5_000,
      });
      // Five seconds are too short for a delivery, and an empty broker says nothing, nor does nobody at the keys: the answer is no, and it is an answer.
      const mayBeNo = /^vatwarden (simulate|listen|commission .*--broker)/u.test(line);
      expect([status, status === 0 ? '' : stderr]).toEqual([
        mayBeNo && status === 1 ? 1 : 0,
        expect.anything(),
      ]);
      expect(stderr).not.toMatch(/\[E-\d+\]/u);
    },
    PATIENCE_MS,
  );

  /** The service goes on until it is told to stop. */
  async function untilItRuns(line: string): Promise<void> {
    const child = spawn('sh', ['-c', `exec ${line}`], { cwd: folder, env: environment() });
    let said = '';
    for (const stream of [child.stdout, child.stderr])
      stream.on('data', (chunk) => {
        said += chunk;
      });
    const ended = new Promise<number | null>((resolve) => child.once('exit', resolve));
    try {
      for (let wait = 0; wait < 2_000 && !/link up|06:00/u.test(said); wait++)
        await new Promise((resolve) => setTimeout(resolve, 50));
      expect(said).toMatch(/link up|06:00/u);
    } finally {
      child.kill('SIGTERM');
    }
    // Nobody plays the devices here, so what was told to be off is not confirmed.
    expect([0, 1]).toContain(await ended);
  }

  it('leaves what the examples promise', () => {
    for (const name of [
      'station.json',
      'site.json',
      'state/state.json',
      'protection.html',
      'report.html',
      'client',
    ])
      expect(existsSync(join(folder, name)), name).toBe(true);
  });
});
