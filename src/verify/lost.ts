// Rows taken out of a plant: how a verification shows that it would notice. No running station has a way to do that.
import { deriveRows, type Row, rowOf } from '../control/guard/interlocks.ts';
import { ROW_KINDS } from '../control/guard/rows.ts';
import type { Plant } from '../station/plant.ts';

const suffixes = new Set(ROW_KINDS.flatMap(({ id, suffix }) => (suffix ? [`${id}/${suffix}`] : [])));

/** Every kind of row. */
export const KINDS: readonly string[] = ROW_KINDS.map(({ id, suffix }) => (suffix ? `${id}/${suffix}` : id));

/** `I-23/transfer-pump/stays-on` is of the kind `I-23/stays-on`. */
export function kindOf({ id, key }: Row): string {
  const suffixed = `${id}/${key.split('/')[2]}`;
  return suffixes.has(suffixed) ? suffixed : id;
}

/** The kind of a row of this station, by its key. */
export function kindOfKey(plant: Plant, key: string): string {
  const row = rowOf(plant, key);
  return row === undefined ? key : kindOf(row);
}

/** These rows never hold in this very plant. */
export function lose(plant: Plant, isLost: (kind: string) => boolean): void {
  for (const row of deriveRows(plant)) if (isLost(kindOf(row))) Object.assign(row, { holds: () => false });
}
