// A fault of `fault-kinds.ts` at its place and time. It is written KIND:WHAT[=VALUE]@FROM[-TO], in station
// time: seconds, or a number with s, min, h or d. `stuck-on:transfer-pump@2h-2h30min` is not one of them: write 150min.
import { Coded } from '../errors/coded.ts';
import type { Plant } from '../station/plant.ts';
import { FAULT_KINDS, type FaultKind, type FaultRow, placesFor, type Value } from './fault-kinds.ts';
import { othersFor, wiredAs } from './outputs.ts';

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
