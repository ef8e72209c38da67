// Keeps the Homie tree equal to what the station says: one step at a time, each acknowledged before the next, and of what
// comes meanwhile only the newest counts. A slow broker makes the tree late and nothing else.
import type { Announcement } from './announcements.ts';
import type { HubConnection } from './connection.ts';
import { arrival, departure, pause, type Step } from './life.ts';
import type { Memory } from './memory.ts';
import type { Device, Property } from './model.ts';
import type { Shown } from './row.ts';
import { type Pins, pin, pinned } from './targets.ts';
import { changes, type Picture, type Publish, pictureOf, stateTopic, stored } from './view.ts';

export interface MirrorParts {
  readonly device: Device;
  readonly announcements: readonly Announcement[];
  readonly memory: Memory;
  /** It can't go on over this connection. */
  readonly troubled: (words: string) => void;
  /** What stands on the broker could not be written down. */
  readonly forgot: (words: string) => void;
}

export class Mirror {
  readonly #parts: MirrorParts;
  #connection: HubConnection | null = null;
  #shown: Shown | null = null;
  #pins: Pins = new Map();
  /** What stands on the broker because of this connection; null: not ready. */
  #stood: Map<string, string> | null = null;
  #once: Publish[] = [];
  #busy: Promise<void> | null = null;
  /** Something came while it was at work, perhaps after it had looked for the last time. */
  #again = false;
  #leaving = false;
  published = 0;

  constructor(parts: MirrorParts) {
    this.#parts = parts;
  }

  isReady(): boolean {
    return this.#stood !== null;
  }

  /** A new connection: what stands on the broker is not known any more. Resolves when the device has shown itself. */
  async begin(connection: HubConnection): Promise<void> {
    this.#connection = connection;
    await this.#walk(arrival(this.#parts.device, null));
  }

  /** The connection is gone, and with it everything that waited for it. */
  end(): void {
    this.#connection = null;
    this.#stood = null;
    this.#once = [];
  }

  /** @param shown null where the station does not speak: then the device is not ready. */
  show(shown: Shown | null): void {
    this.#shown = shown;
    this.#poke();
  }

  /** Goes out once and leaves nothing behind. */
  say(message: Publish): void {
    this.#once.push(message);
    this.#poke();
  }

  /** Everything that was announced, once more; one after the other, each acknowledged before the next. */
  announceAgain(): void {
    if (this.#stood === null) return;
    const { device, announcements } = this.#parts;
    const topics = new Set(announcements.map(({ topic }) => topic));
    // Hubs that start again and again make no queue that grows.
    this.#once = this.#once.filter(({ topic }) => !topics.has(topic));
    for (const { topic, payload } of announcements) this.say(stored(device, topic, payload));
  }

  /** C2, C4: an accepted command shows itself in `$target`, exactly as it was sent, before the value moves. */
  accept(property: Property, command: { readonly payload: string; readonly value: string }): void {
    const { device } = this.#parts;
    if (this.#shown !== null) this.#pins = pin(this.#pins, property, this.#shown, command);
    if (property.targetTopic !== null) {
      this.#stood?.set(property.targetTopic, command.payload);
      this.say(stored(device, property.targetTopic, command.payload));
    } else if (!property.retained) {
      this.say({ topic: property.topic, payload: command.payload, retain: false, qos: 0 });
    }
  }

  async leave(): Promise<void> {
    this.#leaving = true;
    await this.#busy?.catch(() => {});
    for (const step of departure(this.#parts.device)) await this.#step(step).catch(() => {});
  }

  #poke(): void {
    if (this.#busy !== null) this.#again = true;
    if (this.#busy !== null || this.#leaving || this.#connection === null) return;
    this.#again = false;
    this.#busy = this.#work()
      .catch((error) => {
        this.#stood = null;
        if (!this.#leaving) this.#parts.troubled(error instanceof Error ? error.message : String(error));
      })
      .finally(() => {
        this.#busy = null;
        if (this.#again) this.#poke();
      });
  }

  async #work(): Promise<void> {
    while (await this.#next());
  }

  /** One thing that there is to do; false: nothing. */
  async #next(): Promise<boolean> {
    const { device } = this.#parts;
    const once = this.#once.shift();
    const shown = this.#shown;
    if (this.#leaving || this.#connection === null) return false;
    if (once !== undefined) {
      await this.#walk([{ do: 'publish', message: once }]);
      return true;
    }
    if (shown === null && this.#stood === null) return false;
    if (shown === null) {
      this.#stood = null;
      await this.#walk(pause(device));
      return true;
    }
    if (this.#stood === null) {
      await this.#arrive(shown);
      return true;
    }
    return this.#follow(shown, this.#stood);
  }

  async #arrive(shown: Shown): Promise<void> {
    const { device, memory, announcements } = this.#parts;
    const picture = this.#pictureOf(shown);
    const kept = new Set(announcements.map(({ topic }) => topic));
    const leftBehind = memory.topics().filter((topic) => !kept.has(topic));
    this.#remember(picture);
    const steps = arrival(device, shown, leftBehind);
    await this.#walk(steps.slice(0, -1));
    await this.#walk(
      announcements.map(({ topic, payload }) => ({ do: 'publish', message: stored(device, topic, payload) })),
    );
    await this.#walk(steps.slice(-1));
    this.#stood = new Map(picture);
    // Only now is the rest really gone.
    this.#keep(this.#standing(picture));
  }

  async #follow(shown: Shown, stood: Map<string, string>): Promise<boolean> {
    const picture = this.#pictureOf(shown);
    const messages = changes(this.#parts.device, stood, picture);
    if (messages.length === 0) return false;
    this.#remember(picture);
    await this.#walk(messages.map((message) => ({ do: 'publish', message })));
    this.#stood = new Map(picture);
    return true;
  }

  #pictureOf(shown: Shown): Picture {
    const { picture, pins } = pinned(pictureOf(this.#parts.device, shown), this.#pins);
    this.#pins = pins;
    return picture;
  }

  #remember(picture: Picture): void {
    this.#keep([...this.#parts.memory.topics(), ...this.#standing(picture)]);
  }

  /** A full disk must not take the station off the hub: then something may stay on the broker that nobody withdraws. */
  #keep(topics: readonly string[]): void {
    try {
      this.#parts.memory.keep(topics);
    } catch (error) {
      this.#parts.forgot(error instanceof Error ? error.message : String(error));
    }
  }

  #standing(picture: Picture): readonly string[] {
    const { device, announcements } = this.#parts;
    return [stateTopic(device), ...picture.keys(), ...announcements.map(({ topic }) => topic)];
  }

  async #walk(steps: readonly Step[]): Promise<void> {
    for (const step of steps) {
      // `ready` after `disconnected` would be a lie that stands for ever.
      if (this.#leaving) return;
      await this.#step(step);
    }
  }

  async #step(step: Step): Promise<void> {
    const { device } = this.#parts;
    const connection = this.#connection;
    if (connection === null) throw new Error('the connection ended');
    if (step.do === 'subscribe') await connection.subscribe(step.filters, device.qos);
    else if (step.do === 'unsubscribe') await connection.unsubscribe(step.filters);
    else {
      await connection.publish(step.message);
      this.published++;
    }
  }
}
