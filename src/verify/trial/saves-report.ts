// What nights of a process that misbehaves have shown, for whoever sits in front of it.
import type { Plant } from '../../station/plant.ts';
import { specOf } from './misfortunes.ts';
import type { Saves } from './saves.ts';

/** @param seconds how long it took */
export function savesText(plant: Plant, { nights, harms, rows }: Saves, seconds: number): string {
  const met = Object.entries(rows).filter(([, { held }]) => held > 0);
  return `${[
    `${plant.name} (${plant.id}): ${nights} nights of the guard below a process that wants at random, ${seconds.toFixed(0)} s`,
    '',
    harms.length === 0
      ? '  held  no harm but what hardware alone could have held'
      : `  NO    harm in ${harms.length} nights`,
    ...harms.flatMap(({ seed, troubles, harms: found }) => [
      ...found.map(({ words }) => `  night ${seed}: ${words}`),
      `      under ${troubles.map(specOf).join(' ') || 'no fault at all'}`,
    ]),
    '',
    'Rows, by the nights in which they forbade what was wanted, and those that they saved: without the row the same night does harm',
    ...met.map(([kind, { held, saved, example }]) => {
      const behind = (example?.behind.length ?? 0) > 0 ? `, with ${example?.behind.join(', ')} out` : '';
      const told = example === null ? '' : `  night ${example.seed}${behind}: ${example.words}`;
      return `  ${kind.padEnd(16)}${String(held).padStart(6)}${String(saved).padStart(6)}${told}`;
    }),
    '',
    `Never met: ${
      Object.keys(rows)
        .filter((kind) => rows[kind]?.held === 0)
        .join(', ') || 'none'
    }`,
  ].join('\n')}\n`;
}
