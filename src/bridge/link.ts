// The life of the link: connect, subscribe, prove, watch, lose, wait, connect again.
//
// "Up" means proven: every filter granted AND our own heartbeat came back (R18). A broker may grant a subscription that
// the user may not read, and a half-open connection looks connected; only what comes back counts.
import { type Observable, Subject } from 'rxjs';
import type { Code } from '../errors/codes.ts';
import { LinkRefused, verdictOf } from '../errors/refusals.ts';
import { afterwards, delayMs, FRESH, looksLikeDuplicate, type Patience } from './backoff.ts';
import { Connection } from './connection.ts';
import type { Heartbeat } from './heartbeat.ts';
import { LIMITS } from './limits.ts';
import type { Log, Message } from './message.ts';
import type { News } from './news.ts';
import type { Envelope, Settings } from './packets.ts';

export interface LinkParts {
  readonly settings: Settings;
  readonly topics: { readonly heartbeat: string; readonly online: string; readonly timeNudge: string };
  readonly subscriptions: readonly string[];
  readonly provenWithinMs: number;
  /** In lock step a step begins only when the heartbeat is back: its age tells how long a step is, and nothing else. */
  readonly inLockStep: boolean;
  readonly heartbeat: Heartbeat;
  /** Station time, in which the age of the proof is counted. */
  readonly stationMs: () => number;
  /** The computer's monotonic clock, for waiting and for the length of sessions. */
  readonly monotonicMs: () => number;
  readonly chance: () => number;
  readonly log: Log;
}

type State = 'idle' | 'connecting' | 'proving' | 'up' | 'waiting' | 'closed';

export class Link {
  readonly #parts: LinkParts;
  readonly #news = new Subject<News>();
  /** Fails with LinkRefused when trying again is no use. */
  readonly news: Observable<News> = this.#news;
  #state: State = 'idle';
  #connection: Connection | null = null;
  #patience: Patience = FRESH;
  #openedMs: number | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  /** Why we cut the connection ourselves. */
  #cut: string | null = null;
  /** How long to stay away then, where that was asked for. */
  #awayMs: number | null = null;

  constructor(parts: LinkParts) {
    this.#parts = parts;
  }

