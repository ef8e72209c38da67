// What the wet rig lacks for commissioning, between it and the product on MQTT: relays of its own in front of the rig's loads
// (with isolators, a power supply that can be cut, and bad habits), hands that move floats, cups and jugs for probes. The rig
// speaks on `rig/...`, the product's station on `bench/...`; all water is the rig's.
import mqtt, { type MqttClient } from 'mqtt';
import { conductivityMsPerCm } from '../../src/engineering/seawater.ts';

/** How each relay is spoken to, and what ends it by itself; as the rig's own devices. */
const RELAYS = {
  master: { style: 'plain', ms: 0 },
  fill: { style: 'lease', ms: 0 },
  transfer: { style: 'lease', ms: 0 },
  circulate: { style: 'word', ms: 4000 },
  heater: { style: 'lease', ms: 0 },
  supply: { style: 'lease', ms: 0 },
  drain: { style: 'word', ms: 3000 },
} as const;
export type RelayName = keyof typeof RELAYS;
const NAMES = Object.keys(RELAYS) as readonly RelayName[];

/** The contacts as they hang in the rig, with the words that they really say. */
export const CONTACTS: Readonly<Record<string, { topic: string; wet: string; dry: string; atL: number }>> = {
  'fresh-low': { topic: 'fresh/float/low', wet: '1', dry: '0', atL: 1 },
  'fresh-high': { topic: 'fresh/float/high', wet: 'WET', dry: 'DRY', atL: 10 },
  'fresh-overflow': {
    topic: 'fresh/float/over',
    wet: '{"contact":"open"}',
    dry: '{"contact":"closed"}',
    atL: 11,
  },
  'mixing-low': { topic: 'mixing/float/low', wet: 'ON', dry: 'OFF', atL: 2.5 },
  'mixing-high': { topic: 'mixing/float/high', wet: 'true', dry: 'false', atL: 10 },
  'mixing-overflow': {
    topic: 'mixing/float/over',
    wet: '{"state":{"wet":true}}',
    dry: '{"state":{"wet":false}}',
    atL: 11,
  },
  'system-low': { topic: 'system/float/low', wet: 'ok', dry: 'low', atL: 92 },
  'system-high': { topic: 'system/float/high', wet: 'high', dry: 'ok', atL: 108 },
  'tray-leak': { topic: 'tray/leak', wet: 'wet', dry: 'dry', atL: 0 },
};

export interface Habits {
  /** Stays on until told. */
  readonly noLease?: readonly RelayName[];
  /** An `on` while it is on does not start its time anew. */
  readonly runsOut?: readonly RelayName[];
  /** As it was when power comes back. */
  readonly restoresOn?: readonly RelayName[];
  /** The probe compensates to 25 degC by itself. */
  readonly compensates?: boolean;
}

interface Relay {
  on: boolean;
  untilMs: number;
  isPowered: boolean;
  isConnected: boolean;
  wasOn: boolean;
  clicks: number;
}

export class RigHands {
  readonly #url: string;
  readonly #client: MqttClient;
  readonly #habits: Habits;
  readonly #relays: Record<RelayName, Relay>;
  readonly #hands = new Map<string, string>();
  readonly #last = new Map<string, string>();
  readonly #timer: ReturnType<typeof setInterval>;
  #beats = 0;

