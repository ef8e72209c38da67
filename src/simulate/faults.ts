// What can be wrong with a station: one row for each kind. A fault is written KIND:WHAT[=VALUE]@FROM[-TO], in station
// time: seconds, or a number with s, min, h or d. `stuck-on:transfer-pump@2h-2h30min` is not one of them: write 150min.
import { Coded } from '../errors/coded.ts';
import type { Plant } from '../station/plant.ts';
import { othersFor, wiredAs } from './outputs.ts';

type Target = 'actuator' | 'sensor' | 'route' | 'vessel' | 'system' | 'inlet' | 'probe' | 'all';
type Value = 'none' | 'number' | 'text' | 'switch' | 'actuator';

interface FaultRow {
  readonly of: readonly Target[];
  readonly value: Value;
  /** Taken when no value is given; undefined: one must be given. */
  readonly usual?: string;
  readonly words: string;
}

export const FAULT_KINDS = {
  'stuck-on': { of: ['actuator'], value: 'none', words: 'its contact is welded, the valve jammed open' },
  'stuck-off': {
    of: ['actuator'],
    value: 'none',
    words: 'it never closes its contact; the valve stays shut',
  },
  deaf: { of: ['actuator'], value: 'none', words: 'commands do not reach it; its lease still ends' },
  'ignores-lease': { of: ['actuator'], value: 'none', words: 'it stays on when the lease ends' },
  'restarts-on': { of: ['actuator'], value: 'none', words: 'it restarts into on at that moment, unasked' },
  'feedback-says': { of: ['actuator'], value: 'switch', words: 'its feedback says this whatever is true' },
  'feedback-silent': { of: ['actuator'], value: 'none', words: 'its feedback is not sent' },
  'outputs-swapped': {
    of: ['actuator'],
    value: 'actuator',
    words: 'its output and that of this other one are swapped: a command to one moves the other',
  },
  'empty-command': {
    of: ['actuator'],
    value: 'none',
    words: 'it sends an empty message on its command topic at that moment, as some do when they connect',
  },
  'power-cut': {
    of: ['all'],
    value: 'none',
    words: 'every device (or one failure domain) is dead and silent; relays come back off',
  },
  weak: { of: ['actuator'], value: 'number', usual: '0.3', words: 'a pump moves this share of its flow' },
  siphon: { of: ['route'], value: 'number', usual: '0.2', words: 'this share flows though the pump rests' },
  'hose-off': { of: ['route'], value: 'none', words: 'what it moves runs onto the floor' },
  'no-pressure': { of: ['inlet'], value: 'none', words: 'no water comes from the inlet' },
  exhausted: {
    of: ['inlet'],
    value: 'number',
    usual: '0.2',
    words: 'the purifier lets this conductivity through, mS/cm',
  },
  leaks: { of: ['vessel'], value: 'number', usual: '0.5', words: 'it loses this many L/min to the floor' },
  'drawn-by-hand': { of: ['vessel'], value: 'number', usual: '3', words: 'somebody draws this many L/min' },
  'top-off-runs': { of: ['system'], value: 'none', words: 'its own top-off runs whatever its float says' },
  'return-stopped': {
    of: ['system'],
    value: 'number',
    usual: '40',
    words: 'this many L more stand at its floats',
  },
  says: {
    of: ['sensor'],
    value: 'text',
    words: 'it says this: wet, dry, running, resting, or a number in the house unit',
  },
  sends: { of: ['sensor'], value: 'text', words: 'it sends this payload text as it stands' },
  silent: {
    of: ['sensor', 'all'],
    value: 'none',
    words: 'it sends nothing (all: no sensor and no feedback)',
  },
  'only-changes': {
    of: ['sensor', 'actuator', 'all'],
    value: 'none',
    words: 'it reports only what changes, and nothing in between (all: sensors and feedback)',
  },
  offline: { of: ['sensor'], value: 'none', words: 'its availability says offline and it sends nothing' },
  frozen: { of: ['sensor'], value: 'none', words: 'it goes on saying what it said at that moment' },
  chatters: { of: ['sensor'], value: 'none', words: 'a contact that flutters' },
  swapped: { of: ['sensor'], value: 'none', words: 'a contact that says wet for dry and dry for wet' },
  'says-once': { of: ['sensor'], value: 'text', words: 'one reading at that moment says this' },
  wobbles: {
    of: ['sensor'],
    value: 'number',
    usual: '1',
    words: 'a total that goes up by this many counts and back, some times a second',
  },
  repeats: {
    of: ['sensor'],
    value: 'number',
    usual: '0',
    words: 'it sends each message twice, the second this many seconds later',
  },
  'reads-low': {
    of: ['sensor'],
    value: 'number',
    usual: '0.1',
    words: 'it reads low by this share (negative: high)',
  },
  'loses-first': {
    of: ['sensor'],
    value: 'number',
    usual: '0.5',
    words: 'a total misses this many L at every start',
  },
  resets: { of: ['sensor'], value: 'none', words: 'a total starts again from 0 at that moment' },
  'salt-twice': {
    of: ['vessel'],
    value: 'none',
    words: 'the person pours every dose twice and reports it once',
  },
  'salt-never': { of: ['vessel'], value: 'none', words: 'the person reports salt and pours none' },
  'salt-share': {
    of: ['vessel'],
    value: 'number',
    usual: '1.2',
    words: 'the person pours this share of what is asked',
  },
  'measures-off': {
    of: ['vessel'],
    value: 'number',
    usual: '1.5',
    words: 'the instrument that the person takes first shows this much too high',
  },
  'types-target': {
    of: ['vessel'],
    value: 'none',
    words: 'the person measures nothing with the first instrument, and reports the target',
  },
  'swaps-digits': {
    of: ['vessel'],
    value: 'none',
    words: 'the person swaps the digits of what the first instrument shows: 34.9 becomes 43.9',
  },
  'compensates-to': {
    of: ['probe'],
    value: 'number',
    usual: '25',
    words: 'the conductivity probe compensates to this temperature, whatever the file says',
  },
  uncompensated: {
    of: ['probe'],
    value: 'none',
    words: 'the conductivity probe reads raw, at the temperature of the water, whatever the file says',
  },
  'nobody-there': { of: ['all'], value: 'none', words: 'nobody sees a task' },
} as const satisfies Record<string, FaultRow>;

