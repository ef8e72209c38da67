// The station as a Homie device: what the service says on its own topics is put on the Homie tree, and what a hub sets
// there is asked of the service as anybody else would ask. So this side needs no right to command anything, and its account
// at the broker has none.
import type { ToldStatus as Status } from '../control/process/describe.ts';
import type { Announcement } from './announcements.ts';
import { commandOf } from './commands.ts';
import { type Arrived, type BrokerAccess, connect, type HubConnection } from './connection.ts';
import type { Memory } from './memory.ts';
import { Mirror } from './mirror.ts';
import type { Device } from './model.ts';
import { Requests } from './requests.ts';
import type { Shown } from './row.ts';
import { logMessage, stateTopic, stored } from './view.ts';

/** A stable event name and what belongs to it. pino's loggers fit. */
export interface Log {
  readonly info: (fields: object, event: string) => void;
  readonly warn: (fields: object, event: string) => void;
  readonly error: (fields: object, event: string) => void;
}

export interface HomieOptions {
  readonly device: Device;
  readonly announcements: readonly Announcement[];
  readonly access: BrokerAccess;
  readonly memory: Memory;
  /** Tells the requests of this start from those of every other. */
  readonly boot: string;
  /** 0 <= chance < 1; decides when to connect again and nothing else. */
  readonly chance: () => number;
  readonly log: Log;
}

export interface Homie {
  readonly counts: () => Counts;
  readonly isReady: () => boolean;
  /** `disconnected`, then goodbye. */
  readonly close: () => Promise<void>;
}

export interface Counts {
  readonly published: number;
  /** Commands that were history, and commands that asked for what can't be. */
  readonly dropped: number;
  readonly refused: number;
}

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 30_000;
/** After so long in one piece the connection is trusted again. */
const STABLE_MS = 60_000;
const LOGGED_A_MINUTE = 30;

export function startHomie(options: HomieOptions): Homie {
  const side = new HomieSide(options);
  side.open();
  return { counts: () => side.counts(), isReady: () => side.isReady(), close: () => side.close() };
}

class HomieSide {
  readonly #options: HomieOptions;
  readonly #requests: Requests;
  readonly #mirror: Mirror;
  readonly #own: string;
  #connection: HubConnection | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #tries = 0;
  #openedMs: number | null = null;
  #closing = false;
  #status: Status | null = null;
  #online = false;
  #last: Shown['last'] = { result: 'none', words: '' };
  #dropped = 0;
  #refused = 0;
  #logged = { minute: -1, count: 0 };

