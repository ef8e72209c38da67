// The failing things of `station/gaps.ts` (`stop inlet-valve`, `truth fresh-high` ...) in words for people.
import type { Plant } from '../station/plant.ts';
import { nameOf } from './words.ts';

const RUNS_ON = {
  valve: 'stays open',
  pump: 'runs on',
  heater: 'stays on',
  contactor: 'stays closed',
  doser: 'doses on',
  signal: 'stays on',
} as const;

/** @throws Error for a kind of failure that this list does not know: a new one needs words */
export function eventWords(plant: Plant, event: string): string {
  const at = event.indexOf(' ');
  const [kind, what] = [event.slice(0, at), event.slice(at + 1)];
  const name = nameOf(plant, what);
  switch (kind) {
    case 'stop':
      return `${name} ${RUNS_ON[plant.actuators[what]?.kind ?? 'signal']}`;
    case 'stray':
      return `${name} ${plant.actuators[what]?.kind === 'valve' ? 'opens' : 'runs'} unasked`;
    case 'truth':
      return what in plant.actuators ? `${name}: its feedback lies` : `${name} lies`;
    case 'hose':
      return `${name}: a hose comes off`;
    case 'siphon':
      return `${name}: siphons on`;
    case 'flow':
      return `${name}: moves more or less than the file says`;
    case 'water':
      return `${name}: loses its water`;
    case 'salt':
      return `${name}: salted wrongly`;
    case 'cut-out':
      return `${name}: its cut-out does not open`;
    case 'measure':
      return `${name}: a person measures wrongly`;
    default:
      throw new Error(`no words for the failure '${event}'`);
  }
}

/** What each kind of failure takes in, said once. */
export const EVENT_KINDS: readonly (readonly [string, string])[] = [
  [
    'stays open, runs on, stays closed, stays on',
    'welded, jammed, switched by hand, or it ignores its lease while nobody can reach it',
  ],
  ['lies', 'stuck, frozen, glued down, reversed or fluttering: it says something fresh that is not so'],
  ['its feedback lies', 'it reports off while it is on, or nothing'],
  ['runs unasked, opens unasked', 'switched on by its relay or by somebody, and off again by the service'],
];
