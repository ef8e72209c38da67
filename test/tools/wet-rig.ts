// Runs the built product against a wet rig that shares nothing with it: real mosquitto, real processes, real time. The
// rig's own books say what the water did. A person is played by this file: it reads the product's own requests, pours,
// and confirms. Needs VATWARDEN_RIG, the path of the rig's program; everything is ended by its process id.
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import type { Status } from '../../src/control/process/describe.ts';
import { mosquitto } from './brokers.ts';
import { waived } from './waived.ts';

export interface Books {
  readonly spilledL: Readonly<Record<'fresh' | 'mixing' | 'system', number>>;
  readonly hoseL: number;
  readonly dryS: Readonly<Record<string, number>>;
  readonly heaterDryS: number;
  readonly heaterWhileDissolvingS: number;
  readonly deliveredL: number;
  readonly deliveredOffSpecL: number;
  readonly drainedL: number;
  readonly peakL: Readonly<Record<'fresh' | 'mixing', number>>;
  readonly hottestC: number;
  readonly balanceL: number;
  readonly refusedCommands: number;
  readonly seconds: number;
}

export interface RigDay {
  readonly books: Books;
  /** Every record, alarm and answer, with the second in which it was heard. */
  readonly heard: readonly { readonly atS: number; readonly topic: string; readonly payload: string }[];
  readonly status: Status | null;
  readonly lines: string;
  readonly log: string;
  readonly tookS: number;
}

export interface RigOptions {
  readonly faults?: readonly string[];
  /** Ends as soon as this holds ... */
  readonly until?: (status: Status) => boolean;
  /** ... or after this. */
  readonly forS: number;
  /** Runs on for this long after `until` held. */
  readonly thenS?: number;
}

const STATION = 'test/stations/bench-rig.json';

export async function rigDay({ faults = [], until, forS, thenS = 0 }: RigOptions): Promise<RigDay> {
  const rig = process.env.VATWARDEN_RIG;
  if (rig === undefined) throw new Error('VATWARDEN_RIG names no rig');
  const broker = await mosquitto();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const startedMs = performance.now();
  const state = mkdtempSync(join(tmpdir(), 'vatwarden-rig-'));
  const water = spawn(
    process.execPath,
    [rig, '--broker', url, '--for', String(forS + 60), ...faults.flatMap((fault) => ['--fault', fault])],
    { stdio: ['ignore', 'pipe', 'pipe'] },
  );
  waived(STATION, state);
  const service = spawn(
    process.execPath,
    ['dist/cli/main.js', 'run', STATION, '--broker', url, '--state', state],
    {
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  const [waterSays, lines, log] = [
    collect(water, 'stdout'),
    collect(service, 'stdout'),
    collect(service, 'stderr'),
  ];
  const heard: { atS: number; topic: string; payload: string }[] = [];
  const seconds = () => (performance.now() - startedMs) / 1000;
  let status: Status | null = null;
  let doneAtS: number | null = null;
  let dipped: Dipped | null = null;
  const client = await mqtt.connectAsync(url, { protocolVersion: 5, clientId: 'person' });
  client.on('message', (topic, payload) => {
    const text = payload.toString();
    const own = topic.replace('vatwarden/bench-rig/', '');
    if (own === 'status') {
      status = JSON.parse(text) as Status;
      if (doneAtS === null && until?.(status)) doneAtS = seconds();
      return;
    }
    if (topic.startsWith('vatwarden/')) heard.push({ atS: seconds(), topic: own, payload: text });
    if (topic === 'rig/mixing/probe') dipped = JSON.parse(text) as Dipped;
    if (own.startsWith('task/') && text !== '') void help(client, JSON.parse(text), dipped);
  });
  await client.subscribeAsync('rig/mixing/probe', { qos: 1 });
  await client.subscribeAsync(
    ['status', 'task/#', 'alarm/#', 'record', 'answer'].map((own) => `vatwarden/bench-rig/${own}`),
    { qos: 1 },
  );
  try {
    while (seconds() < forS && (doneAtS === null || seconds() < doneAtS + thenS)) {
      if (service.exitCode !== null) throw new Error(`the service ended with ${service.exitCode}: ${log()}`);
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
    await end(service);
    await end(water);
  } finally {
    await client.endAsync(true);
    await end(service);
    await end(water);
    await broker.close();
  }
  const books = JSON.parse(waterSays().trim().split('\n').at(-1) ?? 'null') as Books;
  return { books, heard, status, lines: lines(), log: log(), tookS: seconds() };
}

/** What the rig's vat shows to whoever dips a meter into it. */
export interface Dipped {
  readonly ec_us: number;
  readonly t_c: number;
}

/** Pours what is asked, to the gram, and says so; dips a meter of their own where a measurement is asked for. */
export async function help(
  client: mqtt.MqttClient,
  { task, vessel, massKg }: { task: string; vessel: string; massKg: number | null },
  dipped: Dipped | null,
  water: mqtt.MqttClient = client,
): Promise<void> {
  const id = `person-${Math.round(performance.now())}`;
  const ask = (request: object) =>
    client.publishAsync('vatwarden/bench-rig/request', JSON.stringify({ id, ...request }), { qos: 1 });
  if (task === 'add-salt' && massKg !== null) {
    await water.publishAsync('rig/person/salt', String(Math.round(massKg * 1000)), { qos: 1 });
    await ask({ request: 'salt-added', mass: `${massKg} kg` });
  }
  if (task !== 'measure-salinity' || dipped === null) return;
  const value = `${dipped.ec_us / 1000} mS/cm`;
  const sampleTemperature = `${dipped.t_c} degC`;
  await ask({ request: 'salinity-measured', vessel, value, sampleTemperature, instrument: 'hand meter' });
}

export function collect(child: ChildProcess, stream: 'stdout' | 'stderr'): () => string {
  let text = '';
  child[stream]?.on('data', (chunk) => {
    text += chunk;
  });
  return () => text;
}

export async function end(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const exit = once(child, 'exit');
  child.kill('SIGTERM');
  const timer = setTimeout(() => child.kill('SIGKILL'), 8_000);
  await exit;
  clearTimeout(timer);
}
