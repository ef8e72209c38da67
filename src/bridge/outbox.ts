// Effects to the wire and the state file, in the one order that is safe whatever fails in between:
// `off` at once, reports next, `on` only when the state that contains it is durable.
//
// If the power fails after an `on` that no file knows of, the service wakes up and believes that nothing ran. If it
// fails after an `off` that no file knows of, it believes too much ran, which is the safe side.

import type { Effect, Task } from '../control/guard/types.ts';
import { englishOf, type Say } from '../language/english.ts';
import { type Told, told } from '../language/told.ts';
import { isUnique, renderPayload } from '../station/payloads.ts';
import type { Actuator, Plant } from '../station/plant.ts';
import { LIMITS } from './limits.ts';
import type { Log, Outgoing } from './message.ts';
import type { OwnCommands } from './own-commands.ts';
import type { Envelope } from './packets.ts';
import { type Alarm, alarmMessage, messageOf, type Report, type Topics } from './wire-out.ts';

type Command = Extract<Effect, { readonly do: 'command' }>;

export interface OutboxParts {
  readonly plant: Plant;
  readonly topics: Topics;
  readonly boot: string;
  readonly own: OwnCommands;
  readonly link: {
    readonly publish: (envelope: Envelope) => boolean;
    /** Sends what was published at once, before whatever else this turn still does. */
    readonly flush: () => void;
    readonly isProven: () => boolean;
  };
  readonly nowMs: () => number;
  /** True once durable; null where the station keeps no state. */
  readonly save: ((state: unknown) => Promise<boolean>) | null;
  readonly log: Log;
  /** Called with every `off`, and with every `on` that went out. */
  readonly commanded?: (actuator: string, on: boolean) => void;
}

export class Outbox {
  readonly #parts: OutboxParts;
  readonly #inEnglish: Say;
  #sequence = 0;
  /** Rises with every command to an actuator: an `on` that waited is void when another came after it. */
  readonly #generations = new Map<string, number>();
  readonly #on = new Set<string>();
  /** How often each was switched off: an `on` from before an `off` says nothing about one from after it. */
  readonly #offs = new Map<string, number>();
  readonly #durablyOn = new Set<string>();
  #savedMs = Number.NEGATIVE_INFINITY;
  /** Tasks and alarms that stand on the broker because of us, by topic. */
  readonly #standing = new Map<string, Outgoing>();

  constructor(parts: OutboxParts) {
    this.#parts = parts;
    this.#inEnglish = englishOf(parts.plant);
  }

