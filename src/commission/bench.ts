// The station on the bench: what a step may ask of it. It holds what is tried now, follows every turn of the bridge, keeps what
// was heard with its moment, and ends every wait at once when a person says stop or the link is lost.
import type { Turn } from '../bridge/pipeline.ts';
import { stepCommissioning, type Tried } from '../control/commissioning.ts';
import { forbiddenAlone } from '../control/guard/alone.ts';
import { forbiddenBy, rowOf } from '../control/guard/interlocks.ts';
import type { Event, Request } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';
import type { Stepped } from '../control/step.ts';
import { type Message, message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';

/** What happened on the wire; commands as they were given, the rest as it was heard live. */
export interface Happening {
  readonly atMs: number;
  readonly what: 'command' | 'feedback' | 'reading';
  readonly id: string;
  readonly value: boolean | number;
}

export type Ending = 'stopped' | 'link-lost';

/** A wait ended because nothing may be energised any longer. */
export class Ended extends Error {
  override readonly name = 'Ended';
  readonly why: Ending;

  constructor(why: Ending) {
    super(why);
    this.why = why;
  }
}

interface Wait {
  readonly look: () => boolean;
  readonly fail: (error: Ended) => void;
}

export interface BenchParts {
  readonly plant: Plant;
  readonly state: State;
  /** Monotonic. */
  readonly nowMs: () => number;
}

const KEPT = 20_000;
const RESETS = 8;
const RESET_EVERY_MS = 1_000;
/** An output waits until all others are proven off. */
const GRANTED_WITHIN_MS = 12_000;

export class Bench {
  readonly plant: Plant;
  readonly nowMs: () => number;
  #state: State;
  #tried: Tried = null;
  #heard: Happening[] = [];
  readonly #waits = new Set<Wait>();
  #ending: Ending | null = null;
  /** Our own link is cut on purpose. */
  #isCut = false;
  #asked = 0;
  #ask: (id: string, request: Request) => void = () => {};

  constructor({ plant, state, nowMs }: BenchParts) {
    this.plant = plant;
    this.nowMs = nowMs;
    this.#state = state;
  }

  get state(): State {
    return this.#state;
  }

  /** The core's step while a station is commissioned. */
  readonly step = (plant: Plant, state: State, event: Event): Stepped =>
    stepCommissioning(plant, state, event, this.#tried);

  asksBy(ask: (id: string, request: Request) => void): void {
    this.#ask = ask;
  }

  turn({ state, effects, event }: Turn<State>): void {
    this.#state = state;
    const atMs = this.nowMs();
    for (const input of event?.inputs ?? []) {
      if (input.type === 'feedback' && input.live)
        this.#heard.push({ atMs, what: 'feedback', id: input.actuator, value: input.on });
      if (input.type === 'reading' && input.live)
        this.#heard.push({ atMs, what: 'reading', id: input.sensor, value: input.value });
    }
    for (const effect of effects)
      if (effect.do === 'command')
        this.#heard.push({ atMs, what: 'command', id: effect.actuator, value: effect.on });
    if (this.#heard.length > KEPT) this.#heard = this.#heard.slice(-KEPT / 2);
    if (!state.link.up && this.#tried !== null && !this.#isCut) this.end('link-lost');
    for (const wait of [...this.#waits]) wait.look();
  }

  /** From the next turn on. */
  try(tried: Tried): void {
    if (tried !== null && this.#ending !== null) throw new Ended(this.#ending);
    this.#tried = tried;
  }

  /** Everything off; whoever waits is told why. */
  end(why: Ending): void {
    this.#tried = null;
    this.#ending = why;
    for (const { fail } of [...this.#waits]) fail(new Ended(why));
  }

  /** Before the next step. */
  begin(): void {
    this.#tried = null;
    this.#ending = null;
  }

  /** What was heard since a moment, in its order. */
  since(fromMs: number): readonly Happening[] {
    return this.#heard.filter(({ atMs }) => atMs >= fromMs);
  }

  first(fromMs: number, what: Happening['what'], id: string, value: boolean): Happening | null {
    return (
      this.since(fromMs).find((one) => one.what === what && one.id === id && one.value === value) ?? null
    );
  }

  /** Asked now and after every turn. @returns null where it never came true in time. @throws Ended */
  until<T>(look: () => T | null, withinMs: number): Promise<T | null> {
    if (this.#ending !== null) return Promise.reject(new Ended(this.#ending));
    return new Promise((resolve, reject) => {
      const over = (settle: () => void) => {
        clearTimeout(timer);
        this.#waits.delete(wait);
        settle();
        return true;
      };
      const timer = setTimeout(() => over(() => resolve(null)), withinMs);
      const wait: Wait = {
        look: () => {
          const found = look();
          return found === null ? false : over(() => resolve(found));
        },
        fail: (error) => void over(() => reject(error)),
      };
      this.#waits.add(wait);
      wait.look();
    });
  }

  /** @throws Ended */
  async pause(forMs: number): Promise<void> {
    await this.until(() => null, forMs);
  }

  /** One output by itself. @returns the moment of its first `on`, or what is against it */
  async switchOn(output: string, isolated: boolean, renewed: boolean): Promise<number | Message> {
    const fromMs = this.nowMs();
    const tried = { what: 'output', output, isolated, renewed } as const;
    this.try(tried);
    const told = await this.until(() => this.first(fromMs, 'command', output, true), GRANTED_WITHIN_MS);
    if (told !== null) return told.atMs;
    const rows = forbiddenAlone(this.plant, this.#state, tried);
    await this.allOff();
    return this.#against(rows);
  }

  /** A route, with every row at work. */
  async open(route: string): Promise<number | Message> {
    const fromMs = this.nowMs();
    this.try({ what: 'route', route });
    const through = this.plant.routes[route]?.through ?? [];
    const isOpen = () => (through.every((id) => this.#state.devices[id]?.on === true) ? this.nowMs() : null);
    const atMs = await this.until(isOpen, GRANTED_WITHIN_MS);
    if (atMs !== null && this.first(fromMs, 'command', through[0] ?? '', true) !== null) return atMs;
    const rows = forbiddenBy(this.#state, route);
    await this.allOff();
    return this.#against(rows);
  }

  /** Is what is tried still told to be on? A row may have ended it. */
  isOn(output: string): boolean {
    return this.#state.devices[output]?.on === true;
  }

  #against(rows: readonly string[]): Message {
    const why = rows.map((key) => rowOf(this.plant, key)?.words ?? message('the-row', { row: key }));
    return why.length === 0 ? message('commission-others-not-off') : message('commission-forbidden', { why });
  }

  /** Nothing is tried, and all that can be seen off is. @returns false where that took too long */
  async allOff(): Promise<boolean> {
    this.#tried = null;
    if (this.#ending !== null) return false;
    const off = () =>
      Object.values(this.plant.actuators).every(
        ({ id, kind, feedback }) =>
          kind === 'signal' ||
          id === this.plant.alive ||
          (feedback === null ? !this.isOn(id) : this.#state.devices[id]?.provenOff === true),
      );
    return (await this.until(() => (off() ? true : null), GRANTED_WITHIN_MS)) ?? false;
  }

  /** Trips that are latched now, but for these. */
  latched(but: readonly string[] = []): readonly string[] {
    return Object.keys(this.#state.trips).filter((key) => !but.includes(key));
  }

  /**
   * Resets what a person has looked at; again for a while, because evidence must stand before it is believed.
   * @returns those that stay
   */
  async reset(trips: readonly string[], who: string, seen: string): Promise<readonly string[]> {
    const left = () => this.latched().filter((key) => trips.includes(key));
    for (let n = 0; n < RESETS && left().length > 0; n++) {
      for (const trip of left())
        this.#ask(`commission-${++this.#asked}`, { ask: 'reset-trip', trip, who, seen });
      await this.until(() => (left().length === 0 ? true : null), RESET_EVERY_MS);
    }
    return left();
  }

  /** What happens while our link is cut is no loss of it. */
  cutting(isCut: boolean): void {
    this.#isCut = isCut;
  }
}
