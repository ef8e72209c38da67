// The canonical form of the verdicts: of the rows that forbid a target one of each sort, because nobody asks for more.

import { deriveRows } from '../../control/guard/interlocks.ts';
import { perPlant } from '../../control/guard/per-plant.ts';
import type { Meaning } from '../../control/guard/row-kinds.ts';
import type { State } from '../../control/process/state.ts';
import type { Plant } from '../../station/plant.ts';
import { handsFor } from '../hands.ts';

/**
 * Of the rows that forbid a target the phases ask: does any, does it hold them or blind them, and is it for
 * lack of water, of room, a ledger, or a way that is busy. One row of each sort says it all.
 */
export function canonicalVerdicts(plant: Plant, found: State['verdicts']): State['verdicts'] {
  const kept: Record<string, string[]> = {};
  for (const target in found) {
    const first = new Map<string, string>();
    for (const key of found[target] ?? []) {
      const { sort, stands } = sortOf(plant, key);
      first.set(sort, stands);
    }
    kept[target] = [...first.values()];
  }
  return kept;
}

interface Sort {
  readonly sort: string;
  /** The first row of this sort that the plant has stands for all of them. */
  readonly stands: string;
}

const sorts = perPlant((plant): ReadonlyMap<string, Sort> => {
  const first = new Map<string, string>();
  return new Map(
    deriveRows(plant).map(({ key, cause, means }) => {
      const group = ASKED.find((meanings) => meanings.includes(means)) ?? '';
      // A row whose response asks a person to put something right in the water counts by itself.
      const sort = handsFor(plant, key).length > 0 ? key : `${cause ?? 'waits'} ${group}`;
      const stands = first.get(sort) ?? key;
      first.set(sort, stands);
      return [key, { sort, stands }];
    }),
  );
});
const sortOf = (plant: Plant, key: string): Sort => sorts(plant).get(key) ?? { sort: key, stands: key };
/** What somebody asks of the rows that forbid a target, in groups that are asked for together. */
const ASKED: readonly (readonly (Meaning | null)[])[] = [
  ['brim'],
  ['empty'],
  ['silent', 'unattended'],
  ['passing'],
];
