// One connection of the hub's side to the broker, apart from the one that controls: its own account, its own will, and
// whatever floods it can't hold up a trip. A new client is made for every attempt, so nothing waits in a library's queue
// from one connection to the next.
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import type { Publish } from './view.ts';

export interface BrokerAccess {
  /** `mqtt://host:1883`, `mqtts://`, without a password in it. */
  readonly url: string;
  readonly version: 4 | 5;
  readonly clientId: string;
  readonly username?: string;
  readonly password?: string;
  readonly ca?: Buffer;
  readonly cert?: Buffer;
  readonly key?: Buffer;
}

export interface Arrived {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retain: boolean;
}

export interface Listener {
  readonly opened: () => void;
  readonly message: (message: Arrived) => void;
  /** Once, whatever ended it. */
  readonly closed: (words: string) => void;
}

export interface HubConnection {
  /** Resolves when the broker has it; rejects when the connection ends first. */
  readonly publish: (message: Publish) => Promise<void>;
  /** @throws Error naming the filters that the broker refuses. */
  readonly subscribe: (filters: readonly string[], qos: 0 | 1 | 2) => Promise<void>;
  readonly unsubscribe: (filters: readonly string[]) => Promise<void>;
  /** DISCONNECT: the will is not said. */
  readonly close: () => Promise<void>;
  /** Without a word: the broker says the will. */
  readonly drop: () => void;
}

const KEEPALIVE_S = 10;
const CONNECT_MS = 10_000;
const GOODBYE_MS = 1000;

export function connect(access: BrokerAccess, will: Publish, listener: Listener): HubConnection {
  const client = mqtt.connect(access.url, optionsOf(access, will));
  let failure: string | null = null;
  client.on('connect', () => {
    const { stream } = client as unknown as { stream?: { setNoDelay?: (on: boolean) => void } };
    stream?.setNoDelay?.(true);
    listener.opened();
  });
  client.on('message', (topic, payload, { retain }) => listener.message({ topic, payload, retain }));
  client.on('error', (error) => {
    failure ??= error.message;
    client.stream.destroy();
  });
  client.once('close', () => {
    client.end(true);
    listener.closed(failure ?? 'the broker closed the connection');
  });
  return {
    publish: async ({ topic, payload, retain, qos }) => {
      await client.publishAsync(topic, payload, { retain, qos });
    },
    subscribe: (filters, qos) => subscribe(client, filters, qos),
    unsubscribe: async (filters) => {
      await client.unsubscribeAsync([...filters]);
    },
    close: () => goodbye(client),
    drop: () => {
      client.stream.destroy();
    },
  };
}

function optionsOf({ url: _, version, ...access }: BrokerAccess, will: Publish): IClientOptions {
  return {
    ...access,
    protocolVersion: version,
    rejectUnauthorized: true,
    clean: true,
    keepalive: KEEPALIVE_S,
    connectTimeout: CONNECT_MS,
    reconnectPeriod: 0,
    resubscribe: false,
    queueQoSZero: false,
    will: { topic: will.topic, payload: Buffer.from(will.payload), qos: will.qos, retain: will.retain },
    ...(version === 5 ? { properties: { sessionExpiryInterval: 0 } } : {}),
  };
}

function subscribe(client: MqttClient, filters: readonly string[], qos: 0 | 1 | 2): Promise<void> {
  return new Promise((resolve, reject) => {
    client.subscribe([...filters], { qos }, (_, __, packet) => {
      // The client's own list of what was granted still holds the refused ones: only the packet has the truth.
      const granted = packet?.granted as readonly (number | { qos: number })[] | undefined;
      if (granted === undefined) return reject(new Error('the connection ended'));
      const codes = granted.map((one) => (typeof one === 'number' ? one : one.qos));
      const refused = filters.filter((_filter, place) => (codes[place] ?? 128) >= 128);
      if (refused.length === 0) return resolve();
      reject(new Error(`the broker does not let this user listen to ${refused.join(', ')}`));
    });
  });
}

async function goodbye(client: MqttClient): Promise<void> {
  await new Promise<void>((resolve) => {
    const timer = setTimeout(resolve, GOODBYE_MS);
    client.end(false, () => {
      clearTimeout(timer);
      resolve();
    });
  });
  client.stream.destroy();
}
