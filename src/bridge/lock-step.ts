// Lock step with a simulated water: it says how far time went and waits until everything that follows from that is on
// the wire. A step begins when its `time` is here AND our last heartbeat is back, so that the proof of the link is the
// same in every run, however fast a broker carries this or that.
import { Observable } from 'rxjs';
import { readTime, type TimeMessage } from './clockwork.ts';
import { LIMITS } from './limits.ts';
import type { Link } from './link.ts';
import type { Outgoing } from './message.ts';
import { documentOf } from './values.ts';
import type { Topics } from './wire-out.ts';

export class LockStep {
  readonly #link: Link;
  readonly #topics: Topics;
  readonly #say: (message: Outgoing) => void;
  #waiting: TimeMessage | null = null;
  #done: number | null = null;
  /** The steps, each once. */
  readonly times: Observable<TimeMessage>;

  constructor(link: Link, topics: Topics, say: (message: Outgoing) => void) {
    this.#link = link;
    this.#topics = topics;
    this.#say = say;
    this.times = new Observable((subscriber) => {
      const look = () => {
        const time = this.#waiting;
        if (time === null || !link.isQuiet()) return;
        this.#waiting = null;
        subscriber.next(time);
      };
      const listening = link.news.subscribe({
        next: (news) => {
          if (news.news === 'message' && news.message.topic === topics.time) this.#take(news.message.payload);
          if (news.news === 'down') this.#waiting = null;
          look();
        },
        error: (error) => subscriber.error(error),
      });
      // QoS 0 may get lost, and then nobody would ever move again.
      const timer = setInterval(() => {
        if (this.#waiting !== null) link.beat();
      }, LIMITS.heartbeatMs);
      return () => {
        clearInterval(timer);
        listening.unsubscribe();
      };
    });
  }

  done(step: number): void {
    this.#done = step;
    this.#say({ topic: this.#topics.timeDone, payload: JSON.stringify({ step }), retain: false });
  }

  #take(payload: Uint8Array): void {
    const time = readTime(documentOf(payload).json());
    if (time === null || !this.#link.isUp()) return;
    // Asked again: the answer got lost, or the water did not see that we came back.
    if (time.step === this.#done) this.done(time.step);
    else this.#waiting = time;
  }
}