  constructor(options: HomieOptions) {
    const { device, announcements, memory } = options;
    this.#options = options;
    this.#own = `vatwarden/${device.id}/`;
    this.#requests = new Requests(options.boot, (words) => this.#refuse(words));
    this.#mirror = new Mirror({
      device,
      announcements,
      memory,
      troubled: (words) => this.#troubled(words),
      forgot: (words) => this.#options.log.warn({ words }, 'homie-memory'),
    });
  }

  counts(): Counts {
    return { published: this.#mirror.published, dropped: this.#dropped, refused: this.#refused };
  }

  isReady(): boolean {
    return this.#mirror.isReady();
  }

  open(): void {
    const { access, device } = this.#options;
    // S1: the will of the root device, by the one connection that a device has.
    this.#connection = connect(access, stored(device, stateTopic(device), 'lost'), {
      opened: () => void this.#opened().catch((error: Error) => this.#troubled(error.message)),
      message: (message) => this.#heard(message),
      closed: (words) => this.#closed(words),
    });
  }

  async close(): Promise<void> {
    this.#closing = true;
    clearTimeout(this.#timer);
    this.#requests.forget();
    await this.#mirror.leave();
    await this.#connection?.close();
  }

  async #opened(): Promise<void> {
    const { device, log } = this.#options;
    const connection = this.#connection;
    if (connection === null) return;
    this.#openedMs = performance.now();
    // Said at once: what stands there may be `lost`, by our own will a moment ago.
    await this.#mirror.begin(connection);
    const own = ['status', 'answer', 'online', 'record'].map((topic) => `${this.#own}${topic}`);
    const birth = device.discovery === null ? [] : [device.discovery.birth];
    await connection.subscribe([...own, ...birth], 1);
    log.info({ device: device.root }, 'homie-connected');
  }

  #closed(words: string): void {
    const { chance, log } = this.#options;
    this.#connection = null;
    this.#mirror.end();
    this.#requests.forget();
    this.#status = null;
    this.#online = false;
    if (this.#closing) return;
    const lastedMs = this.#openedMs === null ? 0 : performance.now() - this.#openedMs;
    this.#openedMs = null;
    this.#tries = lastedMs > STABLE_MS ? 0 : Math.min(this.#tries + 1, 10);
    const mostMs = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** this.#tries);
    const waitMs = FIRST_WAIT_MS + chance() * (mostMs - FIRST_WAIT_MS);
    log.warn({ words, waitMs }, 'homie-down');
    this.#timer = setTimeout(() => this.open(), waitMs);
  }

  /** A refused subscription, a denied topic: not to be tried again at once, and never in a tight loop. The will tells hubs. */
  #troubled(words: string): void {
    this.#options.log.error({ words }, 'homie-trouble');
    this.#connection?.drop();
  }

  #heard(message: Arrived): void {
    if (message.topic === this.#options.device.discovery?.birth) return this.#born(message);
    if (!message.topic.startsWith(this.#own)) return this.#asked(message);
    const text = Buffer.from(message.payload).toString();
    switch (message.topic.slice(this.#own.length)) {
      case 'online':
        this.#online = text === 'online';
        break;
      case 'status':
        this.#status = statusIn(text, this.#options.device.id);
        break;
      case 'answer':
        this.#answered(json(text));
        break;
      case 'record':
        this.#recorded(json(text));
        return;
    }
    this.#show();
  }

  /** A hub has started: what it was told before its time is told again. A stored birth is of a hub that was there already. */
  #born({ payload, retain }: Arrived): void {
    if (!retain && Buffer.from(payload).toString() === 'online') this.#mirror.announceAgain();
  }

  #asked(message: Arrived): void {
    const { device, log } = this.#options;
    const command = commandOf(device, this.#shown(), message);
    if (command.is === 'refused') return this.#refuse(command.words);
    if (command.is === 'dropped') {
      this.#dropped++;
      log.warn({ topic: message.topic, why: command.why }, 'homie-command-dropped');
      return this.#say('warn', `not read, because it was ${command.why}: a command on ${message.topic}`);
    }
    const request = this.#requests.ask(command);
    if (request === null) return;
    this.#mirror.say({ topic: `${this.#own}request`, payload: request, retain: false, qos: 1 });
  }

  #answered(answer: unknown): void {
    const settled = this.#requests.settle(answer);
    if (settled === null) return;
    const { command, accepted, words } = settled;
    if (!accepted) return this.#refuse(words);
    this.#last = { result: 'accepted', words };
    if (command.property !== null) this.#mirror.accept(command.property, command);
  }

  /** C7: Homie knows no refusal, so nothing moves; the log and the last command say why. */
  #refuse(words: string): void {
    this.#refused++;
    this.#last = { result: 'refused', words };
    this.#options.log.warn({ words }, 'homie-command-refused');
    this.#say('warn', `refused: ${words}`);
    this.#show();
  }

  #recorded(record: unknown): void {
    const { about, message } = (record ?? {}) as { about?: unknown; message?: { text?: unknown } };
    const words = message?.text;
    if (typeof words === 'string')
      this.#say(about === 'trip' ? 'warn' : 'info', `${String(about)}: ${words}`);
  }

  #say(level: 'error' | 'warn' | 'info', words: string): void {
    const message = logMessage(this.#options.device, level, words);
    const minute = Math.floor(performance.now() / 60_000);
    if (minute !== this.#logged.minute) this.#logged = { minute, count: 0 };
    if (message !== null && ++this.#logged.count <= LOGGED_A_MINUTE) this.#mirror.say(message);
  }

  #shown(): Shown | null {
    return this.#status === null ? null : { status: this.#status, last: this.#last };
  }

  #show(): void {
    this.#mirror.show(this.#online ? this.#shown() : null);
  }
}

/** Null for what is no status of this station: nothing is shown rather than something made up. */
function statusIn(text: string, station: string): Status | null {
  const status = json(text) as Status | null;
  return status?.station === station && typeof status.units === 'object' ? status : null;
}

function json(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
