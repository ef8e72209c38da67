// News of the link to inputs of the core, and what must be done on the spot: `off` to everything on connecting, an answer
// to a request that can't be used, an alarm about the link itself.
import type { Input } from '../control/guard/types.ts';
import type { Codec } from './codec.ts';
import type { Hands } from './hands.ts';
import { LIMITS } from './limits.ts';
import type { LinkAlarms } from './link-alarms.ts';
import type { Log, Message } from './message.ts';
import type { News } from './news.ts';
import type { Outbox } from './outbox.ts';
import type { OwnCommands } from './own-commands.ts';
import { type Requests, refusal } from './requests.ts';
import { answerMessage, type Topics } from './wire-out.ts';

export interface ArrivalsParts {
  readonly topics: Topics;
  readonly codec: Codec;
  readonly own: OwnCommands;
  readonly requests: Requests;
  readonly outbox: Outbox;
  readonly alarms: LinkAlarms;
  readonly hands: Hands;
  /** R1: remove stored commands instead of only telling about them. */
  readonly clearRetained: boolean;
  readonly log: Log;
}

export class Arrivals {
  readonly #parts: ArrivalsParts;
  readonly #counts = new Map<string, number>();
  /** Requests refused since the last heartbeat. */
  #refused = 0;

  constructor(parts: ArrivalsParts) {
    this.#parts = parts;
  }

  inputsOf(news: News): readonly Input[] {
    const { own, outbox, alarms, hands } = this.#parts;
    switch (news.news) {
      case 'connected':
        own.forget();
        hands.forget();
        outbox.offToEverything();
        return [];
      case 'up':
        outbox.announce();
        return [{ type: 'link', up: true }];
      case 'down':
        return [{ type: 'link', up: false }];
      case 'echo':
        this.#refused = 0;
        for (const command of own.heartbeatCameBack()) alarms.swallowed(command);
        return [{ type: 'echo' }];
      case 'denied':
        // A device that can't be told anything is not under control, whatever it last said.
        return alarms
          .denied(news.topic, news.words)
          .map((actuator) => ({ type: 'bad-feedback', actuator, reason: 'offline' }));
      case 'other-instance':
        alarms.otherInstance();
        return [];
      case 'duplicate-client':
        alarms.duplicateClient(news.suspected);
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
    const { topics, codec, own, outbox, alarms, hands } = this.#parts;
    const { topic, payload, retain } = message;
    if (topic === topics.request) return this.#request(message);
    if (codec.commandTopics.has(topic)) {
      if (own.isOwn(message)) {
        alarms.reached(topic);
        return [];
      }
      // MQTT 5, 3.3.1.3: an empty message clears what the broker stored. Whoever sends it commands nothing.
      const isEmpty = payload.byteLength === 0;
      if (retain && !isEmpty) return this.#stored(message);
      this.#tellNowAndThen(isEmpty ? 'command-topic-emptied' : 'foreign-command', topic);
    }
    // What stands on our own topics and isn't ours was left behind by a run that ended without a word.
    if (retain && payload.byteLength > 0 && this.#isOurs(topic) && !outbox.isStanding(topic)) {
      outbox.say({ topic, payload: '', retain: true });
    }
    return hands.seen(codec.read(topic, payload, retain));
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
    // A flood of nonsense is not answered piece by piece: that would make two floods of one.
    if (asked.answer === null || ++this.#refused > LIMITS.queuedRequests) return [];
    log.info({ ...asked.answer }, 'request-answered');
    outbox.say(answerMessage(topics, asked.answer));
    return [];
  }

  /** The 1st, the 10th, the 100th time: a flood on the wire must not become a flood in the log. */
  #tellNowAndThen(event: string, topic: string): void {
    const times = (this.#counts.get(topic) ?? 0) + 1;
    this.#counts.set(topic, times);
    if (Number.isInteger(Math.log10(times))) this.#parts.log.warn({ topic, times }, event);
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
}