  private constructor(url: string, client: MqttClient, habits: Habits) {
    this.#url = url;
    this.#client = client;
    this.#habits = habits;
    const relay = (): Relay => ({
      on: false,
      untilMs: 0,
      isPowered: true,
      isConnected: true,
      wasOn: false,
      clicks: 0,
    });
    this.#relays = Object.fromEntries(NAMES.map((name) => [name, relay()])) as Record<RelayName, Relay>;
    client.on('message', (topic, payload, { retain }) => this.#hear(topic, payload.toString(), retain));
    this.#timer = setInterval(() => this.#beat(), 100);
  }

  static async between(url: string, habits: Habits): Promise<RigHands> {
    const client = await mqtt.connectAsync(url, { protocolVersion: 5, clientId: 'rig-hands' });
    const hands = new RigHands(url, client, habits);
    await client.subscribeAsync(['rig/#', 'bench/+/cmd'], { qos: 1 });
    return hands;
  }

  /** Ends somebody's connection: the broker lets in one of a name, and this is the later one. */
  async throwOut(clientId: string): Promise<void> {
    const client = await mqtt.connectAsync(this.#url, { protocolVersion: 5, clientId, reconnectPeriod: 0 });
    await client.endAsync();
  }

  async close(): Promise<void> {
    clearInterval(this.#timer);
    await this.#client.endAsync(true);
  }

  /** What the rig last said there, whatever a hand does. */
  rig(topic: string): string {
    return this.#last.get(topic) ?? '';
  }

  /** What the product hears there. */
  shown(topic: string): string {
    return this.#hands.get(topic) ?? this.rig(topic);
  }

  /** A hand at a sensor; null lets go. */
  move(topic: string, text: string | null): void {
    if (text === null) this.#hands.delete(topic);
    else this.#hands.set(topic, text);
    this.#say(topic, this.shown(topic));
  }

  /** Probe and its thermometer in water of this salinity and temperature. */
  dip(salinity: number, temperatureC: number): void {
    const shownC = this.#habits.compensates === true ? 25 : temperatureC;
    const ec = Math.round(conductivityMsPerCm(salinity, shownC) * 1000);
    this.move('mixing/probe', JSON.stringify({ ec_us: ec, t_c: temperatureC }));
  }

  isolate(name: RelayName, isConnected = false): void {
    this.#relays[name].isConnected = isConnected;
    this.#drive(name);
  }

  connectAll(): void {
    for (const name of NAMES) this.isolate(name, true);
  }

  /** Of the relay itself. */
  power(name: RelayName, isPowered: boolean): void {
    const relay = this.#relays[name];
    if (!isPowered) relay.wasOn = relay.on;
    relay.isPowered = isPowered;
    const comesOn = isPowered && relay.wasOn && this.#habits.restoresOn?.includes(name) === true;
    this.#switch(name, comesOn, Number.POSITIVE_INFINITY);
  }

  isOn = (name: RelayName): boolean => this.#relays[name].on;
  clicks = (name: RelayName): number => this.#relays[name].clicks;
  /** Those that switched on since the clicks were counted. */
  clicked = (before: Readonly<Record<string, number>>): readonly RelayName[] =>
    NAMES.filter((name) => this.#relays[name].clicks > (before[name] ?? 0));
  count = (): Readonly<Record<string, number>> =>
    Object.fromEntries(NAMES.map((name) => [name, this.#relays[name].clicks]));

  async take(litres: number): Promise<void> {
    await this.#client.publishAsync('rig/person/bucket', String(litres), { qos: 1 });
  }

  #hear(topic: string, text: string, retain: boolean): void {
    const [root, ...rest] = topic.split('/');
    const below = rest.join('/');
    if (root === 'bench') {
      if (!retain) this.#command(rest[0] as RelayName, text);
      return;
    }
    if (below.endsWith('/cmd') || below.startsWith('person/') || below.endsWith('/state')) return;
    this.#last.set(below, text);
    this.#say(below, this.shown(below));
  }

  #command(name: RelayName, text: string): void {
    const relay = this.#relays[name];
    if (relay === undefined || !relay.isPowered) return;
    const { style, ms } = RELAYS[name];
    const json = style === 'lease' ? (JSON.parse(text) as { on: boolean; for_ms?: number }) : null;
    const on = json === null ? text === 'ON' || text === '1' : json.on;
    const forMs = json?.for_ms ?? ms;
    const ends = forMs > 0 && this.#habits.noLease?.includes(name) !== true;
    const isKept = relay.on && on && this.#habits.runsOut?.includes(name) === true;
    this.#switch(
      name,
      on,
      isKept ? relay.untilMs : ends ? performance.now() + forMs : Number.POSITIVE_INFINITY,
    );
  }

  #switch(name: RelayName, on: boolean, untilMs: number): void {
    const relay = this.#relays[name];
    if (on && !relay.on) relay.clicks++;
    Object.assign(relay, { on, untilMs });
    this.#drive(name);
    this.#state(name);
  }

  #state(name: RelayName): void {
    const { isPowered, on } = this.#relays[name];
    if (isPowered) this.#say(`${name}/state`, on ? 'on' : 'off');
  }

  /** The rig's load, for as long as the relay is closed and the load connected. */
  #drive(name: RelayName): void {
    const { on, isPowered, isConnected } = this.#relays[name];
    const { style } = RELAYS[name];
    const runs = on && isPowered && isConnected;
    const words = { plain: runs ? '1' : '0', word: runs ? 'ON' : 'OFF' };
    const text =
      style === 'lease' ? JSON.stringify(runs ? { on: true, for_ms: 1500 } : { on: false }) : words[style];
    this.#client.publish(`rig/${name}/cmd`, text, { qos: 1 });
  }

  #beat(): void {
    const nowMs = performance.now();
    for (const name of NAMES) {
      const relay = this.#relays[name];
      if (relay.on && nowMs > relay.untilMs) this.#switch(name, false, 0);
    }
    if (++this.#beats % 5 === 0) for (const name of NAMES) if (this.#relays[name].on) this.#drive(name);
    if (this.#beats % 10 === 0) for (const name of NAMES) this.#state(name);
  }

  #say(topic: string, text: string): void {
    if (text !== '') this.#client.publish(`bench/${topic}`, text, { qos: 1, retain: true });
  }
}
