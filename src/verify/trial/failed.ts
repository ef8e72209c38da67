// What a night's troubles mean in the words of `station/gap-rows.ts`: what can't be stopped, what is not true.
import type { Plant } from '../../station/plant.ts';
import { SLOW_REACTION_MS } from '../checks/bounds.ts';
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
/** What these did is still there when they are over: a relay that was switched on, water that is gone, salt in the vat. */
const STAYS = ['restarts-on', 'foreign-on', 'leaks', 'drawn-by-hand', 'salt-', 'measures-off'];

/**
 * What has failed in the step that ends now: what began, and was not over before it or left something behind. While the
 * service stands still a step is as long as that lasts.
 */
export function failedAt(
  plant: Plant,
  troubles: readonly Trouble[],
  nowMs: number,
  elapsedMs: number,
): ReadonlySet<string> {
  const holds = ({ kind, fromMs, toMs }: Trouble): boolean =>
    fromMs <= nowMs &&
    (nowMs - elapsedMs < toMs + SLOW_REACTION_MS || STAYS.some((beginning) => kind.startsWith(beginning)));
  return failedIn(plant, troubles.filter(holds));
}

/** What fails at some moment of the night. */
export function failedIn(plant: Plant, troubles: readonly Trouble[]): ReadonlySet<string> {
  const unreachable = (id: string): boolean =>
    troubles.some(({ kind, what }) => LINK.includes(kind) || (kind === 'deaf' && what === id));
  const flows = (isMeant: (route: Plant['routes'][string]) => boolean): string[] =>
    Object.values(plant.routes)
      .filter(isMeant)
      .map(({ id }) => `flow ${id}`);
  const failed = troubles.flatMap(({ kind, what, value }): string[] => {
    if (kind === 'stuck-on') return [`stop ${what}`, `stray ${what}`];
    // Told off, it goes on with the other; told on, the other comes on.
    if (kind === 'outputs-swapped') return [what, value].flatMap((id) => [`stop ${id}`, `stray ${id}`]);
    if (kind === 'deaf' && !plant.actuators[what]?.countsLease) return [`stop ${what}`];
    if (RUNS_ON.includes(kind))
      return unreachable(what) ? [`stop ${what}`, `stray ${what}`] : [`stray ${what}`];
    if (LIES.includes(kind) || kind.startsWith('feedback-')) return [`truth ${what}`];
    if (kind === 'siphon') return [`siphon ${what}`];
    if (kind === 'hose-off') return [`hose ${what}`];
    if (kind === 'weak') return flows(({ through }) => through.includes(what));
    if (kind === 'no-pressure') return flows(({ from }) => from === what);
    if (kind === 'leaks' || kind === 'drawn-by-hand') return [`water ${what}`];
    if (kind.startsWith('salt-')) return [`salt ${what}`];
    return MEASURES.includes(kind) ? [`measure ${what}`] : [];
  });
  return new Set(failed);
}
