// What the coarse world's defects mean in the words of `station/gaps.ts`.
import type { Plant } from '../../station/plant.ts';
import type { Defect } from './defects.ts';

const RUNS_ON = ['restarts-on', 'foreign-on', 'ignores-lease'];
const UNREACHABLE = [
  'link-lost',
  'link-mute',
  'service-away',
  'memory-lost',
  'file-changed',
  'service-restarts',
];

export function failedBy(plant: Plant, defects: readonly Defect[]): ReadonlySet<string> {
  const unreachable = (id: string): boolean =>
    defects.some(({ kind, what }) => UNREACHABLE.includes(kind) || (kind === 'deaf' && what === id));
  // Nobody tells a device to go off that says that it is.
  const denied = (id: string): boolean =>
    defects.some(
      ({ kind, what, word }) =>
        what === id && (kind === 'feedback-lies' || (kind === 'feedback-says' && word === 'off')),
    );
  const failed = defects.flatMap(({ kind, what }): string[] => {
    if (kind === 'stuck-on') return [`stop ${what}`, `stray ${what}`];
    if (kind === 'deaf' && !plant.actuators[what]?.countsLease) return [`stop ${what}`];
    if (RUNS_ON.includes(kind))
      return unreachable(what) || denied(what) ? [`stop ${what}`, `stray ${what}`] : [`stray ${what}`];
    if (kind === 'says' || kind === 'lies' || kind === 'chatters' || kind === 'resets')
      return [`truth ${what}`];
    if (kind.startsWith('feedback-')) return [`truth ${what}`];
    if (kind === 'siphon') return [`siphon ${what}`];
    if (kind === 'hose-off') return [`hose ${what}`];
    if (kind === 'leaks' || kind === 'drawn-by-hand') return [`water ${what}`];
    if (kind === 'salt-twice' || kind === 'salt-never') return [`salt ${what}`];
    return kind === 'measures-off' ? [`measure ${what}`] : [];
  });
  return new Set(failed);
}
