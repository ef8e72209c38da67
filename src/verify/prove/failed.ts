// What the coarse world's defects mean in the words of `station/gap-rows.ts`.
import type { Plant } from '../../station/plant.ts';
import { has } from './defect-kinds.ts';
import type { Defect } from './defects.ts';

/** Of a run's defects those that hold in a tick, and those that left something behind. */
export const holding = (defects: readonly Defect[], active: number, began: number): readonly Defect[] =>
  defects.filter(
    ({ kind }, bit) => (active & (1 << bit)) !== 0 || ((began & (1 << bit)) !== 0 && has(kind, 'stays')),
  );

export function failedBy(plant: Plant, defects: readonly Defect[]): ReadonlySet<string> {
  const unreachable = (id: string): boolean =>
    defects.some(({ kind, what }) => has(kind, 'unreachable') || (kind === 'deaf' && what === id));
  // Nobody tells a device to go off that says that it is.
  const denied = (id: string): boolean =>
    defects.some(
      ({ kind, what, word }) =>
        what === id && (kind === 'feedback-lies' || (kind === 'feedback-says' && word === 'off')),
    );
  const flows = (isMeant: (route: Plant['routes'][string]) => boolean): string[] =>
    Object.values(plant.routes)
      .filter(isMeant)
      .map(({ id }) => `flow ${id}`);
  const failed = defects.flatMap(({ kind, what }): string[] => {
    if (kind === 'stuck-on') return [`stop ${what}`, `stray ${what}`];
    if (kind === 'deaf' && !plant.actuators[what]?.countsLease) return [`stop ${what}`];
    if (has(kind, 'runs-on'))
      return unreachable(what) || denied(what) ? [`stop ${what}`, `stray ${what}`] : [`stray ${what}`];
    if (kind === 'says' || kind === 'lies' || kind === 'chatters' || kind === 'resets')
      return [`truth ${what}`];
    if (kind.startsWith('feedback-')) return [`truth ${what}`];
    if (kind === 'siphon') return [`siphon ${what}`];
    if (kind === 'hose-off') return [`hose ${what}`];
    if (kind === 'weak') return flows(({ through }) => through.includes(what));
    if (kind === 'no-pressure') return flows(({ from }) => from === what);
    if (kind === 'leaks' || kind === 'drawn-by-hand') return [`water ${what}`];
    if (kind === 'salt-twice' || kind === 'salt-never') return [`salt ${what}`];
    return kind === 'measures-off' ? [`measure ${what}`] : [];
  });
  return new Set(failed);
}
