// The faults that a repertoire of a hostile process can meet; by what they are at.
import { has } from './defect-kinds.ts';
import { type Defect, defectsOf } from './defects.ts';
import { type Repertoire, reachOf } from './hostile.ts';
import type { Model } from './model.ts';

/** What the process alone can be asked is wanted here anyway; and a person's help is never needed. */
const LEFT_OUT = ['hold', 'restart', 'stop', 'abort', 'reset', 'start', 'exchange-now'];

/** The faults that this repertoire can meet: at its devices, its vessels, what measures them, or everywhere. */
export function faultsOf(model: Model, repertoire: Repertoire): readonly Defect[] {
  const { own, near } = reachOf(model.plant, repertoire);
  return [...defectsOf(model), ...toTheGuard(model)].filter(({ kind, what, at }) => {
    if (kind === 'nobody-there' || (kind === 'asks' && LEFT_OUT.includes(what))) return false;
    if (has(kind, 'everywhere') || what === 'all') return true;
    if (has(kind, 'salt')) return repertoire.salts || (kind === 'asks' && what === 'reset-trip');
    if (has(kind, 'moves')) return near.has(what) || own.has(what);
    const sensor = model.sensors[at];
    if (sensor?.measures === 'leak' && sensor.id === what) return true;
    if (sensor === undefined || sensor.id !== what || !('vessel' in sensor)) return own.has(what);
    return own.has(sensor.vessel);
  });
}

/**
 * What only the guard is to be tried by: a contact that is silent while the broker hands out what it said on another day, and a
 * person who types the target, and again as what a second instrument shows.
 */
function toTheGuard(model: Model): readonly Defect[] {
  const all = defectsOf(model);
  const isContact = ({ at }: Defect): boolean => {
    const measures = model.sensors[at]?.measures;
    return measures !== undefined && CONTACTS.includes(measures);
  };
  return [
    ...all
      .filter((one) => one.kind === 'says' && isContact(one))
      .map((one) => ({ ...one, kind: 'stored' as const })),
    ...all
      .filter(({ kind, word }) => kind === 'measures-off' && word === 'target')
      .map((one) => ({ ...one, kind: 'types-both' as const })),
  ];
}
const CONTACTS: readonly string[] = ['float', 'leak', 'top-off'];
