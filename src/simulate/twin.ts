// A whole station in memory: water, relays, sensors, a person and what is wrong with them, in station time and without a
// network. The client on MQTT is this with a wire attached; tests, campaigns and explorers couple it to whatever commands
// it. The same plant, seed, faults, commands and steps give the same day, message for message.
import { isNumberSensor } from '../station/kinds.ts';
import type { Plant, Sensor } from '../station/plant.ts';
import { isSaid } from '../station/words.ts';
import { type Fault, type Faults, faultsOf, parseFault } from './faults.ts';
import { type Asked, type Delay, type Person, personOf, type Told } from './person.ts';
import { type Relays, relaysOf } from './relays.ts';
import { type Report, type Reports, reportsOf } from './reports.ts';
import { houseOf } from './scales.ts';
import { wordValue } from './sensors.ts';
import { advance } from './water.ts';
import { type Waterworks, type WaterworksOptions, waterworksOf } from './waterworks.ts';
import { addSalt, mop, type World, worldOf } from './world.ts';

/** What a core hears: the same shape as its input, on purpose not the same type. House units. */
export type Heard =
  | {
      readonly type: 'reading';
      readonly sensor: string;
      readonly value: number | boolean;
      readonly live: boolean;
    }
  | {
      readonly type: 'bad-reading';
      readonly sensor: string;
      readonly reason: 'unparsable' | 'empty' | 'out-of-range' | 'sentinel' | 'offline';
    }
  | { readonly type: 'feedback'; readonly actuator: string; readonly on: boolean; readonly live: boolean }
  | { readonly type: 'bad-feedback'; readonly actuator: string; readonly reason: 'offline' }
  | { readonly type: 'empty-command'; readonly actuator: string };

export interface Twin {
  readonly plant: Plant;
  readonly seed: number;
  readonly works: Waterworks;
  readonly world: World;
  readonly relays: Relays;
  readonly faults: Faults;
  readonly person: Person;
  /** What the devices say now: what changed and what is due again, since the last call. */
  readonly reports: () => readonly Report[];
  /** The same, as a core hears it. */
  readonly inputs: () => readonly Heard[];
  /** What a sensor would say now; undefined for one that does not exist. */
  readonly present: (sensor: string) => number | boolean | undefined;
  /** Local time, as a clock input carries it. */
  readonly clock: () => { type: 'clock'; minuteOfDay: number; day: number; trusted: boolean };
  readonly command: (actuator: string, on: boolean, leaseMs: number) => boolean;
  /** Whether the actuator truly passes water or current now. */
  readonly isOn: (actuator: string) => boolean;
  /** Hangs a task where the person sees it; null takes it away. */
  readonly ask: (vessel: string, asked: Asked | null) => void;
  /** What the person said since the last call. */
  readonly told: () => readonly Told[];
  readonly pour: (vessel: string, productKg: number) => void;
  readonly mop: () => void;
  /** Moves everything on; whole milliseconds. */
  readonly advance: (elapsedMs: number) => void;
}

export interface TwinOptions extends WaterworksOptions {
  /** How long the person takes; without it some minutes. */
  readonly delay?: Delay;
}

/**
 * @param faults specs as for `parseFault`, or faults already read.
 * @throws Error for a fault that does not fit the station.
 */
