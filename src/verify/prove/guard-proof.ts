// The guard alone, over all repertoires of a station and all faults that each can meet; spread over processors.
import type { Plant } from '../../station/plant.ts';
import { serve, spread } from '../workers.ts';
import { type Alone, aloneUnder, modelAlone, repertoiresIn, stageOf } from './alone.ts';
import { faultsOf } from './alone-faults.ts';
import { defectsOf, nameOf } from './defects.ts';
import { collisionOdds } from './fingerprint.ts';

export interface GuardOptions {
  /** Only faults whose name contains this. */
  readonly only?: string;
  /** Of so many parts of the faults this one, from 0. */
  readonly part?: { readonly at: number; readonly of: number };
  readonly workers?: number;
  /** Kinds of rows that the guard is without. */
  readonly lost?: readonly string[];
  readonly onRun?: (name: string, done: number, all: number) => void;
}

export interface GuardProof {
  readonly station: string;
  readonly repertoires: number;
  readonly faults: number;
  /** Of the catalogue, those that no repertoire meets. */
  readonly unmet: readonly string[];
  readonly runs: readonly Alone[];
  readonly places: number;
  readonly transitions: number;
  readonly odds: number;
  /** Runs in which harm came that a guard could have held: must be none. */
  readonly open: readonly Alone[];
}

interface Data {
  readonly real: Plant;
  readonly only: string;
  readonly part: { readonly at: number; readonly of: number };
  readonly lost: readonly string[];
}

/** Faults of one repertoire by their places in its list; none: while all is well. */
interface Job {
  readonly repertoire: number;
  readonly faults: readonly number[];
}
/** So many parts of a repertoire's faults are looked at beside one another: each part explores the ground of it anew. */
const SHARES = 2;

export async function guardProofOf(real: Plant, options: GuardOptions = {}): Promise<GuardProof> {
  const { only = '', part = { at: 0, of: 1 }, lost = [], onRun } = options;
  const data: Data = { real, only, part, lost };
  const model = modelAlone(real, lost);
  const repertoires = repertoiresIn(model);
  const jobs = repertoires.flatMap((repertoire, at): Job[] => {
    const wanted = faultsOf(model, repertoire).flatMap((fault, place) =>
      nameOf(fault).includes(only) && (at + place) % part.of === part.at ? [place] : [],
    );
    return Array.from({ length: SHARES }, (_, share) => ({
      repertoire: at,
      faults: wanted.filter((__, place) => place % SHARES === share),
    }));
  });
  const answers = await spread<Job, readonly Alone[]>({
    file: import.meta.url,
    data,
    jobs: jobs.toSorted((one, other) => other.faults.length - one.faults.length),
    ...(options.workers === undefined ? {} : { workers: options.workers }),
    here: () => workOn(data),
    onAnswer: (runs, _, done) => onRun?.(runs[0]?.repertoire ?? '', done, jobs.length),
  });
  const runs = answers.flat();
  const met = new Set(repertoires.flatMap((repertoire) => faultsOf(model, repertoire).map(nameOf)));
  const all = defectsOf(model).map(nameOf);
  return {
    station: real.id,
    repertoires: repertoires.length,
    faults: new Set(runs.map(({ fault }) => fault)).size - 1,
    unmet: all.filter((name) => !met.has(name)),
    runs,
    places: runs.reduce((sum, { places }) => sum + places, 0),
    transitions: runs.reduce((sum, { transitions }) => sum + transitions, 0),
    odds: runs.reduce((sum, { places }) => sum + collisionOdds(places), 0),
    open: runs.filter(({ broke }) => broke.length > 0),
  };
}

function workOn({ real, lost }: Data): (job: Job) => readonly Alone[] {
  const model = modelAlone(real, lost);
  const repertoires = repertoiresIn(model);
  return ({ repertoire: at, faults }) => {
    const repertoire = repertoires[at];
    if (repertoire === undefined) throw new Error(`there is no repertoire number ${at}`);
    const stage = stageOf(model, repertoire);
    const all = faultsOf(model, repertoire);
    return [
      stage.run,
      ...faults.flatMap((place) => all[place] ?? []).map((fault) => aloneUnder(stage, fault)),
    ];
  };
}

serve<Data, Job, readonly Alone[]>(import.meta.url, (data) => workOn(data));
