// Which rows save the water in nights of a process that misbehaves. A row has saved it in a night in which it forbade something
// that was wanted, and which does harm without it. Where it does none, others held it too: those are looked for without which,
// and without this row, there is harm, and with this row again there is none.
import type { Plant } from '../../station/plant.ts';
import { KINDS, lose } from '../lost.ts';
import { serve, spread } from '../workers.ts';
import type { Trouble } from './misfortunes.ts';
import { type Judged, keyOfFinding, NIGHT_MS, runNight } from './night.ts';
import { swarmFor } from './swarm.ts';

export interface HostileNight {
  readonly seed: number;
  readonly troubles: readonly Trouble[];
  /** Harm that no gap in the hardware explains. */
  readonly harms: readonly Judged[];
  readonly held: readonly string[];
  /** Of those kinds that were still looked for: what this one alone, or before its partners, kept from happening. */
  readonly saves: readonly Save[];
}

export interface Save {
  readonly kind: string;
  readonly behind: readonly string[];
  readonly words: string;
}

export interface SavesOptions {
  readonly seeds: number;
  readonly seed?: number;
  /** A row that has saved the water so often is not looked for any more. */
  readonly enough?: number;
  /** The same faults for every night; otherwise each draws its own. */
  readonly troubles?: readonly Trouble[];
  /** These kinds only. */
  readonly kinds?: readonly string[];
  readonly workers?: number;
  readonly onNight?: (night: HostileNight, done: number) => void;
}

export interface Saves {
  readonly nights: number;
  readonly harms: readonly HostileNight[];
  /** By kind: nights in which it held something that was wanted, and nights that it saved. */
  readonly rows: Readonly<
    Record<string, { held: number; saved: number; example: (Save & { seed: number }) | null }>
  >;
}

interface Job {
  readonly seed: number;
  readonly wanted: readonly string[];
}
interface Data {
  readonly plant: Plant;
  readonly troubles: readonly Trouble[] | null;
}

/** So many nights are given out at once; between them it is known which rows have saved often enough. */
const ROUND = 32;

export async function savesOf(plant: Plant, options: SavesOptions): Promise<Saves> {
  const { seeds, seed = 1, troubles = null, enough = 10, kinds = KINDS, workers, onNight } = options;
  const rows: Record<string, { held: number; saved: number; example: (Save & { seed: number }) | null }> = {};
  for (const kind of KINDS) rows[kind] = { held: 0, saved: 0, example: null };
  const harms: HostileNight[] = [];
  let done = 0;
  for (let begun = 0; begun < seeds; begun += ROUND) {
    const wanted = kinds.filter((kind) => (rows[kind]?.saved ?? 0) < enough);
    const jobs = Array.from({ length: Math.min(ROUND, seeds - begun) }, (_, nth) => ({
      seed: seed + begun + nth,
      wanted,
    }));
    const nights = await spread<Job, HostileNight>({
      file: import.meta.url,
      data: { plant, troubles } satisfies Data,
      jobs,
      ...(workers === undefined ? {} : { workers }),
      here: work,
      onAnswer: (night) => onNight?.(night, ++done),
    });
    for (const night of nights) {
      if (night.harms.length > 0) harms.push(night);
      for (const kind of night.held) if (rows[kind]) rows[kind].held += 1;
      for (const save of night.saves) {
        const row = rows[save.kind];
        if (row === undefined) continue;
        row.saved += 1;
        row.example ??= { ...save, seed: night.seed };
      }
    }
  }
  return { nights: seeds, harms, rows };
}

const work =
  ({ plant, troubles }: Data) =>
  ({ seed, wanted }: Job): HostileNight =>
    nightOf(plant, seed, troubles ?? swarmFor(plant, seed, NIGHT_MS), wanted);

function nightOf(
  plant: Plant,
  seed: number,
  troubles: readonly Trouble[],
  wanted: readonly string[],
): HostileNight {
  const without = (lost: readonly string[]) => {
    const { findings, held } = runNight(structuredClone(plant), seed, troubles, {
      hostile: true,
      prepare: (own) => lose(own, (kind) => lost.includes(kind)),
    });
    return { harms: findings.filter(({ gap }) => gap === null), held };
  };
  const whole = without([]);
  const known = new Set(whole.harms.map(keyOfFinding));
  const fresh = (lost: readonly string[]): Judged | undefined =>
    without(lost).harms.find((harm) => !known.has(keyOfFinding(harm)));
  const looked = whole.held.filter((kind) => wanted.includes(kind));
  const saves = looked.length === 0 || fresh(whole.held) === undefined ? [] : looked.flatMap(saveOf);

  function saveOf(kind: string): readonly Save[] {
    const alone = fresh([kind]);
    if (alone !== undefined) return [{ kind, behind: [], words: alone.words }];
    let behind = whole.held.filter((other) => other !== kind);
    let words: string | null = null;
    for (const other of behind) {
      const fewer = behind.filter((one) => one !== other);
      const harm = fresh([kind, ...fewer]);
      if (harm === undefined) continue;
      behind = fewer;
      ({ words } = harm);
    }
    // What is missed without the others must not be missed with this row.
    return words === null || fresh(behind) !== undefined ? [] : [{ kind, behind, words }];
  }
  return { seed, troubles, harms: whole.harms, held: whole.held, saves };
}

serve<Data, Job, HostileNight>(import.meta.url, work);