export function makeTwin(
  plant: Plant,
  seed = 1,
  faults: readonly (string | Fault)[] = [],
  options: TwinOptions = {},
): Twin {
  const read = faults.map((fault) => (typeof fault === 'string' ? parseFault(fault, plant) : fault));
  for (const { kind, what, value } of read) checkSaid(plant, kind, what, value);
  const present = faultsOf(read);
  const works = waterworksOf(plant, seed, options);
  const world = worldOf(works);
  const relays = relaysOf(plant, present);
  const reports = reportsOf(works, world, present, relays);
  const person = personOf(works, world, present, seed, options.delay);
  const drive = { on: relays.works, faults: present };
  setClocks(present, relays, person, reports, 0);

  const forward = (elapsedMs: number): void => {
    if (!Number.isSafeInteger(elapsedMs) || elapsedMs < 0) {
      throw new Error(`a step of ${elapsedMs} ms: give a whole number of milliseconds, 0 or more`);
    }
    const endMs = world.nowMs + elapsedMs;
    while (world.nowMs < endMs) {
      const next = Math.min(endMs, relays.nextChangeMs(), present.nextChangeMs(), person.nextChangeMs());
      advance(works, world, drive, next - world.nowMs);
      setClocks(present, relays, person, reports, world.nowMs);
    }
  };

  return {
    plant,
    seed,
    works,
    world,
    relays,
    faults: present,
    person,
    reports: reports.due,
    inputs: () => {
      const inputs: Heard[] = [];
      for (const report of reports.due()) {
        const one = heard(plant, report);
        if (one !== null) inputs.push(one);
      }
      return inputs;
    },
    present: reports.present,
    clock: () => clockAt(works, world.nowMs),
    command: relays.command,
    isOn: relays.works,
    ask: person.see,
    told: person.says,
    pour: (vessel, productKg) => addSalt(world, vessel, productKg),
    mop: () => mop(world),
    advance: forward,
  };
}

function setClocks(faults: Faults, relays: Relays, person: Person, reports: Reports, nowMs: number): void {
  faults.setClock(nowMs);
  relays.setClock(nowMs);
  reports.setClock();
  person.setClock(nowMs);
}

function checkSaid(plant: Plant, kind: string, what: string, value: string): void {
  const sensor = kind === 'says' ? plant.sensors[what] : undefined;
  if (sensor !== undefined) wordValue(value, !isNumberSensor(sensor));
}

function clockAt({ startMinute }: Waterworks, nowMs: number): ReturnType<Twin['clock']> {
  const minutes = startMinute + Math.floor(nowMs / 60_000);
  return { type: 'clock', minuteOfDay: minutes % 1440, day: Math.floor(minutes / 1440), trusted: true };
}

/** What a core hears of a report; null: nothing. */
function heard(plant: Plant, report: Report): Heard | null {
  switch (report.of) {
    case 'sensor':
      return { type: 'reading', sensor: report.sensor.id, value: report.value, live: true };
    case 'feedback':
      return { type: 'feedback', actuator: report.actuator, on: report.on, live: true };
    case 'empty-command':
      return { type: 'empty-command', actuator: report.actuator };
    case 'raw':
      return heardRaw(plant, report.sensor, report.text);
    case 'availability':
      if (report.online) return null;
      return report.kind === 'sensor'
        ? { type: 'bad-reading', sensor: report.device, reason: 'offline' }
        : { type: 'bad-feedback', actuator: report.device, reason: 'offline' };
  }
}

/** Without a wire there is nobody to parse a payload: enough for what a failing device sends. */
function heardRaw(plant: Plant, sensor: Sensor, text: string): Heard {
  const bad = (reason: 'unparsable' | 'empty' | 'out-of-range' | 'sentinel'): Heard => ({
    type: 'bad-reading',
    sensor: sensor.id,
    reason,
  });
  const good = (value: number | boolean): Heard => ({
    type: 'reading',
    sensor: sensor.id,
    value,
    live: true,
  });
  if (text.trim() === '') return bad('empty');
  if (!isNumberSensor(sensor)) {
    const isYes = isSaid(sensor.yes, text);
    return isYes || isSaid(sensor.no, text) ? good(isYes) : bad('unparsable');
  }
  const raw = Number(text);
  if (!Number.isFinite(raw)) return bad('unparsable');
  if (sensor.sentinels.includes(raw)) return bad('sentinel');
  const value = raw * sensor.scale + sensor.offset;
  const { range } = sensor;
  if (range !== null && (value < range[0] || value > range[1])) return bad('out-of-range');
  return good(houseOf(plant, sensor, raw));
}
