// Rows taken out of a plant that only one test has. The product has no way to do that, and needs none.
import { deriveRows, type Row } from '../../src/control/guard/interlocks.ts';
import { ROW_KINDS } from '../../src/control/guard/rows.ts';
import type { Plant } from '../../src/station/plant.ts';

const suffixes = new Set(ROW_KINDS.flatMap(({ id, suffix }) => (suffix ? [`${id}/${suffix}`] : [])));

/** Every kind of row. */
export const KINDS: readonly string[] = ROW_KINDS.map(({ id, suffix }) => (suffix ? `${id}/${suffix}` : id));

/** `I-23/transfer-pump/stays-on` is of the kind `I-23/stays-on`. */
export function kindOf({ id, key }: Row): string {
  const suffixed = `${id}/${key.split('/')[2]}`;
  return suffixes.has(suffixed) ? suffixed : id;
}

/** These rows never hold in this very plant. */
export function lose(plant: Plant, isLost: (kind: string) => boolean): void {
  for (const row of deriveRows(plant)) if (isLost(kindOf(row))) Object.assign(row, { holds: () => false });
}
