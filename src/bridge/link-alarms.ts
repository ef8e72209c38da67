// Alarms about the link itself, which no interlock knows of: commands that never reach anybody, and a second service.
import { doing, respond } from '../control/guard/response.ts';
import { type Message, message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import type { Log } from './message.ts';
import type { Outbox } from './outbox.ts';
import type { SentCommand } from './own-commands.ts';

export class LinkAlarms {
  readonly #plant: Plant;
  readonly #outbox: Outbox;
  readonly #log: Log;
  readonly #unreached = new Set<string>();

  constructor(plant: Plant, outbox: Outbox, log: Log) {
    this.#plant = plant;
    this.#outbox = outbox;
    this.#log = log;
  }

  /** R6: acknowledged, perhaps, and still never passed on: an access list of an old broker does that in silence (F13). */
  swallowed({ actuator, topic }: SentCommand): void {
    if (this.#unreached.has(actuator)) return;
    this.#log.error({ actuator, topic }, 'command-swallowed');
    this.#unreachable(actuator, {
      words: message('commands-swallowed', { what: actuator, topic }),
      response: respond(doing(message('do-commands-swallowed'))),
    });
  }

  /** MQTT 5 says so at once. Returns the actuators that can't be commanded. */
  denied(topic: string, words: string): readonly string[] {
    this.#log.error({ topic, words }, 'publish-denied');
    const actuators = this.#on(topic);
    for (const id of actuators) {
      this.#unreachable(id, {
        words: message('commands-refused', { what: id, topic, reason: words }),
        response: respond(doing(message('do-commands-refused'))),
      });
    }
    return actuators;
  }

  /** A command came back: the broker passes them on (again). */
  reached(topic: string): void {
    for (const id of this.#on(topic))
      if (this.#unreached.delete(id)) this.#alarm(`command-swallowed/${id}`, null);
  }

  /** R14. */
  otherInstance(): void {
    this.#log.error({}, 'other-instance');
    this.#alarm('other-instance', {
      words: message('other-instance'),
      response: respond(doing(message('do-other-instance'))),
    });
  }

  /** R16. */
  duplicateClient(suspected: boolean): void {
    const told = {
      words: message('duplicate-client'),
      response: respond(doing(message('do-duplicate-client'))),
    };
    this.#alarm('duplicate-client', suspected ? told : null);
  }

  #on(topic: string): readonly string[] {
    return Object.values(this.#plant.actuators)
      .filter(({ command }) => command.topic === topic)
      .map(({ id }) => id);
  }

  #unreachable(actuator: string, told: Told): void {
    this.#unreached.add(actuator);
    this.#alarm(`command-swallowed/${actuator}`, told);
  }

  #alarm(alarm: string, told: Told | null): void {
    const state = told === null ? 'normal' : 'unacknowledged';
    const { words, response } = told ?? NOTHING;
    this.#outbox.report({ do: 'alarm', alarm, state, priority: 'urgent', words, response });
  }
}

interface Told {
  readonly words: Message;
  readonly response: Message;
}
const NOTHING: Told = { words: message('nothing'), response: message('nothing') };
