// The whole exploration of a station: the ground, every single fault, and on request pairs of faults; spread over
// processors, and summed up into what is shown and what is not.
import { type Gap, gapFor } from '../../station/gaps.ts';
import type { Plant } from '../../station/plant.ts';
import { serve, spread } from '../workers.ts';
import { canBeTrue, type Defect, defectsOf, nameOf } from './defects.ts';
import { type Ground, type GroundOptions, groundOf, groundOn, type Run, runOf } from './explore.ts';
import { failedBy, holding } from './failed.ts';
import { collisionOdds } from './fingerprint.ts';
import type { Model } from './model.ts';
import { latentOf, neighboursOf } from './pairs.ts';
import type { Accident } from './search.ts';
import { traceOf } from './trace.ts';

export interface ProofOptions {
  /** Only faults whose name contains this. */
  readonly only?: string;
  /** Also two at once: within each route's neighbourhood, to the depth that `mostPair` places allow. */
  readonly pairs?: boolean;
  /** The core takes each tick in four steps, and hears meters, levels and floats in between. */
  readonly fine?: boolean;
  readonly workers?: number;
  /** Most places of a pair. */
  readonly mostPair?: number;
  readonly prepare?: GroundOptions['prepare'];
  readonly onRun?: (run: Told, done: number, all: number) => void;
}

export const MOST_PAIR = 500;
/** So that what flows between two messages is no more than a float's tolerance. */
export const FINE_PIECES = 4;
/**
 * Most places of what lies anew at every tick; all other single faults are looked at to their end. Meters, levels and floats
 * have many more than that; what can't say the truth by chance, a thermometer or a probe, has hardly more. Where it is
 * reached the report says so, and how deep.
 */
export const MOST_LYING = { true: 20_000, never: 50_000 } as const;

const mostOf = (model: Model, defect: Defect): number | undefined =>
  defect.ways === 1 ? undefined : MOST_LYING[canBeTrue(model, defect) ? 'true' : 'never'];

/** An accident as it is told: with its trace, and the hardware that would have held it. */
export interface ToldAccident {
  readonly key: string;
  readonly words: string;
  readonly defects: readonly string[];
  readonly byOrder: boolean;
  readonly trace: readonly string[];
  readonly gap: string | null;
  readonly fit: string | null;
}

export interface Told extends Omit<Run, 'accidents' | 'strandedAt'> {
  readonly accidents: readonly ToldAccident[];
  readonly strandedTrace: readonly string[];
}

export interface Proof {
  readonly station: string;
  /** In so many steps the core took each tick. */
  readonly pieces: number;
  readonly ground: Told;
  readonly singles: readonly Told[];
  readonly pairs: readonly Told[];
  readonly places: number;
  readonly transitions: number;
  /** That any two of a run's places shared a fingerprint, summed over the runs. */
  readonly odds: number;
  /** Faults, and pairs of them, whose accidents no missing hardware explains or after which no batch can be made: must be none. */
  readonly open: readonly Told[];
}

interface Data {
  readonly real: Plant;
  readonly pieces: number;
  readonly mostPair: number;
}

/** A single fault by its place in the catalogue, or one latent with all of its neighbours. */
interface Job {
  readonly defect: number;
  readonly pairs: boolean;
}

