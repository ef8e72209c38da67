// What a night's troubles mean in the words of `station/gaps.ts`: what can't be stopped, what is not true.
import type { Plant } from '../../station/plant.ts';
import type { Trouble } from './misfortunes.ts';

const LIES = [
  'says',
  'frozen',
  'reads-low',
  'chatters',
  'sends',
  'loses-first',
  'resets',
  'uncompensated',
  'compensates-to',
];
const MEASURES = ['measures-off', 'types-target', 'swaps-digits'];
const LINK = [
  'link-lost',
  'link-mute',
  'commands-lost',
  'service-away',
  'memory-lost',
  'file-changed',
  'service-stalls',
  'journal-full',
];
const RUNS_ON = ['restarts-on', 'foreign-on', 'ignores-lease'];

export function failedIn(plant: Plant, troubles: readonly Trouble[]): ReadonlySet<string> {
  const unreachable = (id: string): boolean =>
    troubles.some(({ kind, what }) => LINK.includes(kind) || (kind === 'deaf' && what === id));
  const failed = troubles.flatMap(({ kind, what }): string[] => {
    if (kind === 'stuck-on') return [`stop ${what}`, `stray ${what}`];
    if (kind === 'deaf' && !plant.actuators[what]?.countsLease) return [`stop ${what}`];
    if (RUNS_ON.includes(kind))
      return unreachable(what) ? [`stop ${what}`, `stray ${what}`] : [`stray ${what}`];
    if (LIES.includes(kind) || kind.startsWith('feedback-')) return [`truth ${what}`];
    if (kind === 'siphon') return [`siphon ${what}`];
    if (kind === 'hose-off') return [`hose ${what}`];
    if (kind === 'leaks' || kind === 'drawn-by-hand') return [`water ${what}`];
    if (kind.startsWith('salt-')) return [`salt ${what}`];
    return MEASURES.includes(kind) ? [`measure ${what}`] : [];
  });
  return new Set(failed);
}