  open(): void {
    const { settings, topics, heartbeat, inLockStep } = this.#parts;
    this.#state = 'connecting';
    this.#openedMs = null;
    this.#cut = null;
    this.#awayMs = null;
    heartbeat.forget();
    this.#connection = new Connection(
      settings,
      topics.online,
      {
        opened: () => this.#opened(),
        message: (message) => this.#message(message),
        denied: (topic, words) => this.#news.next({ news: 'denied', topic, words }),
        closed: (error, byOther) => this.#closed(error, byOther),
      },
      inLockStep ? topics.timeNudge : null,
    );
  }

  /** False where it was not sent; nothing is ever kept for a later connection. */
  publish(envelope: Envelope): boolean {
    return this.#connection?.publish(envelope) ?? false;
  }

  /** What was published is on its way when this returns. */
  flush(): void {
    this.#connection?.flush();
  }

  isUp(): boolean {
    return this.#state === 'up';
  }

  /** Every heartbeat that went out has come back. */
  isQuiet(): boolean {
    return this.#parts.heartbeat.isQuiet();
  }

  /** Up, and our own echo is young enough: the gate for every `on` (R2). */
  isProven(): boolean {
    const { heartbeat, stationMs, provenWithinMs, inLockStep } = this.#parts;
    return this.#state === 'up' && (inLockStep || heartbeat.ageMs(stationMs()) <= provenWithinMs);
  }

  /** To be called from every control tick: beats, and cuts a link that fell silent. A frozen loop beats no more. */
  watch(): void {
    const { heartbeat, stationMs, provenWithinMs } = this.#parts;
    if (this.#state !== 'up') return;
    if (!this.isProven()) this.#drop(`the own heartbeat has not come back for ${provenWithinMs} ms`);
    else if (stationMs() - heartbeat.lastSentMs() >= LIMITS.heartbeatMs) this.beat();
    this.#trustAgain();
  }

  beat(): void {
    const { heartbeat, topics, stationMs } = this.#parts;
    const payload = heartbeat.beat(stationMs());
    this.publish({ topic: topics.heartbeat, payload, retain: false, qos: 0 });
  }

  /** Without a word, as when a cable is pulled; and comes back after so long. */
  stayAway(forMs: number): void {
    this.#awayMs = forMs;
    this.#drop('cut on purpose, to see what the devices do without it');
  }

  /** `offline`, then DISCONNECT. */
  async close(): Promise<void> {
    this.#state = 'closed';
    clearTimeout(this.#timer);
    this.publish({ topic: this.#parts.topics.online, payload: 'offline', retain: true, qos: 1 });
    await this.#connection?.close();
  }

  #opened(): void {
    this.#state = 'proving';
    this.#openedMs = this.#parts.monotonicMs();
    // The subscriptions go first so that what follows comes back to us; nothing waits for their answer.
    const filters = [this.#parts.topics.heartbeat, ...this.#parts.subscriptions];
    void this.#connection?.subscribe(filters).then((refused) => this.#granted(refused));
    this.#news.next({ news: 'connected' });
  }

  #granted(refused: readonly string[] | null): void {
    if (this.#state !== 'proving' || refused === null) return;
    if (refused.length === 0) this.#prove(this.#parts.monotonicMs());
    else
      this.#fail(
        'E-316',
        `the broker does not let this user listen to ${refused.join(', ')}: allow it in the access list`,
      );
  }

  #prove(sinceMs: number): void {
    const { monotonicMs, provenWithinMs, topics } = this.#parts;
    if (this.#state !== 'proving') return;
    if (monotonicMs() - sinceMs >= provenWithinMs) {
      this.#drop(
        `the own heartbeat on ${topics.heartbeat} never comes back: may this user write AND read that topic?`,
      );
      return;
    }
    this.beat();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#prove(sinceMs), Math.min(LIMITS.heartbeatMs, provenWithinMs / 4));
  }

  #message(message: Message): void {
    const { topics, heartbeat, settings, log } = this.#parts;
    if (message.topic !== topics.heartbeat) {
      this.#news.next({ news: 'message', message });
      return;
    }
    const heard = heartbeat.heard(message.payload);
    if (heard === 'other' && !message.retain) this.#news.next({ news: 'other-instance' });
    if (heard !== 'own') return;
    if (this.#state === 'proving') {
      this.#state = 'up';
      clearTimeout(this.#timer);
      log.info({ mqtt: settings.version }, 'link-up');
      this.#news.next({ news: 'up' });
      if (looksLikeDuplicate(this.#patience)) this.#news.next({ news: 'duplicate-client', suspected: true });
    }
    this.#news.next({ news: 'echo' });
  }

  #closed(error: Error | null, byOther: boolean): void {
    const { settings, monotonicMs, chance, log } = this.#parts;
    this.#connection = null;
    clearTimeout(this.#timer);
    if (this.#state === 'closed') return;
    const verdict = error === null ? null : verdictOf(error, settings.version);
    const words = this.#cut ?? verdict?.words ?? 'the broker closed the connection';
    if (verdict?.final === true) {
      this.#fail(verdict.code, words);
      return;
    }
    const lastedMs = this.#openedMs === null ? null : monotonicMs() - this.#openedMs;
    this.#patience = afterwards(this.#patience, { lastedMs, byOther }, monotonicMs());
    const waitMs = this.#awayMs ?? delayMs(this.#patience, chance());
    const duplicate = looksLikeDuplicate(this.#patience);
    const code = this.#cut === null ? (verdict?.code ?? 'E-399') : 'E-399';
    log.warn({ words, code, lastedMs, waitMs, error: error?.message }, 'link-down');
    if (duplicate) log.error({ clientId: settings.clientId, waitMs }, 'link-duplicate-client');
    this.#state = 'waiting';
    this.#timer = setTimeout(() => this.open(), waitMs);
    this.#news.next({ news: 'down', words, code });
  }

  #fail(code: Code, words: string): void {
    this.#state = 'closed';
    clearTimeout(this.#timer);
    this.#parts.log.error({ words, code }, 'link-refused');
    this.#connection?.drop();
    this.#news.error(new LinkRefused(code, words));
  }

  #drop(words: string): void {
    this.#cut = words;
    this.#connection?.drop();
  }

  #trustAgain(): void {
    if (this.#openedMs === null || !looksLikeDuplicate(this.#patience)) return;
    if (this.#parts.monotonicMs() - this.#openedMs < LIMITS.stableMs) return;
    this.#patience = FRESH;
    this.#news.next({ news: 'duplicate-client', suspected: false });
  }
}
