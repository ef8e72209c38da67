// The second plant's end of the wire, and the service at the other. Lock step as it stands on the wire: everything that was
// said is acknowledged by the broker, then `time` with the step's number, then nothing until `time/done` with the same one.
// Each node is a connection with a will of its own; one connection hears for all of them, so that what is told arrives in
// order.
import mqtt, { type MqttClient } from 'mqtt';
import { NODES, type NodeId, RELAYS, type Said, willOf } from './nodes.ts';

const OWN = 'vatwarden/second-plant';
const ANSWERS_WITHIN_MS = 30_000;
const AGAIN_MS = 700;

export interface Ears {
  readonly command: (topic: string, text: string, stored: boolean) => void;
  readonly task: (vessel: string, text: string) => void;
  readonly alarm: (name: string, text: string) => void;
  readonly record: (about: string, words: string) => void;
  readonly answer: (text: string) => void;
}

export interface Clock {
  readonly minuteOfDay: number;
  readonly day: number;
}

export class Radio {
  sent = 0;
  #step = 0;
  #done = 0;
  #online = false;
  #gone = new Set<string>();
  #wake: () => void = () => {};
  readonly #url: string;
  readonly #ears: MqttClient;
  readonly #nodes = new Map<NodeId, MqttClient>();

  private constructor(url: string, client: MqttClient) {
    this.#url = url;
    this.#ears = client;
  }

  static async open(url: string, heard: Ears): Promise<Radio> {
    const client = await mqtt.connectAsync(url, { ...HABIT, clientId: 'second-plant-ears' });
    const radio = new Radio(url, client);
    client.on('connect', () => noDelay(client));
    noDelay(client);
    client.on('message', (topic, payload, packet) => {
      radio.#hear(topic, payload.toString(), packet.retain, heard);
      radio.#wake();
    });
    await client.subscribeAsync(
      [
        ...RELAYS.map((id) => `cmnd/kelp-${id}/POWER`),
        'kelp/valve/+/set',
        'kelp/sump/inhibit/set',
        ...NODES.flatMap((node) => willOf(node)?.topic ?? []),
        ...['task/+', 'alarm/+', 'record', 'answer', 'online', 'time/done'].map((own) => `${OWN}/${own}`),
      ],
      { qos: 1, rap: true },
    );
    return radio;
  }

  /** A node finds the broker: its birth is the first that is said for it. */
  async plug(node: NodeId): Promise<void> {
    const will = willOf(node);
    const client = await mqtt.connectAsync(this.#url, {
      ...HABIT,
      clientId: `second-plant-${node}`,
      ...(will === null
        ? {}
        : { will: { topic: will.topic, payload: Buffer.from(will.gone), qos: 1 as const, retain: true } }),
    });
    noDelay(client);
    // After a broker that was away each says that it is here again.
    client.on('connect', () => {
      noDelay(client);
      if (will !== null) client.publish(will.topic, will.here, { qos: 1, retain: true });
    });
    this.#nodes.set(node, client);
    if (will !== null) await client.publishAsync(will.topic, will.here, { qos: 1, retain: true });
  }

  /** The current fails: the broker notices, and says the will. */
  async cut(node: NodeId): Promise<void> {
    const client = this.#nodes.get(node);
    const will = willOf(node);
    if (client === undefined) return;
    this.#nodes.delete(node);
    if (will !== null) this.#gone.delete(will.topic);
    client.reconnecting = false;
    client.options.reconnectPeriod = 0;
    client.stream.destroy();
    if (will !== null) await this.#until(() => this.#gone.has(will.topic), 5000, `the will of ${node}`);
    client.end(true);
  }

  /** Until the broker has everything. */
  async carry(said: readonly Said[]): Promise<void> {
    const taken: Promise<unknown>[] = [];
    for (const { node, topic, payload, retain } of said) {
      const client = this.#nodes.get(node);
      if (client === undefined) continue;
      this.sent++;
      taken.push(client.publishAsync(topic, payload, { qos: 1, retain }));
    }
    await Promise.all(taken);
  }

  async ask(request: Readonly<Record<string, string>>): Promise<void> {
    await this.#ears.publishAsync(`${OWN}/request`, JSON.stringify(request), { qos: 1 });
  }

  async online(withinMs = 60_000): Promise<void> {
    await this.#until(() => this.#online, withinMs, 'the service to come online');
  }

  async offline(): Promise<void> {
    await this.#until(() => !this.#online, 10_000, 'the will of the service');
  }

  /** @returns when everything that follows from this step has been heard */
  async time(elapsedMs: number, { minuteOfDay, day }: Clock): Promise<void> {
    const step = ++this.#step;
    const text = JSON.stringify({ step, elapsedMs, minuteOfDay, day, trusted: true });
    const say = () => this.#ears.publish(`${OWN}/time`, text, { qos: 1 });
    say();
    const again = setInterval(say, AGAIN_MS);
    try {
      await this.#until(() => this.#done === step, ANSWERS_WITHIN_MS, `an answer to step ${step}`);
    } finally {
      clearInterval(again);
    }
  }

  /** The broker was away: everybody finds it again, the service last. */
  async back(): Promise<void> {
    await this.#until(
      () => this.#ears.connected && [...this.#nodes.values()].every(({ connected }) => connected),
      20_000,
      'everybody to find the broker again',
    );
    this.#online = false;
    await this.online();
  }

  async close(): Promise<void> {
    for (const client of [...this.#nodes.values(), this.#ears]) client.end(true);
  }

  #hear(topic: string, text: string, stored: boolean, ears: Ears): void {
    if (!topic.startsWith(OWN)) {
      const will = WILLS.get(topic);
      if (will !== undefined) {
        if (text === will) this.#gone.add(topic);
      } else ears.command(topic, text, stored);
      return;
    }
    const [what = '', which = ''] = topic.slice(OWN.length + 1).split('/');
    if (what === 'time') this.#done = (JSON.parse(text) as { step: number }).step;
    else if (what === 'online') this.#online = text === 'online';
    else if (what === 'task') ears.task(which, text);
    else if (what === 'alarm') ears.alarm(which, text);
    else if (what === 'record') {
      const { about, message } = JSON.parse(text) as { about: string; message: { text: string } };
      ears.record(about, message.text);
    } else if (what === 'answer') ears.answer(text);
  }

  #until(isTrue: () => boolean, withinMs: number, what: string): Promise<void> {
    return new Promise((resolve, reject) => {
      const look = () => {
        if (!isTrue()) return;
        end();
        resolve();
      };
      const end = () => {
        clearTimeout(timer);
        clearInterval(polls);
        this.#wake = () => {};
      };
      const timer = setTimeout(() => {
        end();
        reject(new Error(`waited ${withinMs / 1000} s in vain for ${what}`));
      }, withinMs);
      const polls = setInterval(look, 50);
      this.#wake = look;
      look();
    });
  }
}

const WILLS = new Map(
  NODES.flatMap((node) => {
    const will = willOf(node);
    return will === null ? [] : [[will.topic, will.gone] as const];
  }),
);

const HABIT = { protocolVersion: 5, clean: true, keepalive: 30, reconnectPeriod: 200 } as const;

function noDelay(client: MqttClient): void {
  (client.stream as unknown as { setNoDelay?: (on: boolean) => void }).setNoDelay?.(true);
}
