// A station on a broker and its Homie side: the real bridge round the real core, and the hub's side as `run` starts it.

import { type AddressInfo, createServer } from 'node:net';
import { Aedes } from 'aedes';
import { Bridge } from '../../src/bridge/bridge.ts';
import { forgetful, initial, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { announcementsOf } from '../../src/hub/announcements.ts';
import { type Homie, type HomieOptions, startHomie } from '../../src/hub/homie.ts';
import { shortMemory } from '../../src/hub/memory.ts';
import { deviceOf } from '../../src/hub/model.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import type { Plant } from '../../src/station/plant.ts';
import { exampleOf } from '../../src/station/words.ts';
import { type Device, type Logged, listLog, machine } from '../bridge/rig.ts';
import { statusOf } from '../tools/english.ts';

export const CORE = { initial, step, restored, forgetful, describe: statusOf };

export interface Account {
  readonly username: string;
  readonly password: string;
}

export function startStation(plant: Plant, port: number, version: 4 | 5, account?: Account): Bridge<State> {
  const bridge = new Bridge<State>({
    plant,
    core: CORE,
    state: initial(plant),
    settings: {
      address: { protocol: 'mqtt', host: '127.0.0.1', port, path: '' },
      version,
      clientId: `vatwarden-${plant.id}`,
      ...account,
    },
    time: 'wall',
    boot: 'b0071234',
    machine,
    chance: () => 0.2,
    save: null,
    clearRetained: false,
    log: listLog(),
  });
  bridge.news.subscribe({ error: () => {} });
  bridge.run().catch(() => {});
  return bridge;
}

export interface HubSide extends Homie {
  readonly lines: readonly Logged[];
}

export function startHubSide(
  plant: Plant,
  port: number,
  version: 4 | 5,
  {
    announce = {},
    account,
    ...more
  }: Partial<HomieOptions> & { announce?: StationFile['announce']; account?: Account } = {},
): HubSide {
  const device = deviceOf(plant, announce);
  const log = listLog();
  const homie = startHomie({
    device,
    announcements: announcementsOf(plant, announce, device),
    access: {
      url: `mqtt://127.0.0.1:${port}`,
      version,
      clientId: `vatwarden-${plant.id}-homie`,
      ...account,
    },
    memory: shortMemory(),
    boot: 'b0071234',
    chance: () => 0.2,
    log,
    ...more,
  });
  return { ...homie, lines: log.lines };
}

export interface Seen {
  readonly client: string;
  readonly cmd: 'connect' | 'publish' | 'subscribe' | 'granted' | 'disconnect';
  readonly topic?: string;
  readonly payload?: string;
  readonly qos?: number;
  readonly retain?: boolean;
  readonly filters?: readonly string[];
  readonly will?: {
    readonly topic: string;
    readonly payload: string;
    readonly retain: boolean;
    readonly qos: number;
  };
}

export interface SpyBroker {
  readonly port: number;
  readonly seen: Seen[];
  readonly close: () => Promise<void>;
}

/** A broker that writes down every packet of interest, and may be slow or unwilling to grant subscriptions. */
export async function spyBroker(
  options: { grantAfterMs?: number; refuses?: (filter: string) => boolean } = {},
): Promise<SpyBroker> {
  const seen: Seen[] = [];
  const asked = new Map<string, string[]>();
  const aedes = await Aedes.createBroker({
    preConnect: (_client, packet, done) => {
      const will = packet.will as
        | { topic: string; payload: Buffer; retain: boolean; qos: number }
        | undefined;
      seen.push({
        client: packet.clientId ?? '',
        cmd: 'connect',
        ...(will ? { will: { ...will, payload: will.payload.toString() } } : {}),
      });
      done(null, true);
    },
    authorizePublish: (client, { topic, payload, qos, retain }, done) => {
      seen.push({
        client: client?.id ?? '',
        cmd: 'publish',
        topic,
        payload: payload.toString(),
        qos,
        retain,
      });
      done(null);
    },
    authorizeSubscribe: (client, subscription, done) => {
      const id = client?.id ?? '';
      asked.set(id, [...(asked.get(id) ?? []), subscription.topic]);
      const grant = () => done(null, options.refuses?.(subscription.topic) ? null : subscription);
      const isLast = subscription.topic.endsWith('/set') && options.grantAfterMs !== undefined;
      if (isLast) setTimeout(grant, options.grantAfterMs);
      else grant();
    },
  });
  aedes.on('subscribe', (subscriptions, client) => {
    seen.push({ client: client.id, cmd: 'granted', filters: subscriptions.map(({ topic }) => topic) });
  });
  aedes.on('clientDisconnect', (client) => seen.push({ client: client.id, cmd: 'disconnect' }));
  const server = createServer({ noDelay: true }, aedes.handle);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    seen,
    close: async () => {
      await new Promise<void>((resolve) => aedes.close(resolve));
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
      });
    },
  };
}

/** Devices that do what they are told and say so, for every actuator that has a feedback in one word. */
export function confirmsOff({ client, say }: Device, plant: Plant): void {
  const actuators = Object.values(plant.actuators);
  const confirm = ({ feedback }: (typeof actuators)[number]) => {
    if (feedback === null) return;
    const off = exampleOf(feedback.off);
    const text = feedback.at === null ? off : JSON.stringify(placed(feedback.at, off));
    void say(feedback.topic, text);
  };
  client.on('message', (topic) => {
    for (const actuator of actuators) if (actuator.command.topic === topic) confirm(actuator);
  });
}

function placed(pointer: string, word: string): unknown {
  const value =
    word === 'true' || word === 'false' ? word === 'true' : /^\d+$/u.test(word) ? Number(word) : word;
  return pointer
    .split('/')
    .slice(1)
    .reduceRight<unknown>((inner, key) => ({ [key]: inner }), value);
}
