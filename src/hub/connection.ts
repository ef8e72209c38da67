// One connection of the hub's side to the broker, apart from the one that controls: its own account, its own will, and
// whatever floods it can't hold up a trip. A new client is made for every attempt, so nothing waits in a library's queue
// from one connection to the next.
import type { MqttClient } from 'mqtt';
import { type Asked, goodbye, type Login, ONCE, opened, refusedOf } from '../mqtt/client.ts';
import type { Publish } from './view.ts';

export interface BrokerAccess extends Login {
  /** `mqtt://host:1883`, `mqtts://`, without a password in it. */
  readonly url: string;
  readonly version: 4 | 5;
  readonly clientId: string;
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

const GOODBYE_MS = 1000;

export function connect(access: BrokerAccess, will: Publish, listener: Listener): HubConnection {
  const client = opened(access.url, askedOf(access, will));
  let failure: string | null = null;
  client.on('connect', () => listener.opened());
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
    close: () => goodbye(client, GOODBYE_MS),
    drop: () => {
      client.stream.destroy();
    },
  };
}

function askedOf({ url: _, version, ...access }: BrokerAccess, will: Publish): Asked {
  const { topic, payload, qos, retain } = will;
  return {
    ...access,
    ...ONCE,
    version,
    will: { topic, payload, qos, retain },
    ...(version === 5 ? { properties: { sessionExpiryInterval: 0 } } : {}),
  };
}

async function subscribe(client: MqttClient, filters: readonly string[], qos: 0 | 1 | 2): Promise<void> {
  const refused = await refusedOf(client, filters, { qos });
  if (refused === null) throw new Error('the connection ended');
  if (refused.length > 0)
    throw new Error(`the broker does not let this user listen to ${refused.join(', ')}`);
}
