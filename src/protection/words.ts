// Words that the pages of this room share.
import type { Plant } from '../station/plant.ts';

/** `a, b and c`. */
export function joined(words: readonly string[], last = 'and'): string {
  if (words.length < 2) return words.join('');
  return `${words.slice(0, -1).join(', ')} ${last} ${words.at(-1)}`;
}

/** `1 gap`, `2 gaps`. */
export const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

/** How people call a part of the station; its id where the file gives it no name. */
export function nameOf(plant: Plant, id: string): string {
  const { actuators, sensors, routes, heaters, vessels } = plant;
  return (actuators[id] ?? sensors[id] ?? routes[id] ?? heaters[id] ?? vessels[id])?.name ?? id;
}
