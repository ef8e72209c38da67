// What can be wrong with a station: one row for each kind, with the places where it can be.
import type { Plant } from '../station/plant.ts';

type Target = 'actuator' | 'sensor' | 'route' | 'vessel' | 'system' | 'inlet' | 'probe' | 'all';
export type Value = 'none' | 'number' | 'text' | 'switch' | 'actuator';

export interface FaultRow {
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
