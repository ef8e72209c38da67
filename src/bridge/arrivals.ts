// News of the link to inputs of the core, and what must be done on the spot: `off` to everything on connecting, an answer
// to a request that can't be used, an alarm about the link itself.
import type { Input } from '../control/types.ts';
import type { Plant } from '../station/plant.ts';
import type { Codec } from './codec.ts';
import type { News } from './link.ts';
import type { Log, Message } from './message.ts';
import type { Outbox } from './outbox.ts';
import type { OwnCommands, SentCommand } from './own-commands.ts';
import { type Requests, refusal } from './requests.ts';
import { answerMessage, type Topics } from './wire-out.ts';

export interface ArrivalsParts {
  readonly plant: Plant;
  readonly topics: Topics;
  readonly codec: Codec;
  readonly own: OwnCommands;
  readonly requests: Requests;
  readonly outbox: Outbox;
  /** R1: remove stored commands instead of only telling about them. */
  readonly clearRetained: boolean;
  readonly log: Log;
}

export class Arrivals {
  readonly #parts: ArrivalsParts;
  readonly #swallowed = new Set<string>();

  constructor(parts: ArrivalsParts) {
    this.#parts = parts;
  }

  inputsOf(news: News): readonly Input[] {
    const { own, outbox } = this.#parts;
    switch (news.news) {
      case 'connected':
        own.forget();
        outbox.offToEverything();
        return [];
      case 'up':
        outbox.announce();
        return [{ type: 'link', up: true }];
      case 'down':
        return [{ type: 'link', up: false }];
      case 'echo':
        for (const command of own.heartbeatCameBack()) this.#swallow(command);
        return [{ type: 'echo' }];
      case 'denied':
        return this.#denied(news.topic, news.words);
      case 'other-instance':
        this.#tellOfOtherInstance();
        return [];
      case 'duplicate-client':
        this.#tellOfDuplicate(news.suspected);
        return [];
      case 'message':
        return this.#read(news.message);
    }
  }

  /** A flood of requests does not reach the core; whoever asks is told so. */
  refuse(input: Input): void {
    const { outbox, topics } = this.#parts;
    if (input.type !== 'request') return;
    outbox.say(
      answerMessage(topics, refusal(input.id, 'too many requests at once: ask again, one after the other')),
    );
  }

  #read(message: Message): readonly Input[] {
    const { topics, codec, own, outbox, log } = this.#parts;
    const { topic, payload, retain } = message;
    if (topic === topics.request) return this.#request(message);
    if (codec.commandTopics.has(topic)) {
      if (own.isOwn(message)) return this.#cameBack(topic);
      if (retain) return this.#stored(message);
      log.warn({ topic }, 'foreign-command');
    }
    // What stands on our own topics and isn't ours was left behind by a run that ended without a word.
    if (retain && payload.byteLength > 0 && this.#isOurs(topic) && !outbox.isStanding(topic)) {
      outbox.say({ topic, payload: '', retain: true });
    }
    return codec.read(topic, payload, retain);
  }

  #isOurs(topic: string): boolean {
    const { topics } = this.#parts;
    return topic.startsWith(topics.alarm('')) || topic.startsWith(topics.task(''));
  }

  #request({ payload, retain }: Message): readonly Input[] {
    const { requests, outbox, topics, log } = this.#parts;
    // Clearing a stored request is no request.
    if (payload.byteLength === 0) return [];
    const asked = requests.read(payload, retain);
    if ('input' in asked) return [asked.input];
    if (asked.answer === null) return [];
    log.info({ ...asked.answer }, 'request-answered');
    outbox.say(answerMessage(topics, asked.answer));
    return [];
  }

  /** R1: a stored command switches a device on whenever that comes back to the broker, for years. */
  #stored({ topic, payload }: Message): readonly Input[] {
    const { codec, clearRetained, outbox, log } = this.#parts;
    const inputs = codec.read(topic, payload, true);
    const actuators = inputs.flatMap((input) => (input.type === 'foreign-command' ? [input.actuator] : []));
    const [actuator] = actuators;
    if (!clearRetained || actuator === undefined) {
      const mend =
        'start once with --clear-retained, and find out who publishes commands with the retain flag';
      log.error({ topic, actuators, mend }, 'command-stored');
      return inputs;
    }
    log.warn({ topic, actuators }, 'command-stored-cleared');
    outbox.clearStored(topic, actuator);
    return [];
  }

  #cameBack(topic: string): readonly Input[] {
    for (const { id, command } of Object.values(this.#parts.plant.actuators)) {
      if (command.topic !== topic || !this.#swallowed.delete(id)) continue;
      this.#alarm(`command-swallowed/${id}`, null);
    }
    return [];
  }

  /** R6: acknowledged, perhaps, and still never passed on: an access list of an old broker does that in silence (F13). */
  #swallow({ actuator, topic }: SentCommand): void {
    if (this.#swallowed.has(actuator)) return;
    this.#swallowed.add(actuator);
    this.#parts.log.error({ actuator, topic }, 'command-swallowed');
    this.#alarm(`command-swallowed/${actuator}`, {
      words: `The broker swallows commands to ${actuator}: what is published on ${topic} does not come back`,
      mend: 'Let this service write and read that topic in the access list of the broker',
    });
  }

  #denied(topic: string, words: string): readonly Input[] {
    const { plant, log } = this.#parts;
    log.error({ topic, words }, 'publish-denied');
    const actuators = Object.values(plant.actuators).filter(({ command }) => command.topic === topic);
    for (const { id } of actuators) {
      this.#swallowed.add(id);
      this.#alarm(`command-swallowed/${id}`, {
        words: `The broker refuses commands to ${id} on ${topic}: ${words}`,
        mend: 'Let this service write that topic in the access list of the broker',
      });
    }
    // A device that can't be told anything is not under control, whatever it last said.
    return actuators.map(({ id }) => ({ type: 'bad-feedback', actuator: id, reason: 'offline' }));
  }

  /** R14. */
  #tellOfOtherInstance(): void {
    this.#parts.log.error({}, 'other-instance');
    this.#alarm('other-instance', {
      words: 'Another service is running this station: its heartbeat is on our topic',
      mend: 'Stop one of the two. Until then both hold whatever the other commands',
    });
  }

  #tellOfDuplicate(suspected: boolean): void {
    const told = {
      words: 'The broker throws this service out again and again: somebody else uses its client id',
      mend: 'Stop the other service, or give one of the two stations another id',
    };
    this.#alarm('duplicate-client', suspected ? told : null);
  }

  #alarm(alarm: string, told: { readonly words: string; readonly mend: string } | null): void {
    const state = told === null ? 'normal' : 'unacknowledged';
    this.#parts.outbox.report({
      do: 'alarm',
      alarm,
      state,
      priority: 'urgent',
      words: '',
      mend: '',
      ...told,
    });
  }
}
