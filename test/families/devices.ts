// Four families of general-purpose devices, played over the simulated water: what each says when, and what each does with a
// command. Written from their public descriptions (Tasmota docs: MQTT.md, Commands.md; Shelly Gen2 API: Switch, Mqtt, Input;
// ESPHome: mqtt, script; Zigbee2MQTT guide: MQTT topics and messages), not from the profiles of the product.

export interface Said {
  readonly topic: string;
  readonly payload: string;
  readonly retain: boolean;
}

/** What stands on one device: relays and sensors of the station by the device's own names for them. */
export interface Fitted {
  readonly relays: Readonly<Record<string, string>>;
  readonly sensors: Readonly<Record<string, string>>;
}

/** The water and the contacts under the devices, by the ids of the station. */
export interface Station {
  readonly isOn: (actuator: string) => boolean;
  readonly command: (actuator: string, on: boolean, forMs: number) => void;
  /** A contact: true is wet or running; a number is as the file has its unit. */
  readonly value: (sensor: string) => number | boolean;
  /** Since 1970. */
  readonly nowMs: () => number;
}

/** How often a family speaks by itself, ms. */
export const HABITS_MS = { tasmota: 10_000, esphome: 5000, zigbee: 3_600_000 } as const;

export abstract class Device {
  protected readonly topic: string;
  protected readonly fitted: Fitted;
  protected readonly station: Station;
  protected out: Said[] = [];
  #lastSaidMs = Number.NEGATIVE_INFINITY;
  #before = '';
  protected isUp = true;

  constructor(topic: string, fitted: Fitted, station: Station) {
    this.topic = topic;
    this.fitted = fitted;
    this.station = station;
  }

  /** What it says by itself; null: only on change. */
  protected abstract readonly everyMs: number | null;
  /** Every state, as it says them all at once. */
  protected abstract states(): readonly Said[];
  abstract readonly will: Said;
  abstract readonly birth: Said;
  /** A message on a topic that it listens to. */
  abstract hear(topic: string, payload: string): void;