export type FaultKind = keyof typeof FAULT_KINDS;

export interface Fault {
  readonly kind: FaultKind;
  /** An id of the plant, a failure domain, or `all`. */
  readonly what: string;
  readonly value: string;
  readonly fromMs: number;
  /** Infinity where it never ends. */
  readonly toMs: number;
}

const SPEC = /^([a-z-]+):([^=@]+)(?:=(.*))?@([^@]+)$/su;
const SPAN = /^(\d+(?:\.\d+)?)(ms|s|min|h|d)?$/u;
const UNIT_MS: Readonly<Record<string, number>> = {
  ms: 1,
  s: 1000,
  min: 60_000,
  h: 3_600_000,
  d: 86_400_000,
};

/**
 * Reads KIND:WHAT[=VALUE]@FROM[-TO] against a station.
 * @throws Coded naming the place and the mend.
 */
export function parseFault(spec: string, plant: Plant): Fault {
  const match = SPEC.exec(spec.trim());
  if (match === null) {
    throw new Coded(
      'E-122',
      `fault '${spec}': write KIND:WHAT[=VALUE]@FROM[-TO], for example 'stuck-on:inlet-valve@2h-3h'`,
    );
  }
  const [, name = '', what = '', given, span = ''] = match;
  if (!isKind(name)) {
    throw new Coded(
      'E-122',
      `fault '${spec}': there is no kind '${name}'; there are ${Object.keys(FAULT_KINDS).join(', ')}`,
    );
  }
  const row: FaultRow = FAULT_KINDS[name];
  const ids = placesFor(name, plant);
  const domain = name === 'power-cut' && domainsOf(plant).includes(what);
  if (!ids.includes(what) && !domain) {
    throw new Coded(
      'E-122',
      `fault '${spec}': '${what}' is not ${row.of.join(' or ')} of this station; there are ${ids.join(', ')}`,
    );
  }
  const value = given ?? row.usual;
  if (row.value === 'none' && given !== undefined) {
    throw new Coded('E-122', `fault '${spec}': '${name}' takes no value; leave '=${given}' out`);
  }
  checkValue(spec, name, row.value, value);
  if (row.value === 'actuator') checkOther(spec, plant, what, value ?? '');
  const [fromMs, toMs] = readSpan(spec, span);
  return { kind: name, what, value: value ?? '', fromMs, toMs };
}

function isKind(name: string): name is FaultKind {
  return Object.hasOwn(FAULT_KINDS, name);
}

function checkValue(spec: string, name: string, kind: Value, value: string | undefined): void {
  if (kind === 'none') return;
  if (value === undefined)
    throw new Coded('E-122', `fault '${spec}': '${name}' needs a value, as in '${name}:WHAT=VALUE@FROM'`);
  if (kind === 'number' && (value.trim() === '' || !Number.isFinite(Number(value)))) {
    throw new Coded('E-122', `fault '${spec}': '${value}' is not a number`);
  }
  if (kind === 'switch' && value !== 'on' && value !== 'off') {
    throw new Coded('E-122', `fault '${spec}': the value is on or off`);
  }
}