  /** Returns when everything has gone out or was withheld. What may go at once has gone when the call returns. */
  send(state: unknown, effects: readonly Effect[]): Promise<void> {
    const commands = effects.filter((effect) => effect.do === 'command');
    const changes = commands.some(({ actuator, on }) => this.#on.has(actuator) !== on);
    const offs = commands.filter(({ on }) => !on);
    for (const command of offs) this.#command(command);
    if (offs.length > 0) this.#parts.link.flush();
    for (const effect of effects)
      if (effect.do !== 'command' && effect.do !== 'proof-test') this.report(effect);
    const ons = commands.filter(({ on }) => on);
    const isNew = ons.some(({ actuator }) => !this.#durablyOn.has(actuator));
    const isUrgent = changes || isNew || effects.some((effect) => effect.do === 'record');
    const saved = this.#remember(state, ons, isUrgent);
    const waiting: Promise<void>[] = [];
    for (const command of ons) {
      if (saved === null || this.#durablyOn.has(command.actuator)) this.#command(command);
      else waiting.push(this.#commandAfter(saved, command));
    }
    return Promise.all(waiting).then(() => {});
  }

  /** R5: before anything else on a connection. Also the last thing before leaving, and the first when the core fails. */
  offToEverything(except: ReadonlySet<string> = new Set()): void {
    for (const actuator of Object.keys(this.#parts.plant.actuators)) {
      if (!except.has(actuator)) this.#command({ do: 'command', actuator, on: false, leaseMs: 0 });
    }
    this.#parts.link.flush();
  }

  report(report: Report): void {
    const message = messageOf(this.#parts.topics, told(this.#inEnglish, report));
    if (message.retain && message.payload === '') this.#standing.delete(message.topic);
    else if (message.retain) this.#standing.set(message.topic, message);
    this.say(message);
  }

  /** What stands already when the service wakes up; said on connecting. */
  stand(alarms: readonly Alarm[], task: Told<Task> | null): void {
    const { topics } = this.#parts;
    const messages = alarms.map((alarm) => alarmMessage(topics, alarm));
    if (task !== null) messages.push(messageOf(topics, { do: 'ask', vessel: task.vessel, task }));
    for (const message of messages) if (message.payload !== '') this.#standing.set(message.topic, message);
  }

  /** After each connect: the broker may have forgotten what stood there, and others must not go on believing it. */
  announce(): void {
    this.say({ topic: this.#parts.topics.online, payload: 'online', retain: true });
    for (const message of this.#standing.values()) this.say(message);
  }

  isStanding(topic: string): boolean {
    return this.#standing.has(topic);
  }

  /** R7: QoS 1 for everything but heartbeats. */
  say(message: Outgoing): void {
    this.#parts.link.publish({ ...message, qos: 1 });
  }

  /** R1: removes what somebody stored on a command topic. Our own empty message comes back, too. */
  clearStored(topic: string, actuator: string): void {
    this.#publish({ topic, payload: '', retain: true }, { actuator, unique: false, expiryMs: null });
  }

  async #commandAfter(saved: Promise<boolean>, command: Command): Promise<void> {
    const { actuator } = command;
    const generation = this.#nextGeneration(actuator);
    const issuedMs = this.#parts.nowMs();
    const durable = await saved;
    if (this.#generations.get(actuator) !== generation) return;
    const waitedMs = this.#parts.nowMs() - issuedMs;
    if (durable && waitedMs <= LIMITS.onMayWaitMs) this.#command(command);
    else this.#parts.log.warn({ actuator, durable, waitedMs }, 'command-withheld');
  }

  #command({ actuator, on, leaseMs }: Command): void {
    const { plant, log, link, boot, nowMs, commanded } = this.#parts;
    this.#nextGeneration(actuator);
    if (!on) this.#forgetOn(actuator);
    // R2: an `on` goes only over a proven link; an `off` is tried over any.
    if (on && !link.isProven()) return log.warn({ actuator, on }, 'command-withheld');
    const { command } = plant.actuators[actuator] as Actuator;
    const template = on ? command.on : command.off;
    const payload = renderPayload(template, {
      leaseMs,
      sequence: this.#sequence + 1,
      boot,
      issuedMs: nowMs(),
    });
    const envelope = { topic: command.topic, payload, retain: false };
    const went = this.#publish(envelope, {
      actuator,
      unique: isUnique(template),
      expiryMs: on ? leaseMs : null,
    });
    if (went || !on) commanded?.(actuator, on);
    log.debug({ actuator, on, leaseMs, went }, went ? 'command-sent' : 'command-not-sent');
  }

  /** R3, R4: rising sequence, boot, lease in the payload; expiry and signature beside it where MQTT 5 has room. */
  #publish(message: Outgoing, how: { actuator: string; unique: boolean; expiryMs: number | null }): boolean {
    const { link, own } = this.#parts;
    const sequence = ++this.#sequence;
    const went = link.publish({
      ...message,
      qos: 1,
      sender: own.signature(sequence),
      ...(how.expiryMs === null ? {} : { expiryS: Math.ceil(how.expiryMs / 1000), nowOrNever: true }),
    });
    if (went) own.sent({ ...message, actuator: how.actuator, sequence, unique: how.unique });
    return went;
  }

  /** The save that these `on` wait for; null where the station keeps no state. */
  #remember(state: unknown, ons: readonly Command[], isUrgent: boolean): Promise<boolean> | null {
    const { save, nowMs } = this.#parts;
    if (save === null) return null;
    for (const { actuator } of ons) this.#on.add(actuator);
    const isDue = nowMs() - this.#savedMs >= LIMITS.saveEveryMs;
    if (!isUrgent && !isDue) return Promise.resolve(true);
    this.#savedMs = nowMs();
    const containing = [...this.#on].map((actuator) => [actuator, this.#offs.get(actuator)] as const);
    return save(state).then((durable) => {
      for (const [actuator, offs] of containing) {
        if (durable && this.#on.has(actuator) && this.#offs.get(actuator) === offs)
          this.#durablyOn.add(actuator);
      }
      return durable;
    });
  }

  #forgetOn(actuator: string): void {
    this.#on.delete(actuator);
    this.#durablyOn.delete(actuator);
    this.#offs.set(actuator, (this.#offs.get(actuator) ?? 0) + 1);
  }

  #nextGeneration(actuator: string): number {
    const next = (this.#generations.get(actuator) ?? 0) + 1;
    this.#generations.set(actuator, next);
    return next;
  }
}
