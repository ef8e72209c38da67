// One connection to the broker, from greeting to close; a new one is made for every attempt.
//
// R2: nothing can be left in a library's queue from one connection to the next, because no client outlives its
// connection and none ever queues (`queueQoSZero: false`, no publishing before the greeting is answered). Cutting a
// connection resets the socket: what lies unsent in the kernel's buffer is thrown away instead of arriving late.
import type { MqttClient } from 'mqtt';
import { goodbye, nudgeOn, opened, refusedOf } from '../mqtt/client.ts';
import { LIMITS } from './limits.ts';
import type { Message } from './message.ts';
import { askedOf, type Envelope, messageOf, propertiesOf, type Settings } from './packets.ts';

export interface Listener {
  readonly opened: () => void;
  readonly message: (message: Message) => void;
  /** MQTT 5: the broker will not pass it on. */
  readonly denied: (topic: string, words: string) => void;
  /** Once, whatever ended it. */
  readonly closed: (error: Error | null, byOther: boolean) => void;
}

const WAITING = 10_000;

export class Connection {
  readonly #client: MqttClient;
  readonly #version: 4 | 5;
  readonly #listener: Listener;
  #error: Error | null = null;
  #ours = false;
  #inFlight = 0;
  #waiting: Envelope[] = [];

  /** @param nudgeTopic in lock step: where to say a word, so that what the broker holds back for an acknowledgement comes at once */
  constructor(settings: Settings, onlineTopic: string, listener: Listener, nudgeTopic: string | null = null) {
    this.#version = settings.version;
    this.#listener = listener;
    const client = opened(null, askedOf(settings, onlineTopic));
    this.#client = client;
    client.on('connect', () => listener.opened());
    if (nudgeTopic !== null) nudgeOn(client, nudgeTopic);
    client.on('message', (_, payload, packet) => listener.message(messageOf(payload, packet)));
    client.on('error', (failure) => {
      this.#error ??= failure;
      client.stream.destroy();
    });
    client.on('disconnect', ({ reasonCode }) => {
      this.#error ??= Object.assign(new Error(`the broker said goodbye, reason ${reasonCode}`), {
        code: reasonCode,
      });
    });
    client.once('close', () => {
      this.#waiting = [];
      client.end(true);
      listener.closed(this.#error, !this.#ours);
    });
  }

  /** False where it did not go out and never will. */
  publish(envelope: Envelope): boolean {
    if (!this.#client.connected) return false;
    const mustWait =
      envelope.qos === 1 && (this.#waiting.length > 0 || this.#inFlight >= this.#mostInFlight());
    if (mustWait && (envelope.nowOrNever === true || this.#waiting.length >= WAITING)) return false;
    if (mustWait) this.#waiting.push(envelope);
    else this.#send(envelope);
    return true;
  }

  /**
   * What was published goes to the kernel now. The library keeps it until the turn of the event loop is over, and the turn of
   * an `off` ends with the journal's flush of the disk: some milliseconds, or a second where a card is worn.
   */
  flush(): void {
    const { stream } = this.#client;
    while (stream.writableCorked > 0) stream.uncork();
  }

  /**
   * R18: filter by filter. R9: `rap: false`, so that the retain flag means stored; `rh: 0`, so that what is stored is seen.
   * Resolves with the refused filters, or null where the connection ended first.
   */
  subscribe(topics: readonly string[]): Promise<readonly string[] | null> {
    return refusedOf(this.#client, topics, { qos: 1, rap: false, rh: 0 });
  }

  /** Cuts it at once; what is on its way is lost on purpose. */
  drop(): void {
    this.#ours = true;
    reset(this.#client);
  }

  /** Says goodbye: what was sent is acknowledged or a second has passed, then DISCONNECT. */
  async close(): Promise<void> {
    this.#ours = true;
    await goodbye(this.#client, LIMITS.goodbyeMs);
  }

  /** MQTT 5, section 4.9: more unacknowledged messages than the broker's receive maximum are a protocol error. */
  #mostInFlight(): number {
    return this.#client.serverProperties?.receiveMaximum ?? 65_535;
  }

  #send(envelope: Envelope): void {
    const { topic, payload, qos, retain } = envelope;
    if (qos === 1) this.#inFlight++;
    this.#client.publish(
      topic,
      payload,
      { qos, retain, ...propertiesOf(envelope, this.#version) },
      (failure) => {
        if (qos === 1) this.#inFlight--;
        const code = (failure as { code?: unknown } | undefined)?.code;
        if (failure && typeof code === 'number') this.#listener.denied(topic, `${failure.message} (${code})`);
        const mayGo = this.#client.connected && this.#inFlight < this.#mostInFlight();
        const next = mayGo ? this.#waiting.shift() : undefined;
        if (next !== undefined) this.#send(next);
      },
    );
  }
}

function reset({ stream }: MqttClient): void {
  const socket = stream as {
    resetAndDestroy?: () => unknown;
    encrypted?: boolean;
    _parent?: { resetAndDestroy?: () => unknown };
  };
  if (socket.encrypted !== true && typeof socket.resetAndDestroy === 'function') socket.resetAndDestroy();
  else stream.destroy();
}
