// What can go wrong beside the water: the link, the service, its disk, its clock, other hands on the same switches. Written
// like a fault of the station, KIND:WHAT[=VALUE]@FROM[-TO], so that one list replays a night.
import { Coded } from '../../errors/coded.ts';
import { FAULT_KINDS, type FaultKind } from '../../simulate/fault-kinds.ts';
import { type Fault, parseFault } from '../../simulate/faults.ts';
import type { Plant } from '../../station/plant.ts';

interface MisfortuneRow {
  readonly at: 'broker' | 'service' | 'journal' | 'clock' | 'actuator';
  /** Taken where no value is given; undefined: it takes none. */
  readonly usual?: string;
  readonly words: string;
}

export const MISFORTUNES = {
  'link-lost': { at: 'broker', words: 'the connection is gone, and the service is told' },
  'link-mute': { at: 'broker', words: 'nothing comes through, and nobody is told' },
  'messages-lost': { at: 'broker', usual: '0.3', words: 'this share of what the station says is lost' },
  'commands-lost': { at: 'broker', usual: '0.3', words: 'this share of the commands is lost' },
  'service-away': { at: 'service', words: 'the service is killed, and comes back at the end' },
  'memory-lost': {
    at: 'service',
    words: 'the service is killed, and comes back at the end to a damaged state file',
  },
  'file-changed': {
    at: 'service',
    words: 'the service is killed, and comes back at the end with other plumbing in its station file',
  },
  'service-stalls': { at: 'service', words: 'the service stands still, and goes on at the end' },
  'journal-full': { at: 'journal', words: 'nothing can be written to disk' },
  'clock-wrong': { at: 'clock', usual: '-60', words: 'the clock is this many minutes off' },
  'clock-untrusted': { at: 'clock', words: 'nobody knows the time' },
  'foreign-on': { at: 'actuator', words: 'somebody else switches it on, every eight minutes' },
  'foreign-off': { at: 'actuator', words: 'somebody else switches it off, every eight minutes' },
} as const satisfies Record<string, MisfortuneRow>;

export type MisfortuneKind = keyof typeof MISFORTUNES;

/** One thing that goes wrong in a night. */
export interface Trouble {
  readonly kind: FaultKind | MisfortuneKind;
  readonly what: string;
  readonly value: string;
  readonly fromMs: number;
  readonly toMs: number;
}

/** Somebody's rule sends its command again and again. */
export const REPEATS_MS = 8 * 60_000;

export const isMisfortune = (kind: string): kind is MisfortuneKind => Object.hasOwn(MISFORTUNES, kind);
export const isFault = (trouble: Trouble): trouble is Fault => Object.hasOwn(FAULT_KINDS, trouble.kind);

/** Where in this station such a misfortune can be. */
export function placesOf(kind: MisfortuneKind, plant: Plant): readonly string[] {
  const { at }: MisfortuneRow = MISFORTUNES[kind];
  if (at !== 'actuator') return [at];
  return Object.values(plant.actuators).flatMap((actuator) =>
    actuator.kind === 'signal' ? [] : [actuator.id],
  );
}

/**
 * Reads a fault of the station or a misfortune.
 * @throws Coded naming the place and the mend.
 */
export function parseTrouble(spec: string, plant: Plant): Trouble {
  const kind = spec.trim().split(':')[0] ?? '';
  if (!isMisfortune(kind)) return parseFault(spec, plant);
  const [named = '', span = ''] = spec.trim().split('@');
  const [what = '', value] = named.slice(kind.length + 1).split('=');
  const places = placesOf(kind, plant);
  if (!places.includes(what))
    throw new Coded('E-122', `fault '${spec}': '${kind}' is at ${places.join(' or ')}, not at '${what}'`);
  const { usual }: MisfortuneRow = MISFORTUNES[kind];
  if (usual === undefined && value !== undefined)
    throw new Coded('E-122', `fault '${spec}': '${kind}' takes no value; leave '=${value}' out`);
  const amount = value ?? usual ?? '';
  if (amount !== '' && !Number.isFinite(Number(amount)))
    throw new Coded('E-122', `fault '${spec}': '${amount}' is not a number`);
  // One reader for every span of time.
  const { fromMs, toMs } = parseFault(`nobody-there:all@${span}`, plant);
  return { kind, what, value: amount, fromMs, toMs };
}

/** The spec that reads back as this. */
export function specOf({ kind, what, value, fromMs, toMs }: Trouble): string {
  const end = Number.isFinite(toMs) ? `-${spanOf(toMs)}` : '';
  // An empty payload is a payload.
  const empty = value === '' && kind !== 'sends';
  return `${kind}:${what}${empty ? '' : `=${value}`}@${spanOf(fromMs)}${end}`;
}

const spanOf = (ms: number): string => (ms % 1000 === 0 ? `${ms / 1000}s` : `${ms}ms`);
