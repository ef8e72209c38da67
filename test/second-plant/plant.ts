// The second plant with the real service at the other end of a real broker: days of it, as one function. The plant keeps the
// time and says it over the wire; where the service or the broker is away, water, relays and people go on without them.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { mosquitto, type TestBroker } from '../tools/brokers.ts';
import { applyToNodes, type Fault, Faults } from './faults.ts';
import { diceFrom, type Habits } from './habits.ts';
import { Helper } from './helper.ts';
import { Judges } from './judges.ts';
import { Mouths, NODES, type NodeId, RELAYS, type RelayId } from './nodes.ts';
import { Radio } from './radio.ts';
import { Relays } from './relays.ts';
import { Sensors } from './sensors.ts';
import { Service } from './service.ts';
import { type Rung, type Summary, summed } from './summary.ts';
import { type Begin, type Drive, VALVES, Water, type WayId } from './water.ts';

export interface Options {
  readonly days: number;
  readonly seed: number;
  readonly habits: Habits;
  readonly faults: readonly string[];
  readonly begin?: Begin;
  /** The built product, or a copy that lacks something. */
  readonly main?: string;
  /** Interlock rows that are taken away. */
  readonly rowsOut?: readonly string[];
  /** Called now and then with the hours that passed. */
  readonly onProgress?: (hours: number) => void;
}

const STATION = 'test/stations/second-plant.json';
const PIECE_S = 0.25;
/** The devices are there before the service. */
const ALONE_S = 120;
/** For so long after a start of the service may it be said that the sump has not spoken yet. */
const SILENT_S = 16 * 3600;
const SILENT_ALARMS = /^A-40-|^A-01-system|^I-12-(system-|top-off)/u;

export async function secondPlant(options: Options): Promise<Summary> {
  const state = mkdtempSync(join(tmpdir(), 'second-plant-'));
  const broker = await mosquitto();
  const run = new Run(options, broker, state);
  try {
    return await run.days();
  } finally {
    await run.close();
    rmSync(state, { recursive: true, force: true });
  }
}

class Run {
  readonly #options: Options;
  readonly #water: Water;
  readonly #mouths: Mouths;
  readonly #relays: Relays;
  readonly #sensors: Sensors;
  readonly #faults: Faults;
  readonly #helper: Helper;
  readonly #judges = new Judges();
  readonly #service: Service;
  readonly #dice: () => number;
  readonly #rung: Rung[] = [];
  readonly #records: { atH: number; about: string; words: string }[] = [];
  #broker: TestBroker;
  #radio: Radio | null = null;
  #steps = 0;
  /** When the service started last. */
  #begunS = 0;
  /** After something was told the plant is looked at closely for a while. */
  #closelyUntilS = 0;
  readonly #startedMs = performance.now();

  constructor(options: Options, broker: TestBroker, state: string) {
    const { habits, seed, faults, begin, main = 'dist/cli/main.js', rowsOut = [] } = options;
    this.#options = options;
    this.#broker = broker;
    this.#dice = diceFrom(seed);
    this.#water = new Water(habits, seed, begin);
    this.#faults = new Faults(faults);
    this.#mouths = new Mouths(habits, diceFrom(seed + 1));
    this.#relays = new Relays(this.#mouths, this.#faults, habits);
    this.#sensors = new Sensors(this.#mouths, habits, diceFrom(seed + 2), this.#faults, this.#water);
    this.#helper = new Helper(diceFrom(seed + 3), this.#water, this.#faults);
    this.#service = new Service({ url: this.#url, state, main, station: STATION, rowsOut });
  }

