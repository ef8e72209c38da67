// Which rows are needed: all of them out of the guard, every accident that comes then, and on the way to each the rows of which any
// one would have held it. A row that alone holds one is a first line. Where there are always others, the accident with the
// fewest of them is looked for, with ever fewer rows out: the row is a second line behind those.
import type { Plant } from '../../station/plant.ts';
import { serve, spread } from '../workers.ts';
import { type Accident, accidentsIn, benchOf } from './accidents.ts';
import { nameOf } from './defects.ts';

/** What happens without a kind of row, and without those that would have held it too. */
export interface Need {
  readonly kind: string;
  /** Rows that must be out as well before it is this one that holds; empty: a first line. */
  readonly behind: readonly string[];
  /** Null: nothing that is explored here needs it. */
  readonly saves: Saved | null;
  /** Ways to an accident that it alone would have held. */
  readonly ways: number;
}

export interface Saved {
  readonly words: string;
  /** Empty: no fault at all. */
  readonly fault: string;
}

export interface NecessityOptions {
  /** These kinds only. */
  readonly kinds?: readonly string[];
  readonly workers?: number;
  readonly onJob?: (about: string, done: number, all: number) => void;
}

export interface Necessity {
  readonly needs: readonly Need[];
  /** What was found on the way. */
  readonly accidents: readonly Accident[];
}

/** Every kind out under each fault of a part, or one of these rows under the fault of an accident that it held with others. */
type Job =
  | { readonly repertoire: number; readonly share: number }
  | { readonly repertoire: number; readonly kind: string; readonly from: Accident };
const SHARES = 4;
/** So many accidents of the fewest holders are thinned for each kind. */
const THINNED = 3;

export async function necessityOf(real: Plant, options: NecessityOptions = {}): Promise<Necessity> {
  const bench = benchOf(real);
  const asked = bench.kinds.filter((kind) => options.kinds?.includes(kind) ?? true);
  const all = await work(
    real,
    options,
    bench.repertoires.flatMap((_, repertoire) =>
      Array.from({ length: SHARES }, (__, share) => ({ repertoire, share })),
    ),
  );
  const thinner = await work(
    real,
    options,
    asked.flatMap((kind) => {
      const own = fewestFirst(all, kind);
      if ((own[0]?.holders.length ?? 0) < 2) return [];
      // One of each harm before a second one of any.
      const firsts = new Map(own.map((one) => [one.way.breach.key, one] as const).toReversed());
      const few = [...firsts.values()]
        .toSorted((one, other) => weight(one) - weight(other))
        .slice(0, THINNED);
      return few.map((from) => ({ repertoire: from.repertoire, kind, from }));
    }),
  );
  const accidents = [...all, ...thinner];
  return { needs: asked.map((kind) => needOf(accidents, kind)), accidents };
}

/** Water or heat before a core that stops; then the fewest; of as many one that needs no fault. */
const weight = ({ fault, way, holders }: Accident): number =>
  2 * holders.length + (way.breach.harm === null ? 1_000 : 0) + (fault === '' ? 0 : 1);
const fewestFirst = (accidents: readonly Accident[], kind: string): readonly Accident[] =>
  accidents
    .filter(({ holders }) => holders.includes(kind))
    .toSorted((one, other) => weight(one) - weight(other));

/** What these accidents say of a kind of row. */
export function needOf(accidents: readonly Accident[], kind: string): Need {
  const own = fewestFirst(accidents, kind);
  const [best] = own;
  if (best === undefined) return { kind, behind: [], saves: null, ways: 0 };
  const { way, fault, holders } = best;
  return {
    kind,
    behind: holders.filter((other) => other !== kind),
    saves: { words: way.breach.words, fault },
    ways: own.filter((one) => one.holders.join() === holders.join()).length,
  };
}

async function work(
  real: Plant,
  { workers, onJob }: NecessityOptions,
  jobs: readonly Job[],
): Promise<readonly Accident[]> {
  const answers = await spread<Job, readonly Accident[]>({
    file: import.meta.url,
    data: { real },
    jobs,
    ...(workers === undefined ? {} : { workers }),
    here: () => workOn({ real }),
    onAnswer: (found, _, done) => onJob?.(found[0]?.holders[0] ?? '', done, jobs.length),
  });
  return answers.flat();
}

function workOn({ real }: { readonly real: Plant }): (job: Job) => readonly Accident[] {
  const bench = benchOf(real);
  return (job) =>
    'kind' in job
      ? thinned(job.kind, job.from)
      : accidentsIn(bench, job.repertoire, bench.kinds, (all) => [
          ...(job.share === 0 ? [null] : []),
          ...all.filter((_, place) => place % SHARES === job.share),
        ]);

  /** With one row less out, time and again, while this kind still holds something. */
  function thinned(kind: string, from: Accident): readonly Accident[] {
    const found: Accident[] = [];
    let { holders } = from;
    let others = holders.filter((other) => other !== kind);
    // Each round ends with fewer holders, or it is the last.
    for (let other = others.shift(); other !== undefined; other = others.shift()) {
      const lost = holders.filter((one) => one !== other);
      const all = accidentsIn(bench, from.repertoire, lost, (faults) =>
        from.fault === '' ? [null] : faults.filter((fault) => nameOf(fault) === from.fault),
      );
      const [best] = fewestFirst(all, kind);
      if (best === undefined) continue;
      found.push(...all);
      holders = best.holders;
      others = holders.filter((one) => one !== kind);
    }
    return found;
  }
}

serve<{ real: Plant }, Job, readonly Accident[]>(import.meta.url, (data) => workOn(data));
