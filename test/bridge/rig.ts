// What the tests of the bridge have in common: the bench rig's plant, a bridge with the fake core, a device side.
import { readFileSync } from 'node:fs';
import mqtt, { type IPublishPacket, type MqttClient } from 'mqtt';
import { Bridge, type BridgeOptions } from '../../src/bridge/bridge.ts';
import type { Log } from '../../src/bridge/message.ts';
import type { News } from '../../src/bridge/news.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { type FakeState, fakeCore } from './fake-core.ts';

export function stationPlant(path: string): Plant {
  const file = new URL(`../../${path}`, import.meta.url);
  const loaded = loadStation(path, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors));
  return loaded.plant;
}

const bench = stationPlant('test/stations/bench-rig.json');

/** The bench rig with a link that must prove itself within 1.5 s, so that tests of silence are short. */
export const plant: Plant = { ...bench, link: { ...bench.link, provenWithinMs: 1500 } };

export interface Logged {
  readonly level: string;
  readonly event: string;
  readonly fields: Record<string, unknown>;
}

export function listLog(): Log & { readonly lines: Logged[] } {
  const lines: Logged[] = [];
  const at = (level: string) => (fields: object, event: string) => {
    lines.push({ level, event, fields: fields as Record<string, unknown> });
  };
  return { lines, debug: at('debug'), info: at('info'), warn: at('warn'), error: at('error') };
}

export interface Running {
  readonly bridge: Bridge<FakeState>;
  readonly lines: Logged[];
  readonly news: News[];
  /** Settles when the bridge ends. */
  readonly ended: Promise<void>;
  readonly state: () => FakeState;
}

export const machine = {
  monotonicMs: () => performance.now(),
  uptimeMs: () => performance.now(),
  date: () => new Date(),
};

export function start(
  port: number,
  version: 4 | 5,
  options: Partial<BridgeOptions<FakeState>> = {},
): Running {
  const log = listLog();
  const bridge = new Bridge<FakeState>({
    plant,
    core: fakeCore,
    state: fakeCore.initial(plant),
    settings: {
      address: { protocol: 'mqtt', host: '127.0.0.1', port, path: '' },
      version,
      clientId: 'vatwarden-bench-rig',
    },
    time: 'wall',
    boot: 'b0071234',
    machine,
    chance: () => 0.2,
    save: null,
    clearRetained: false,
    log,
    ...options,
  });
  const news: News[] = [];
  let state = options.state ?? fakeCore.initial(plant);
  bridge.news.subscribe({ next: (one) => news.push(one), error: () => {} });
  bridge.turns.subscribe((turn) => {
    state = turn.state;
  });
  const ended = bridge.run();
  ended.catch(() => {});
  return { bridge, lines: log.lines, news, ended, state: () => state };
}

export interface Device {
  readonly client: MqttClient;
  readonly heard: {
    readonly topic: string;
    readonly text: string;
    readonly retain: boolean;
    readonly atMs: number;
    readonly packet: IPublishPacket;
  }[];
  readonly say: (topic: string, text: string, retain?: boolean) => Promise<void>;
  readonly texts: (topic: string) => string[];
  readonly close: () => Promise<void>;
}

/** The other side: listens to everything, and says what it is told to. */
export async function device(
  port: number,
  version: 4 | 5,
  filters: readonly string[] = ['#'],
): Promise<Device> {
  const client = await mqtt.connectAsync({
    host: '127.0.0.1',
    port,
    protocol: 'mqtt',
    protocolVersion: version,
    reconnectPeriod: 0,
  });
  const { stream } = client as unknown as { stream: { setNoDelay: (on: boolean) => void } };
  stream.setNoDelay(true);
  const heard: Device['heard'] = [];
  client.on('message', (topic, payload, packet) => {
    heard.push({ topic, text: payload.toString(), retain: packet.retain, atMs: performance.now(), packet });
  });
  await client.subscribeAsync([...filters], { qos: 1 });
  return {
    client,
    heard,
    say: async (topic, text, retain = false) => {
      await client.publishAsync(topic, text, { qos: 1, retain });
    },
    texts: (topic) => heard.filter((one) => one.topic === topic).map(({ text }) => text),
    close: () => client.endAsync(true),
  };
}

/** Waits until it is so; the words say what was waited for when it never is. */
export async function until(isSo: () => boolean, words: string, withinMs = 100_000): Promise<void> {
  const end = performance.now() + withinMs;
  while (!isSo()) {
    if (performance.now() > end) throw new Error(`never, within ${withinMs} ms: ${words}`);
    await pause(5);
  }
}

export const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

export const isUp = (running: Running) => () => running.news.some(({ news }) => news === 'up');
