// Rows taken out of a plant: how a verification shows that it would notice. No running station has a way to do that.
import { deriveRows, nameOfKind, rowOf } from '../control/guard/interlocks.ts';
import { ROW_KINDS } from '../control/guard/rows.ts';
import type { Plant } from '../station/plant.ts';

/** Every kind of row. */
export const KINDS: readonly string[] = ROW_KINDS.map(nameOfKind);

/** The kind of a row of this station, by its key. */
export const kindOfKey = (plant: Plant, key: string): string => rowOf(plant, key)?.kind ?? key;

/** These rows never hold in this very plant. */
export function lose(plant: Plant, isLost: (kind: string) => boolean): void {
  for (const row of deriveRows(plant)) if (isLost(row.kind)) Object.assign(row, { holds: () => false });
}
