// What every connection of ours to a broker is made of. Each caller has a connection and an account of its own: what is shared is
// how one is opened, what the broker let us listen to, and how it ends.
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';

/** Who connects, and whom they trust. */
export interface Login {
  readonly username?: string;
  readonly password?: string;
  readonly ca?: Buffer;
  readonly cert?: Buffer;
  readonly key?: Buffer;
}

/** Said for us by the broker when the connection is lost. */
export interface Will {
  readonly topic: string;
  readonly payload: string;
  readonly qos: 0 | 1 | 2;
  readonly retain: boolean;
}

export interface Asked extends Omit<IClientOptions, 'will' | 'protocolVersion'> {
  readonly version: 4 | 5;
  readonly will?: Will | undefined;
}

const KEEPALIVE_S = 10;
const CONNECT_MS = 10_000;
/** The first of the reason codes that say no. */
const REFUSED = 128;

/** No client outlives its connection, and none queues: nothing is left from one connection to the next. */
export const ONCE = { reconnectPeriod: 0, resubscribe: false, queueQoSZero: false } as const;

/** No old session comes back, no unchecked certificate is taken, and a small packet leaves at once. */
export function opened(url: string | null, asked: Asked): MqttClient {
  const options = optionsOf(asked);
  const client = url === null ? mqtt.connect(options) : mqtt.connect(url, options);
  client.on('connect', () => noDelay(client));
  return client;
}

/** @throws what the broker or the network answered, once the connection can't be had */
export async function greeted(url: string | null, asked: Asked): Promise<MqttClient> {
  const options = optionsOf(asked);
  const client = await (url === null ? mqtt.connectAsync(options) : mqtt.connectAsync(url, options));
  noDelay(client);
  return client;
}

const optionsOf = ({ version, will, ...more }: Asked): IClientOptions => ({
  keepalive: KEEPALIVE_S,
  connectTimeout: CONNECT_MS,
  ...more,
  protocolVersion: version,
  clean: true,
  rejectUnauthorized: true,
  ...(will === undefined ? {} : { will: { ...will, payload: Buffer.from(will.payload) } }),
});

/** A leak message that waits 44 ms for Nagle's algorithm and a delayed acknowledgement is no way to run a trip. */
function noDelay({ stream }: MqttClient): void {
  if ('setNoDelay' in stream && typeof stream.setNoDelay === 'function') stream.setNoDelay(true);
}

/** @returns the filters that the broker refuses; null where the connection ended first */
export function refusedOf(
  client: MqttClient,
  filters: readonly string[],
  how: { readonly qos: 0 | 1 | 2; readonly rap?: boolean; readonly rh?: number },
): Promise<readonly string[] | null> {
  const wanted = Object.fromEntries(filters.map((filter) => [filter, how]));
  return new Promise((resolve) => {
    client.subscribe(wanted, (_, __, packet) => {
      // The client's own list of what was granted still holds the refused ones (measured): the packet has the truth.
      const granted = packet?.granted as readonly (number | { qos: number })[] | undefined;
      if (granted === undefined) return resolve(null);
      const codes = granted.map((one) => (typeof one === 'number' ? one : one.qos));
      resolve(Object.keys(wanted).filter((_filter, place) => (codes[place] ?? REFUSED) >= REFUSED));
    });
  });
}

/** What was sent is acknowledged or the time has passed, then DISCONNECT: the will is not said. */
export async function goodbye(client: MqttClient, withinMs: number): Promise<void> {
  await new Promise<void>((resolve) => {
    const timer = setTimeout(resolve, withinMs);
    client.end(false, () => {
      clearTimeout(timer);
      resolve();
    });
  });
  client.stream.destroy();
}

/**
 * A broker without `set_tcp_nodelay` keeps its next small packet until the last one is acknowledged, and a kernel that has
 * nothing to say acknowledges 40 ms late. In lock step that would be 40 ms for every step, so something is said.
 */
export function nudgeOn(client: MqttClient, topic: string): void {
  let isDue = false;
  client.on('packetreceive', ({ cmd }) => {
    if (isDue || (cmd !== 'puback' && cmd !== 'publish')) return;
    isDue = true;
    setImmediate(() => {
      isDue = false;
      if (client.connected) client.publish(topic, '', { qos: 0 });
    });
  });
}
