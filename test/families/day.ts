// A day of the four families over real brokers: the service and the devices at one, the water at another, each a process of its
// own in real time, and somebody who restarts things. The water is the rig that VATWARDEN_RIG names, else `simulate`; its own
// books say what it did. Salt is poured into the rig's water only.
import { spawn } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Status } from '../../src/control/process/describe.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { mosquitto, type TestBroker } from '../tools/brokers.ts';
import { waived } from '../tools/waived.ts';
import { type Books, collect, type Dipped, end, help } from '../tools/wet-rig.ts';
import {
  benchFile,
  bridgeAt,
  DEVICE_NAMES,
  type DeviceName,
  type Node,
  nodeOf,
  rigFile,
  waterBehind,
} from './bench.ts';

const OWN = 'vatwarden/bench-rig';

/** The power of a device is off for so long; the broker is away for so long. */
const OFF_MS = 4000;

export interface Day {
  /** How long after the service the devices start, s; below 0 so long before it. */
  readonly devicesAfterS: number;
  /** What is restarted, as soon as this holds of the status; each once, in the order given. */
  readonly restarts?: readonly (readonly [what: DeviceName | 'broker', when: (status: Status) => boolean])[];
  readonly until: (status: Status) => boolean;
  readonly forS: number;
  /** What the file says instead. */
  readonly file?: (file: StationFile) => StationFile;
}

export interface Outcome {
  readonly tookS: number;
  readonly done: boolean;
  readonly restarted: readonly string[];
  /** What a person had to be asked for, but for salt and a second instrument. */
  readonly needed: readonly string[];
  readonly trips: readonly string[];
  readonly floorL: number;
  readonly dryS: number;
  readonly offSpecL: number;
  readonly deliveredL: number;
  readonly drainedL: number;
  readonly log: string;
}

export async function familyDay({
  devicesAfterS,
  restarts = [],
  until,
  forS,
  file = (same) => same,
}: Day): Promise<Outcome> {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-families-'));
  const [stationPath, waterPath] = [join(directory, 'station.json'), join(directory, 'water.json')];
  writeFileSync(stationPath, JSON.stringify(benchFile(file)));
  writeFileSync(waterPath, JSON.stringify(file(rigFile())));
  let broker: TestBroker = await mosquitto();
  const behind = await mosquitto();
  const [url, waterUrl] = [`mqtt://127.0.0.1:${broker.port}`, `mqtt://127.0.0.1:${behind.port}`];
  const rig = process.env.VATWARDEN_RIG;
  const call =
    rig === undefined
      ? [
          'dist/cli/main.js',
          'simulate',
          waterPath,
          '--broker',
          waterUrl,
          '--realtime',
          '--step',
          '200ms',
          '--for',
          `${forS + 120}s`,
          '--json',
        ]
      : [rig, '--broker', waterUrl, '--for', String(forS + 120)];
  const water = spawn(process.execPath, call, { stdio: ['ignore', 'pipe', 'pipe'] });
  const books = collect(water, 'stdout');
  const waterClient = await mqtt.connectAsync(waterUrl, { clientId: 'wires' });
  const { station, turn } = waterBehind(waterClient);
  await waterClient.subscribeAsync('rig/#', { qos: 1 });
  const nodes = Object.fromEntries(DEVICE_NAMES.map((name) => [name, nodeOf(name, station, url)])) as Record<
    DeviceName,
    Node
  >;
  const timer = setInterval(() => {
    turn();
    for (const node of Object.values(nodes)) node.speak();
  }, 100);

  let bridge: MqttClient | null = null;
  const startDevices = () => {
    bridge = bridgeAt(url);
    for (const node of Object.values(nodes)) node.start();
  };
  waived(stationPath, join(directory, 'state'));
  const startService = () =>
    spawn(
      process.execPath,
      ['dist/cli/main.js', 'run', stationPath, '--broker', url, '--state', join(directory, 'state')],
      { stdio: ['ignore', 'pipe', 'pipe'] },
    );
  await pause(2000);
  if (devicesAfterS < 0) {
    startDevices();
    await pause(-1000 * devicesAfterS);
  }
  const startedMs = performance.now();
  const service = startService();
  const [lines, log] = [collect(service, 'stdout'), collect(service, 'stderr')];
  const person = await mqtt.connectAsync(url, {
    protocolVersion: 5,
    clientId: 'person',
    reconnectPeriod: 500,
  });
  person.on('error', () => {});
  let status: Status | null = null;
  let dipped: Dipped | null = null;
  const trips = new Set<string>();
  const needed = new Set<string>();
  waterClient.on('message', (topic, payload) => {
    if (topic === 'rig/mixing/probe') dipped = JSON.parse(payload.toString());
  });
  person.on('message', (topic, payload, { retain }) => {
    const text = payload.toString();
    const own = topic.replace(`${OWN}/`, '');
    if (own === 'status') status = JSON.parse(text);
    if (own === 'record' && JSON.parse(text).about === 'trip') trips.add(text);
    if (!own.startsWith('task/')) return;
    if (text === '' || retain) return;
    const task = JSON.parse(text);
    if (!['add-salt', 'measure-salinity'].includes(task.task)) needed.add(text);
    void help(person, task, dipped, waterClient);
  });
  await person.subscribeAsync(
    ['status', 'task/#', 'record'].map((own) => `${OWN}/${own}`),
    { qos: 1 },
  );
  const seconds = () => (performance.now() - startedMs) / 1000;
  const restarted: string[] = [];
  let devicesRun = devicesAfterS < 0;
  let done = false;
  try {
    while (seconds() < forS && !done) {
      if (service.exitCode !== null) throw new Error(`the service ended with ${service.exitCode}: ${log()}`);
      if (!devicesRun && seconds() >= devicesAfterS) {
        devicesRun = true;
        startDevices();
      }
      const [what, when] = restarts[restarted.length] ?? [];
      if (status !== null && what !== undefined && when?.(status) === true) {
        restarted.push(what);
        if (what === 'broker') {
          const { port } = broker;
          await broker.close();
          await pause(OFF_MS);
          broker = await mosquitto({ port });
        } else {
          await nodes[what].cut();
          await pause(OFF_MS);
          nodes[what].start();
        }
        status = null;
      }
      done = restarted.length === restarts.length && status !== null && until(status);
      await pause(100);
    }
    await end(service);
  } finally {
    clearInterval(timer);
    await person.endAsync(true);
    await end(service);
    for (const node of Object.values(nodes)) await node.cut();
    await (bridge as MqttClient | null)?.endAsync(true);
    await end(water);
    await waterClient.endAsync(true);
    await broker.close();
    await behind.close();
  }
  return {
    tookS: seconds(),
    done,
    restarted,
    needed: [...needed],
    trips: [...trips],
    ...waterDid(JSON.parse(books().trim().split('\n').at(-1) ?? 'null')),
    log: `${lines()}\n${log()}`,
  };
}

const total = (amounts: Readonly<Record<string, number>>): number =>
  Object.values(amounts).reduce((a, b) => a + b, 0);

/** The rig and the simulated water have books of the same things, the one by vessel and pump, the other in all. */
function waterDid(
  books: Books & { readonly spilledL: unknown; readonly dryS: unknown; readonly hoseL: unknown },
) {
  const all = (amount: unknown) =>
    typeof amount === 'number' ? amount : total((amount ?? {}) as Record<string, number>);
  return {
    floorL: all(books.spilledL) + all(books.hoseL),
    dryS: all(books.dryS),
    offSpecL: books.deliveredOffSpecL,
    deliveredL: books.deliveredL,
    drainedL: books.drainedL,
  };
}

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