  get #url(): string {
    return `mqtt://127.0.0.1:${this.#broker.port}`;
  }

  async days(): Promise<Summary> {
    const { days, onProgress } = this.#options;
    const radio = await Radio.open(this.#url, {
      command: (topic, text, stored) => {
        // The lamp is kept alight all day.
        if (!topic.includes('lamp')) this.#closelyUntilS = this.#water.seconds + 25;
        this.#relays.hear(topic, text, stored);
      },
      task: (vessel, text) => this.#helper.seeTask(vessel, text),
      alarm: (name, text) => this.#ring(name, text),
      record: (about, words) => {
        this.#records.push({ atH: this.#hours, about, words });
        this.#helper.seeRecord(about, words);
      },
      answer: () => {},
    });
    this.#radio = radio;
    for (const node of NODES) await this.#plug(node);
    this.#alone(ALONE_S);
    await radio.carry(this.#mouths.take());
    this.#startService();
    await radio.online();
    let toldH = 0;
    while (this.#water.seconds < days * 86_400) {
      await this.#step();
      if (this.#hours - toldH < 6) continue;
      toldH = this.#hours;
      onProgress?.(toldH);
    }
    return this.#summary();
  }

  async close(): Promise<void> {
    await this.#service.end('SIGTERM');
    await this.#radio?.close();
    await this.#broker.close();
  }

  get #hours(): number {
    return Number((this.#water.seconds / 3600).toFixed(3));
  }

  async #step(): Promise<void> {
    const radio = this.#radio as Radio;
    let elapsedMs = this.#lengthMs();
    this.#alone(elapsedMs / 1000);
    for (const fault of this.#faults.advance(this.#water.seconds, this.#water))
      elapsedMs += await this.#begin(fault);
    for (const { node, on } of applyToNodes(this.#faults, this.#mouths, NODES))
      await (on ? this.#plug(node) : this.#cut(node));
    await radio.carry(this.#mouths.take());
    for (const request of this.#helper.act()) await radio.ask(request);
    for (const node of this.#helper.cycles) {
      this.#helper.cycles.delete(node);
      await this.#cut(node);
      await this.#plug(node);
      await radio.carry(this.#mouths.take());
    }
    const minutes = Math.floor(this.#water.seconds / 60) + 360;
    await radio.time(Math.round(elapsedMs), { minuteOfDay: minutes % 1440, day: Math.floor(minutes / 1440) });
    this.#steps++;
    if (this.#service.isGone)
      throw new Error(`the service ended by itself: ${this.#service.log.slice(-2000)}`);
  }

  /** Quickly while water moves or something was told, slowly at rest; never a round number where steps jitter. */
  #lengthMs(): number {
    const flows = (way: WayId) => (this.#water.flowLpm.get(way) ?? 0) > 0;
    const travels = VALVES.some((id) => {
      const at = this.#water.valves.get(id) ?? 0;
      return at > 0 && at < 1;
    });
    const isQuick = travels || ['refill', 'transfer', 'supply', 'drain'].some((way) => flows(way as WayId));
    const isClose = this.#water.seconds < this.#closelyUntilS;
    const usualMs = isQuick ? 1000 : flows('circulate') ? 3000 : isClose ? 2000 : 6000;
    const ms = this.#options.habits.has('jitter') ? usualMs * (0.75 + 0.5 * this.#dice()) : usualMs;
    return Math.round(ms);
  }

  /** So much time passes here, and nobody is told yet. */
  #alone(seconds: number): void {
    for (let leftS = seconds; leftS > 1e-6; leftS -= PIECE_S) {
      const dt = Math.min(PIECE_S, leftS);
      const moved = this.#water.advance(dt, this.#drive, this.#faults);
      this.#relays.advance(dt, this.#water);
      this.#sensors.advance(dt, this.#water, moved);
      this.#judges.look(dt, this.#water, moved, {
        powered: this.#drive.powered,
        hoseFault: this.#faults.present('hose-off') !== null,
      });
    }
  }

  readonly #drive: Drive = {
    opens: (valve) => this.#relays.opens(valve),
    powered: (what) =>
      what === 'heater'
        ? this.#relays.passes('heater') && this.#relays.passes('heat-contactor')
        : this.#relays.passes(what) && this.#relays.passes('contactor'),
    inhibitsTopOff: () => this.#relays.inhibitsTopOff(),
  };

  async #plug(node: NodeId): Promise<void> {
    await this.#radio?.plug(node);
    if (RELAYS.includes(node as RelayId)) this.#relays.wake(node as RelayId);
    else if (node === 'valves') this.#relays.wakeValves();
    else this.#sensors.wake(node);
  }

  async #cut(node: NodeId): Promise<void> {
    this.#relays.drop(node);
    await this.#radio?.cut(node);
  }

  #startService(): void {
    this.#begunS = this.#water.seconds;
    this.#service.start();
  }

  /** @returns how much more time the service hears of with the next step, ms */
  async #begin({ kind, lastsS }: Fault): Promise<number> {
    const radio = this.#radio as Radio;
    switch (kind) {
      case 'kill-service':
      case 'stop-service': {
        await this.#service.end(kind === 'kill-service' ? 'SIGKILL' : 'SIGTERM');
        await radio.offline();
        this.#alone(lastsS);
        await radio.carry(this.#mouths.take());
        this.#service.age(lastsS * 1000);
        this.#startService();
        await radio.online();
        return 0;
      }
      case 'restart-broker': {
        await this.#broker.close();
        this.#alone(lastsS);
        this.#broker = await mosquitto({ port: this.#broker.port });
        await radio.back();
        for (const node of NODES) if (this.#mouths.has(node)) this.#awake(node);
        return lastsS * 1000;
      }
      case 'stall': {
        for (let leftS = lastsS; leftS > 0; leftS -= 5) {
          this.#alone(Math.min(5, leftS));
          await radio.carry(this.#mouths.take());
        }
        return lastsS * 1000;
      }
      default:
        return 0;
    }
  }

  /** It found the broker again, and says all that it says at a connect. */
  #awake(node: NodeId): void {
    if (RELAYS.includes(node as RelayId)) this.#relays.wake(node as RelayId);
    else if (node === 'valves') this.#relays.wakeValves();
    else this.#sensors.wake(node);
  }

  #ring(name: string, text: string): void {
    this.#helper.seeAlarm(name, text);
    if (text === '') return;
    const { state, priority, words } = JSON.parse(text) as { state: string; priority: string; words: string };
    const explainedBy = this.#faults.explaining(name) ?? this.#silence(name);
    const before = this.#rung.findLast(({ alarm }) => alarm === name);
    if (before?.state === state) return;
    this.#rung.push({ atH: this.#hours, alarm: name, state, priority, words, explainedBy });
  }

  /** What speaks on change only is silent after each start of the service: to say so is true, and asks for a hand. */
  #silence(alarm: string): string | null {
    const isSoon = this.#water.seconds - this.#begunS < SILENT_S;
    const isTrue = this.#options.habits.has('silence') && isSoon && SILENT_ALARMS.test(alarm);
    return isTrue ? 'silence' : null;
  }

  #summary(): Summary {
    const { days, seed } = this.#options;
    return summed({
      days,
      seed,
      verdict: this.#judges.verdict(this.#water),
      movedL: Object.fromEntries(
        [...this.#water.movedL].map(([way, litres]) => [way, Number(litres.toFixed(1))]),
      ) as Record<WayId, number>,
      rung: this.#rung,
      records: this.#records,
      deeds: this.#helper.deeds,
      faults: this.#faults.all.map(({ text, fromS }) => ({
        text,
        fromH: fromS === null ? null : fromS / 3600,
      })),
      refused: this.#relays.refused,
      steps: this.#steps,
      messages: this.#radio?.sent ?? 0,
      tookS: Math.round((performance.now() - this.#startedMs) / 1000),
      lines: this.#service.lines,
    });
  }
}
