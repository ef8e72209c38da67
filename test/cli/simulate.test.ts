import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { type AddressInfo, createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Aedes } from 'aedes';
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const BENCH = join(root, 'test/stations/bench-rig.json');

let folder: string;
let broker: Aedes;
let server: Server;
let url: string;
let service: MqttClient;

/** The commands as they are shipped, in a process of their own: `npm test` builds them first. */
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'vatwarden-simulate-'));
  broker = await Aedes.createBroker();
  server = createServer({ noDelay: true }, broker.handle);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`;
  service = await mqtt.connectAsync(url, { protocolVersion: 4 });
  service.on('message', (_, payload) => {
    const { step } = JSON.parse(payload.toString());
    service.publish('vatwarden/bench-rig/time/done', JSON.stringify({ step }), { qos: 1 });
  });
  await service.subscribeAsync('vatwarden/bench-rig/time', { qos: 1 });
  service.publish('vatwarden/bench-rig/online', 'online', { qos: 1, retain: true });
});

afterAll(async () => {
  await service?.endAsync(true);
  await new Promise<void>((resolve) => (broker === undefined ? resolve() : broker.close(() => resolve())));
  server?.close();
  rmSync(folder, { recursive: true, force: true });
});

interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

function vatwarden(
  args: readonly string[],
  whileRuns: (child: ChildProcess) => unknown = () => {},
): Promise<Ended> {
  const child = spawn(process.execPath, [join(root, 'dist/cli/main.js'), ...args], { timeout: 120_000 });
  let out = '';
  let err = '';
  child.stdout.on('data', (data) => {
    out += data;
  });
  child.stderr.on('data', (data) => {
    err += data;
  });
  whileRuns(child);
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, out, err })));
}

const simulate = (...args: string[]) =>
  vatwarden(['simulate', BENCH, '--broker', url, '--mqtt', '3.1.1', ...args]);

describe('vatwarden simulate', () => {
  it('runs for as long as asked and prints the verdict as JSON, with 1 where the day was not good', async () => {
    const { code, out, err } = await simulate('--for', '10 min', '--seed', '4', '--json');
    expect(err).toBe('');
    expect(code).toBe(1);
    expect(JSON.parse(out)).toMatchObject({
      station: 'bench-rig',
      seed: 4,
      elapsedMs: 600_000,
      ok: false,
      found: ['no delivery to a system was completed'],
    });
  });

  it('prints a ledger to read, faults and their harm included', async () => {
    const { code, out } = await simulate(
      '--for',
      '10 min',
      '--fault',
      'stuck-on:master@10',
      '--fault',
      'stuck-on:fill@20',
    );
    expect(code).toBe(1);
    expect(out).toContain('bench-rig, seed 1, 0 h 10 min of station time');
    expect(out).toMatch(/ - fresh ran over: \d+\.\d L on the floor/u);
  });

  it.each(['SIGINT', 'SIGTERM'] as const)('prints the ledger of what was when it gets %s', async (signal) => {
    const args = ['simulate', BENCH, '--broker', url, '--mqtt', '3.1.1', '--realtime', '--for', '10 min'];
    const { code, out } = await vatwarden(args, async (child) => {
      const listener = await mqtt.connectAsync(url, { protocolVersion: 4 });
      listener.on('message', (_topic, _payload, { retain }) => {
        if (!retain) child.kill(signal);
      });
      await listener.subscribeAsync('rig/fill/state', { qos: 1 });
      child.on('close', () => listener.end(true));
    });
    expect(code).toBe(1);
    expect(out).toMatch(/bench-rig, seed 1, 0 h 0 min/u);
    expect(out).toContain('Not good:');
  });

  it.each<[string, string[], string]>([
    [
      'a fault that is none',
      ['--fault', 'stuck-on:moon@0'],
      "'moon' is not actuator of this station; there are",
    ],
    ['a length of time without a unit', ['--for', '10'], "'10' has no unit"],
    ['a seed that is no number', ['--seed', 'x'], 'Give a whole number'],
    ['a protocol that there is not', ['--mqtt', '4'], 'Allowed choices are 5, 3.1.1'],
  ])('refuses %s and says what would do', async (_, args, words) => {
    const { code, err } = await simulate(...args);
    expect(code).toBe(2);
    expect(err).toContain(words);
  });

  it('refuses a broker without MQTT 5 by name instead of falling back', async () => {
    const { code, err } = await vatwarden(['simulate', BENCH, '--broker', url]);
    expect(code).toBe(3);
    expect(err).toContain('--mqtt 3.1.1');
  });

  it('refuses a station file that is missing or wrong, with the place', async () => {
    const wrong = join(folder, 'wrong.json');
    writeFileSync(wrong, '{"format": 2}');
    expect(await vatwarden(['simulate', wrong, '--broker', url])).toMatchObject({
      code: 2,
      err: expect.stringContaining("the station file can't be used"),
    });
    const gone = await vatwarden(['simulate', join(folder, 'gone.json'), '--broker', url]);
    expect(gone.code).toBe(2);
    expect(gone.err).toContain('gone.json');
  });

  it('lists every kind of fault in its help', async () => {
    const { out } = await vatwarden(['simulate', '--help']);
    for (const kind of ['stuck-on:actuator', 'siphon:route=...', 'nobody-there:all'])
      expect(out).toContain(kind);
  });
});
