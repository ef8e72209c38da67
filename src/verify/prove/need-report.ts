// Which rows of a station are needed, for whoever sits in front of it.
import type { Plant } from '../../station/plant.ts';
import type { Need } from './necessity.ts';

/** One line for each kind of row. */
export const needLine = ({ kind, behind, saves, ways }: Need): string => {
  if (saves === null) return `${kind.padEnd(16)} not needed here: nothing that is explored breaks without it`;
  const line = behind.length === 0 ? 'first line' : `behind ${behind.join(', ')}`;
  return `${kind.padEnd(16)} ${line}: ${saves.words}, under ${saves.fault || 'no fault at all'} (${ways} ways)`;
};

/** @param seconds how long it took */
export const needText = (plant: Plant, needs: readonly Need[], seconds: number): string =>
  `${[
    `${plant.name} (${plant.id}): each kind of row taken out of the guard, until something breaks`,
    '',
    ...needs.map((need) => `  ${needLine(need)}`),
    '',
    `  ${needs.filter(({ behind, saves }) => saves !== null && behind.length === 0).length} first lines, ${
      needs.filter(({ behind }) => behind.length > 0).length
    } second lines, ${needs.filter(({ saves }) => saves === null).length} that this exploration has no accident for; ${seconds.toFixed(0)} s`,
    '',
    'What this exploration has no accident for has a test of its own: rests, late ticks, the journal, resin, proof tests.',
  ].join('\n')}\n`;
