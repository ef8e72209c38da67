// Alarms about the link itself, which no interlock knows of: commands that never reach anybody, and a second service.
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
      words: `The broker swallows commands to ${actuator}: what is published on ${topic} does not come back`,
      mend: 'Let this service write and read that topic in the access list of the broker',
    });
  }

  /** MQTT 5 says so at once. Returns the actuators that can't be commanded. */
  denied(topic: string, words: string): readonly string[] {
    this.#log.error({ topic, words }, 'publish-denied');
    const actuators = this.#on(topic);
    for (const id of actuators) {
      this.#unreachable(id, {
        words: `The broker refuses commands to ${id} on ${topic}: ${words}`,
        mend: 'Let this service write that topic in the access list of the broker',
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
      words: 'Another service is running this station: its heartbeat is on our topic',
      mend: 'Stop one of the two. Until then both hold whatever the other commands',
    });
  }

  /** R16. */
  duplicateClient(suspected: boolean): void {
    const told = {
      words: 'The broker throws this service out again and again: somebody else uses its client id',
      mend: 'Stop the other service, or give one of the two stations another id',
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
    this.#outbox.report({ do: 'alarm', alarm, state, priority: 'urgent', words: '', mend: '', ...told });
  }
}

interface Told {
  readonly words: string;
  readonly mend: string;
}
