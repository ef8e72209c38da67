// Which rows are needed: each kind taken out of the guard in turn, until the exploration of the guard alone breaks. Where it holds
// all the same the kind is a second line: others are taken out with it until one accident is found that it alone would have held.

import { deriveRows } from '../../control/guard/interlocks.ts';
import type { Plant } from '../../station/plant.ts';
import { KINDS } from '../lost.ts';
import { serve, spread } from '../workers.ts';
import { aloneUnder, modelAlone, repertoiresIn, stageOf } from './alone.ts';
import { faultsOf } from './alone-faults.ts';
import { nameOf } from './defects.ts';

/** What happens without a kind of row, and without those that would have held it too. */
export interface Need {
  readonly kind: string;
  /** Rows that must be out as well before it is this one that holds; empty: a first line. */
  readonly behind: readonly string[];
  /** Null: nothing that is explored here needs it. */
  readonly saves: Saved | null;
}

export interface Saved {
  readonly words: string;
  /** Empty: no fault at all. */
  readonly fault: string;
  readonly repertoire: number;
}

export interface NecessityOptions {
  /** These kinds only. */
  readonly kinds?: readonly string[];
  readonly workers?: number;
  readonly onKind?: (need: Need, done: number, all: number) => void;
}

interface Job {
  readonly repertoire: number;
  readonly lost: readonly string[];
  /** Of so many parts of its faults this one; null: while all is well, and under this fault alone. */
  readonly share: number | null;
  readonly fault?: string;
}
const SHARES = 2;

export async function necessityOf(real: Plant, options: NecessityOptions = {}): Promise<readonly Need[]> {
  const rows = deriveRows(modelAlone(real).plant);
  const own = KINDS.filter((kind) => rows.some((row) => row.kind === kind));
  const asked = own.filter((kind) => options.kinds?.includes(kind) ?? true);
  const alone = new Map<string, Saved | null>();
  const without = async (kind: string): Promise<Saved | null> => {
    if (!alone.has(kind)) alone.set(kind, await firstBreak(real, [kind], options.workers));
    return alone.get(kind) ?? null;
  };
  const needs: Need[] = [];
  for (const kind of asked) {
    const saves = await without(kind);
    const second: string[] = [];
    if (saves === null) for (const other of own) if ((await without(other)) === null) second.push(other);
    const need =
      saves === null ? await behind(real, kind, second, options.workers) : { kind, behind: [], saves };
    needs.push(need);
    options.onKind?.(need, needs.length, asked.length);
  }
  return needs;
}

/**
 * The first accident of the whole guard, or null: it holds.
 * @public for `test/verify/guard-mutants.mjs`, in a copy of the product
 */
export const breakOf = (real: Plant, { workers }: { readonly workers?: number }): Promise<Saved | null> =>
  firstBreak(real, [], workers);

/** The first accident that is found without these rows. */
async function firstBreak(real: Plant, lost: readonly string[], workers?: number): Promise<Saved | null> {
  const model = modelAlone(real);
  const forbidden = new Set(
    deriveRows(model.plant).flatMap((row) => (lost.includes(row.kind) ? row.forbids : [])),
  );
  // A row that forbids nothing of what is wanted can make no difference to it.
  const meant = repertoiresIn(model).flatMap(({ targets }, at) =>
    lost.length === 0 || targets.some((target) => forbidden.has(target)) ? [at] : [],
  );
  const jobs: Job[] = [
    ...meant.map((repertoire) => ({ repertoire, lost, share: null })),
    ...meant.flatMap((repertoire) =>
      Array.from({ length: SHARES }, (_, share) => ({ repertoire, lost, share })),
    ),
  ];
  const answers = await spread<Job, Saved | null>({
    file: import.meta.url,
    data: { real },
    jobs,
    ...(workers === undefined ? {} : { workers }),
    here: () => workOn({ real }),
    enough: (saved) => saved !== null,
  });
  return answers.find((saved) => saved !== null && saved !== undefined) ?? null;
}

/** Takes out what could hold it too, then gives back whatever is not missed. */
async function behind(
  real: Plant,
  kind: string,
  second: readonly string[],
  workers: number | undefined,
): Promise<Need> {
  let others = second.filter((other) => other !== kind);
  const work = workOn({ real });
  // Each round finds one accident that does not need this row, and gives back a row that holds that one: never more than there are.
  for (let round = 0; round <= second.length; round++) {
    const saves = await firstBreak(real, [...others, kind], workers);
    if (saves === null) break;
    const under = (lost: readonly string[]): boolean =>
      work({ repertoire: saves.repertoire, lost, share: null, fault: saves.fault }) !== null;
    let kept = others;
    for (const other of others) {
      const fewer = kept.filter((one) => one !== other);
      if (under([...fewer, kind])) kept = fewer;
    }
    if (!under(kept)) return { kind, behind: kept, saves };
    const [back] = kept;
    if (back === undefined) break;
    others = others.filter((one) => one !== back);
  }
  return { kind, behind: [], saves: null };
}

function workOn({ real }: { readonly real: Plant }): (job: Job) => Saved | null {
  return ({ repertoire: at, lost, share, fault }) => {
    const model = modelAlone(real, lost);
    const repertoire = repertoiresIn(model)[at];
    if (repertoire === undefined) throw new Error(`there is no repertoire number ${at}`);
    const stage = stageOf(model, repertoire);
    const [well] = stage.run.broke;
    if (well !== undefined) return { words: well.words, fault: '', repertoire: at };
    const faults = faultsOf(model, repertoire).filter((one, place) =>
      share === null ? nameOf(one) === fault : place % SHARES === share,
    );
    for (const one of faults) {
      const [broke] = aloneUnder(stage, one).broke;
      if (broke !== undefined) return { words: broke.words, fault: nameOf(one), repertoire: at };
    }
    return null;
  };
}

serve<{ real: Plant }, Job, Saved | null>(import.meta.url, (data) => workOn(data));