export async function proofOf(real: Plant, options: ProofOptions = {}): Promise<Proof> {
  const { only = '', pairs = false, fine = false, prepare, onRun } = options;
  const data: Data = { real, pieces: fine ? FINE_PIECES : 1, mostPair: options.mostPair ?? MOST_PAIR };
  const ground = groundOf(real, { pieces: data.pieces, ...(prepare === undefined ? {} : { prepare }) });
  const all = defectsOf(ground.model);
  const wanted = all.flatMap((defect, at) => (nameOf(defect).includes(only) ? [at] : []));
  // The longest first, so that no processor ends with a long one while the others have nothing to do.
  const jobs: Job[] = [
    ...wanted
      .toSorted((one, other) => (all[other]?.ways ?? 0) - (all[one]?.ways ?? 0))
      .map((defect) => ({ defect, pairs: false })),
    ...(pairs ? latentOf(all).map((defect) => ({ defect, pairs: true })) : []),
  ];
  const answers = await spread<Job, readonly Told[]>({
    file: import.meta.url,
    data,
    jobs,
    ...(options.workers === undefined ? {} : { workers: options.workers }),
    here: () => workOn(data, ground),
    onAnswer: (runs, _, done) => {
      for (const run of runs) onRun?.(run, done, jobs.length);
    },
  });
  const inOrder = wanted.flatMap((defect) => jobs.findIndex((job) => job.defect === defect && !job.pairs));
  const singles = inOrder.flatMap((at) => answers[at] ?? []);
  const pairRuns = answers.flatMap((runs, at) => (jobs[at]?.pairs ? runs : []));
  return summed(data, toldOf(ground, [], ground.run), singles, pairRuns);
}

function summed(
  { real, pieces }: Data,
  ground: Told,
  singles: readonly Told[],
  pairs: readonly Told[],
): Proof {
  const runs = [ground, ...singles, ...pairs];
  return {
    station: real.id,
    pieces,
    ground,
    singles,
    pairs,
    places: runs.reduce((sum, { places }) => sum + places, 0),
    transitions: runs.reduce((sum, { transitions }) => sum + transitions, 0),
    odds: runs.reduce((sum, { places }) => sum + collisionOdds(ground.places + places), 0),
    open: runs.filter(isOpen),
  };
}

/** Something happened that no missing hardware explains, or no batch can be made any more. */
export const isOpen = ({ accidents, stranded }: Told): boolean =>
  accidents.some(({ gap }) => gap === null) || stranded.untripped + stranded.tripped > 0;

function workOn({ mostPair }: Data, ground: Ground): (job: Job) => readonly Told[] {
  const all = defectsOf(ground.model);
  return ({ defect: at, pairs }) => {
    const defect = all[at];
    if (defect === undefined) throw new Error(`there is no fault number ${at}`);
    if (!pairs) {
      return [toldOf(ground, [defect], runOf(ground, defect, mostOf(ground.model, defect)))];
    }
    const latent = groundOn(ground.model, { latent: defect, most: LATENT * mostPair });
    return neighboursOf(ground.model, all, defect).map((other) =>
      toldOf(latent, [defect, other], runOf(latent, other, mostPair)),
    );
  };
}
/** What a latent fault does by itself is looked at further than what a second one adds. */
const LATENT = 6;

function toldOf(ground: Ground, defects: readonly Defect[], run: Run): Told {
  const { accidents, strandedAt, ...rest } = run;
  return {
    ...rest,
    accidents: accidents.map((accident) => toldAccident(ground, defects, accident)),
    strandedTrace: strandedAt === null ? [] : traceOf(ground, defects, strandedAt.root, strandedAt.moves),
  };
}

function toldAccident(ground: Ground, defects: readonly Defect[], accident: Accident): ToldAccident {
  const { key, words, byOrder, root, moves } = accident;
  const gap = gapOf(ground.model, defects, accident);
  return {
    key,
    words,
    defects: defects.map(nameOf),
    byOrder,
    trace: traceOf(ground, defects, root, moves),
    gap: gap?.id ?? null,
    fit: gap?.fit ?? null,
  };
}

/** Every way by which it came must be explained; the gap that explains the first of them is named. */
export function gapOf({ real }: Model, defects: readonly Defect[], accident: Accident): Gap | undefined {
  const { harm, about, ways, active, began } = accident;
  if (harm === null) return undefined;
  const failed = failedBy(real, holding(defects, active, began));
  const gaps = ways.map((way) => gapFor(real, harm, about, way, failed));
  return gaps.includes(undefined) ? undefined : gaps[0];
}

serve<Data, Job, readonly Told[]>(import.meta.url, (data) =>
  workOn(data, groundOf(data.real, { pieces: data.pieces })),
);