function checkOther(spec: string, plant: Plant, what: string, other: string): void {
  const others = othersFor(plant, what);
  if (!others.includes(other))
    throw new Coded('E-122', `fault '${spec}': the value is another actuator: ${others.join(', ')}`);
}

function readSpan(spec: string, span: string): [number, number] {
  const [from = '', to, ...more] = span.split('-');
  const fromMs = readMoment(from);
  const toMs = to === undefined ? Number.POSITIVE_INFINITY : readMoment(to);
  if (fromMs === null || toMs === null || more.length > 0) {
    throw new Coded(
      'E-122',
      `fault '${spec}': '${span}' is not FROM or FROM-TO, for example '90', '2h' or '2h-150min'`,
    );
  }
  if (toMs <= fromMs) throw new Coded('E-122', `fault '${spec}': it ends before it begins`);
  return [fromMs, toMs];
}

function readMoment(text: string): number | null {
  const match = SPAN.exec(text);
  return match === null ? null : Math.round(Number(match[1]) * (UNIT_MS[match[2] ?? 's'] ?? 1000));
}

/** Where in this station a kind of fault can be. */
export function placesFor(kind: FaultKind, plant: Plant): readonly string[] {
  const { of }: FaultRow = FAULT_KINDS[kind];
  return of.flatMap((target) => targets(target, plant));
}

function targets(target: Target, plant: Plant): readonly string[] {
  const all = Object.values(plant.vessels);
  switch (target) {
    case 'actuator':
      return Object.keys(plant.actuators);
    case 'sensor':
      return Object.keys(plant.sensors);
    case 'route':
      return Object.keys(plant.routes);
    case 'vessel':
      return all.filter(({ role }) => role !== 'purified-water' && role !== 'waste').map(({ id }) => id);
    case 'probe':
      return all.flatMap(({ conductivity, role }) =>
        conductivity === null || role === 'purified-water' ? [] : [conductivity],
      );
    case 'system':
      return plant.systemIds;
    case 'inlet':
      return all.filter(({ role }) => role === 'purified-water').map(({ id }) => id);
    case 'all':
      return ['all'];
  }
}

function domainsOf(plant: Plant): readonly string[] {
  const devices = [...Object.values(plant.actuators), ...Object.values(plant.sensors)];
  return devices.flatMap(({ failureDomain }) => (failureDomain === null ? [] : [failureDomain]));
}

/** The faults of a day, asked by kind and place. Between two changes the answers stand still. */
export interface Faults {
  readonly list: readonly Fault[];
  /** The fault of this kind that holds at `what` now, or undefined. */
  readonly at: (kind: FaultKind, what: string) => Fault | undefined;
  /** As a number; undefined where the fault does not hold. */
  readonly amount: (kind: FaultKind, what: string) => number | undefined;
  /** The output that is wired to this one's load: another's where they are swapped, else its own. */
  readonly outputOf: (actuator: string) => string;
  /** Faults that began in the moment the clock was last set to. */
  readonly begun: () => readonly Fault[];
  readonly setClock: (nowMs: number) => void;
  /** The next moment after now at which one begins or ends; Infinity where none does. */
  readonly nextChangeMs: () => number;
}

const NONE: readonly Fault[] = [];

export function faultsOf(list: readonly Fault[]): Faults {
  const active = new Map<FaultKind, Map<string, Fault>>();
  let outputs = wiredAs([]);
  let begun = NONE;
  let next = 0;
  const at = (kind: FaultKind, what: string) => (active.size === 0 ? undefined : active.get(kind)?.get(what));
  return {
    list,
    at,
    amount: (kind, what) => {
      const fault = at(kind, what);
      return fault === undefined ? undefined : Number(fault.value);
    },
    outputOf: (actuator) => outputs.get(actuator) ?? actuator,
    begun: () => begun,
    nextChangeMs: () => next,
    setClock: (nowMs) => {
      begun = NONE;
      if (nowMs < next) return;
      const holding = list.filter(({ fromMs, toMs }) => fromMs <= nowMs && nowMs < toMs);
      begun = list.filter(({ fromMs }) => fromMs === nowMs);
      active.clear();
      for (const fault of holding)
        active.set(fault.kind, (active.get(fault.kind) ?? new Map()).set(fault.what, fault));
      outputs = wiredAs(active.get('outputs-swapped')?.values() ?? []);
      next = Math.min(
        Number.POSITIVE_INFINITY,
        ...list.flatMap(({ fromMs, toMs }) => [fromMs, toMs]).filter((moment) => moment > nowMs),
      );
    },
  };
}
