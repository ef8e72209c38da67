// A station at rest with a ready batch and nothing wrong: where every row's test begins.
import { draftOf } from '../../src/control/process/draft.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Plant } from '../../src/station/plant.ts';
import { couple, plantAt } from '../tools/coupled.ts';

export const STATIONS: Readonly<
  Record<string, { readonly file: string; readonly stepMs: number; readonly restMs: number }>
> = {
  'marram-point': { file: 'schemas/examples/marram-point.json', stepMs: 5_000, restMs: 120_000 },
  'unequal-vats': { file: 'schemas/examples/unequal-vats.json', stepMs: 5_000, restMs: 120_000 },
  'one-vat': { file: 'schemas/examples/one-vat.json', stepMs: 5_000, restMs: 120_000 },
  'bench-rig': { file: 'test/stations/bench-rig.json', stepMs: 250, restMs: 30_000 },
};

export interface Baseline {
  readonly plant: Plant;
  /** A fresh copy each time. */
  readonly draft: () => State;
}

const made = new Map<string, Baseline>();

/** Runs the station until a batch is ready, everything rests and the exchange is between steps. */
export function baseline(name: string): Baseline {
  const known = made.get(name);
  if (known) return known;
  const { file, stepMs, restMs } = STATIONS[name] as (typeof STATIONS)[string];
  const plant = plantAt(file);
  const coupled = couple(plant, { stepMs });
  coupled.request({ ask: 'start', unit: 'batch' });
  coupled.run(20 * stepMs);
  // Without an exchange the batch stays, and everything comes to rest.
  coupled.request({ ask: 'hold', unit: 'exchange' });
  const atRest = coupled.run(stepMs * 60_000, ({ state }) => {
    const now = state();
    const resting = Object.values(now.routes).every((pipe) => pipe.running === 'no' && pipe.restMs > restMs);
    return now.batch.stage === 'ready' && resting && Object.keys(now.trips).length === 0;
  });
  if (!atRest) throw new Error(`${name} never came to rest: ${coupled.state().batch.words}`);
  const state = coupled.state();
  const base = { plant, draft: () => structuredClone(draftOf(state)) };
  made.set(name, base);
  return base;
}
