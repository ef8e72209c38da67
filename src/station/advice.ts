import type { Plant } from './plant.ts';

export interface Warning {
  readonly id: string;
  /** What it is about, as a path into the station: `vessels/fresh`. */
  readonly about: string;
  readonly words: string;
}

export function adviceOn(_plant: Plant): readonly Warning[] {
  return [];
}