  /** What it says since it was last asked, at this moment. */
  speak(nowMs: number): readonly Said[] {
    if (!this.isUp) return [];
    const states = this.states();
    const now = JSON.stringify(states.map(({ payload }) => payload.replaceAll(/"last_seen":"[^"]*"/gu, '')));
    const isDue = this.everyMs !== null && nowMs - this.#lastSaidMs >= this.everyMs;
    if (now !== this.#before || isDue) {
      this.out.push(...states);
      this.#before = now;
      this.#lastSaidMs = nowMs;
    }
    return this.out.splice(0);
  }

  /** The power goes: relays drop, and nobody hears of it but by the will. */
  down(): readonly Said[] {
    this.isUp = false;
    for (const id of Object.values(this.fitted.relays)) this.station.command(id, false, 0);
    return [this.will];
  }

  up(): readonly Said[] {
    this.isUp = true;
    this.#before = '';
    return [this.birth];
  }

  protected isOn(relay: string): boolean {
    return this.station.isOn(this.fitted.relays[relay] ?? '');
  }

  protected switchTo(relay: string, on: boolean, forMs: number): void {
    const id = this.fitted.relays[relay];
    if (id !== undefined && this.isUp) this.station.command(id, on, forMs);
  }

  protected value(name: string): number | boolean {
    return this.station.value(this.fitted.sensors[name] ?? '');
  }
}

const placed = (path: string, value: unknown): object =>
  path.split('/').reduceRight<unknown>((inner, key) => ({ [key]: inner }), value) as object;
const deep = (a: object, b: object): object => {
  const out: Record<string, unknown> = { ...a };
  for (const [key, value] of Object.entries(b)) {
    const before = out[key];
    out[key] =
      typeof before === 'object' && typeof value === 'object' && before && value
        ? deep(before, value)
        : value;
  }
  return out;
};
const live = (topic: string, payload: unknown): Said => ({
  topic,
  payload: typeof payload === 'string' ? payload : JSON.stringify(payload),
  retain: false,
});

/** PulseTime is fixed in the device; TelePeriod 10; publishes an empty message to its own plain POWER topic on connecting. */
export class Tasmota extends Device {
  protected readonly everyMs: number;
  readonly pulseMs: number;
  constructor(
    topic: string,
    fitted: Fitted,
    station: Station,
    pulseMs: number,
    everyMs: number = HABITS_MS.tasmota,
  ) {
    super(topic, fitted, station);
    this.pulseMs = pulseMs;
    this.everyMs = everyMs;
  }
  get will(): Said {
    return { topic: `tele/${this.topic}/LWT`, payload: 'Offline', retain: true };
  }
  get birth(): Said {
    return { topic: `tele/${this.topic}/LWT`, payload: 'Online', retain: true };
  }
  override up(): readonly Said[] {
    return [...super.up(), live(`cmnd/${this.topic}/POWER`, '')];
  }
  protected states(): readonly Said[] {
    const relays = Object.keys(this.fitted.relays);
    const power = Object.fromEntries(relays.map((n) => [`POWER${n}`, this.isOn(n) ? 'ON' : 'OFF']));
    const sensors = Object.keys(this.fitted.sensors).reduce<object>((all, name) => {
      const value = this.value(name);
      return deep(all, placed(name, typeof value === 'boolean' ? (value ? 'ON' : 'OFF') : value));
    }, {});
    return [
      ...(relays.length > 0 ? [live(`tele/${this.topic}/STATE`, { Time: 'x', UptimeSec: 1, ...power })] : []),
      live(`tele/${this.topic}/SENSOR`, sensors),
    ];
  }
  hear(topic: string, payload: string): void {
    const relay = new RegExp(`^cmnd/${this.topic}/POWER(\\d)$`, 'u').exec(topic)?.[1];
    if (relay === undefined || (payload !== 'ON' && payload !== 'OFF')) return;
    this.switchTo(relay, payload === 'ON', this.pulseMs);
    // SetOption59: the state at each command.
    this.out.push(...this.states().slice(0, 1));
  }
}

/** Says a status when it changes, and all of them when it is asked; `on,SECONDS` carries its own timer. */
export class Shelly extends Device {
  protected readonly everyMs = null;
  get will(): Said {
    return { topic: `${this.topic}/online`, payload: 'false', retain: true };
  }
  get birth(): Said {
    return { topic: `${this.topic}/online`, payload: 'true', retain: true };
  }
  protected states(): readonly Said[] {
    const inputs = new Map<string, object>();
    for (const name of Object.keys(this.fitted.sensors)) {
      const [part = '', ...rest] = name.split('/');
      inputs.set(part, deep(inputs.get(part) ?? { id: 0 }, placed(rest.join('/'), this.value(name))));
    }
    return [
      ...Object.keys(this.fitted.relays).map((n) =>
        live(`${this.topic}/status/switch:${n}`, { id: Number(n), source: 'mqtt', output: this.isOn(n) }),
      ),
      ...[...inputs].map(([part, status]) => live(`${this.topic}/status/${part}`, status)),
    ];
  }
  hear(topic: string, payload: string): void {
    if (topic === `${this.topic}/command` && payload === 'status_update') this.out.push(...this.states());
    const relay = new RegExp(`^${this.topic}/command/switch:(\\d)$`, 'u').exec(topic)?.[1];
    const [, word, seconds] = /^(on|off)(?:,(\d+(?:\.\d+)?))?$/u.exec(payload) ?? [];
    if (relay === undefined || word === undefined) return;
    this.switchTo(relay, word === 'on', word === 'on' ? 1000 * Number(seconds) : 0);
  }
}

/** The script of the guide: `+SECONDS` begins the lease anew, `0` ends it; an interval repeats the states. */
export class EspHome extends Device {
  protected readonly everyMs: number;
  constructor(topic: string, fitted: Fitted, station: Station, everyMs: number = HABITS_MS.esphome) {
    super(topic, fitted, station);
    this.everyMs = everyMs;
  }
  get will(): Said {
    return { topic: `${this.topic}/status`, payload: 'offline', retain: true };
  }
  get birth(): Said {
    return { topic: `${this.topic}/status`, payload: 'online', retain: true };
  }
  protected states(): readonly Said[] {
    const word = (value: number | boolean) =>
      typeof value === 'boolean' ? (value ? 'ON' : 'OFF') : String(value);
    return [
      ...Object.keys(this.fitted.relays).map((n) => live(`${this.topic}/${n}/state`, word(this.isOn(n)))),
      ...Object.keys(this.fitted.sensors).map((n) => live(`${this.topic}/${n}/state`, word(this.value(n)))),
    ];
  }
  hear(topic: string, payload: string): void {
    const relay = Object.keys(this.fitted.relays).find((n) => topic === `${this.topic}/${n}/lease`);
    if (relay === undefined) return;
    const seconds = Number.parseInt(payload, 10);
    if (seconds > 0 && seconds <= 120) this.switchTo(relay, true, 1000 * seconds);
    else this.switchTo(relay, false, 0);
  }
}

/** A plug or a sensor behind a bridge: on change, on `/get`, always with the time of the value, sometimes with parts alone. */
export class Zigbee extends Device {
  // Sleepers report every hour.
  protected readonly everyMs = HABITS_MS.zigbee;
  #stampMs = 0;
  #known = '';
  get will(): Said {
    return { topic: `${this.topic}/availability`, payload: '{"state":"offline"}', retain: true };
  }
  get birth(): Said {
    return { topic: `${this.topic}/availability`, payload: '{"state":"online"}', retain: true };
  }
  #nowMs(): number {
    return this.station.nowMs();
  }
  protected states(): readonly Said[] {
    const sensors = Object.keys(this.fitted.sensors).map((n) => [n, this.value(n)] as const);
    const relays = Object.keys(this.fitted.relays).map((n) => [n, this.isOn(n) ? 'ON' : 'OFF'] as const);
    const values = Object.fromEntries([...sensors, ...relays]);
    // A report of the device, and not of the bridge's cache, moves the stamp.
    const isDue = this.#nowMs() - this.#stampMs >= this.everyMs;
    if (JSON.stringify(values) !== this.#known || isDue) this.#stampMs = this.#nowMs();
    this.#known = JSON.stringify(values);
    return [live(this.topic, { ...values, battery: 88, last_seen: new Date(this.#stampMs).toISOString() })];
  }
  hear(topic: string, payload: string): void {
    if (topic === `${this.topic}/get`) {
      this.#stampMs = this.#nowMs();
      this.out.push(...this.states());
    }
    if (topic !== `${this.topic}/set`) return;
    const { state, on_time } = JSON.parse(payload);
    this.switchTo('state', state === 'ON', state === 'ON' ? 1000 * Number(on_time) : 0);
    // With its cache off a bridge sends parts alone, too.
    this.out.push(live(this.topic, { linkquality: 77, last_seen: new Date(this.#nowMs()).toISOString() }));
  }
}
