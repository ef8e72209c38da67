// A campaign's nights, spread over processors.
import type { Plant } from '../../station/plant.ts';
import { serve, spread } from '../workers.ts';
import { type NightReport, nightReport } from './campaign.ts';
import type { Trouble } from './misfortunes.ts';

export interface NightsOptions {
  readonly seeds: number;
  /** The first; the others follow. Default 1. */
  readonly seed?: number;
  /** The same faults for every night; otherwise each draws its own. */
  readonly troubles?: readonly Trouble[];
  readonly workers?: number;
  readonly onNight?: (report: NightReport, done: number) => void;
}

interface Data {
  readonly plant: Plant;
  readonly troubles: readonly Trouble[] | null;
}

export async function nightsOf(plant: Plant, options: NightsOptions): Promise<readonly NightReport[]> {
  const { seeds, seed = 1, troubles = null, workers, onNight } = options;
  return spread<number, NightReport>({
    file: import.meta.url,
    data: { plant, troubles } satisfies Data,
    jobs: Array.from({ length: seeds }, (_, nth) => seed + nth),
    ...(workers === undefined ? {} : { workers }),
    here: work,
    onAnswer: (report, _, done) => onNight?.(report, done),
  });
}

const work =
  ({ plant, troubles }: Data) =>
  (seed: number): NightReport =>
    nightReport(plant, seed, troubles);

serve<Data, number, NightReport>(import.meta.url, work);
