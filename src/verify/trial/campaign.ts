// A campaign of nights, and what is to be told of each: a night that went wrong is shrunk to its fewest faults, and then
// either the station lacks hardware that would have held it, which has a name, or the software is at fault.
import type { Plant } from '../../station/plant.ts';
import { failedIn } from './failed.ts';
import { specOf, type Trouble } from './misfortunes.ts';
import { type Judged, NIGHT_MS, type NightOptions, type NightResult, runNight } from './night.ts';
import { shrunk } from './shrink.ts';
import { swarmFor } from './swarm.ts';

/** What went wrong in one night, told once. */
export interface Verdict {
  readonly check: string;
  readonly about: string;
  readonly words: string;
  /** The fewest faults that do it, as specs. */
  readonly faults: readonly string[];
  readonly gap: string | null;
  readonly fit: string | null;
}

export interface NightReport {
  readonly seed: number;
  readonly kinds: readonly string[];
  readonly verdicts: readonly Verdict[];
  readonly cycleMs: number | null;
  readonly stationMs: number;
  readonly steps: number;
  readonly deliveredL: number;
}

/** @param given faults instead of those that the seed draws */
export function nightReport(
  plant: Plant,
  seed: number,
  given: readonly Trouble[] | null,
  options: NightOptions = {},
): NightReport {
  const troubles = given ?? swarmFor(plant, seed, NIGHT_MS);
  const night = runNight(plant, seed, troubles, options);
  return {
    seed,
    kinds: troubles.map(({ kind }) => kind),
    verdicts: night.findings.map((finding) => verdictOf(plant, night, finding, options)),
    cycleMs: night.cycleMs,
    stationMs: night.stationMs,
    steps: night.steps,
    deliveredL: night.deliveredL,
  };
}

function verdictOf(plant: Plant, night: NightResult, finding: Judged, options: NightOptions): Verdict {
  // What one gap alone explains needs no search: that gap's own faults are the fewest.
  const suspects = finding.gap === null ? null : alone(plant, night, finding);
  const { troubles, finding: seen } =
    suspects ??
    (night.troubles.length === 0 ? { ...night, finding } : shrunk(plant, night, finding, options));
  const { check, about, words, gap, fit } = seen;
  return { check, about, words, faults: troubles.map(specOf), gap, fit };
}

/** The troubles of a gap that was named, where they are few and all there. */
function alone(plant: Plant, { troubles }: NightResult, finding: Judged) {
  const needed = troubles.filter((trouble) => failedIn(plant, [trouble]).size > 0);
  return needed.length === 1 ? { troubles: needed, finding } : null;
}

/** The one command that plays a night again. */
export function replayCommand(file: string, seed: number, faults: readonly string[]): string {
  const given = faults.length === 0 ? ' --no-faults' : faults.map((spec) => ` --fault '${spec}'`).join('');
  return `vatwarden trial ${file} --seeds 1 --seed ${seed}${given}`;
}
