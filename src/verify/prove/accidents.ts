// Accidents that come when rows are out of the guard, each with the rows of which any one alone would have held it on this very
// way. What is said of a row here is shown by going that way again: with the row, and without.
import { deriveRows } from '../../control/guard/interlocks.ts';
import type { GuardState } from '../../control/guard/state.ts';
import type { Plant } from '../../station/plant.ts';
import { KINDS } from '../lost.ts';
import { aloneUnder, modelAlone, onward, repertoiresIn, rootsOf, type Stage, stageOf } from './alone.ts';
import { faultsOf } from './alone-faults.ts';
import { read, type WayThere } from './alone-moves.ts';
import { type Defect, nameOf } from './defects.ts';
import type { Repertoire } from './hostile.ts';
import type { Model } from './model.ts';
import { troublesOf } from './moves.ts';
import { breachesOf } from './properties.ts';
import type { Place } from './tick.ts';

export interface Accident {
  /** By its place among the station's. */
  readonly repertoire: number;
  /** Empty: no fault at all. */
  readonly fault: string;
  readonly way: WayThere;
  /** Kinds of rows: each of them alone holds it, and without all of them it comes. */
  readonly holders: readonly string[];
}

/** A station whose rows can be taken out and given back. */
export interface Bench {
  readonly model: Model;
  readonly kinds: readonly string[];
  readonly repertoires: readonly Repertoire[];
  /** From now on the guard is without these, and with all others. */
  readonly without: (kinds: readonly string[]) => void;
  /** Kinds that forbid anything that this repertoire can want. */
  readonly concern: (repertoire: Repertoire) => readonly string[];
}

export function benchOf(real: Plant): Bench {
  const model = modelAlone(real);
  const rows = deriveRows(model.plant).map((row) => ({ row, kind: row.kind, holds: row.holds }));
  let out: readonly string[] = [];
  for (const { row, kind, holds } of rows)
    Object.assign(row, { holds: (state: GuardState) => !out.includes(kind) && holds(state) });
  return {
    model,
    kinds: KINDS.filter((kind) => rows.some((one) => one.kind === kind)),
    repertoires: repertoiresIn(model),
    without: (kinds) => {
      out = kinds;
    },
    concern: ({ targets }) =>
      KINDS.filter((one) =>
        rows.some(({ row, kind }) => kind === one && row.forbids.some((target) => targets.includes(target))),
      ),
  };
}

/** Of the ways to one accident under one fault the first are gone again, and those on which the fault held for the longest. */
const FIRST = 2;
const LONGEST = 3;
const chosen = <T extends { readonly way: WayThere }>(ways: readonly T[]): readonly T[] => {
  const heldFor = ({ way }: T) => way.moves.filter((move) => read(move).active === 1).length;
  const rest = ways.slice(FIRST).toSorted((one, other) => heldFor(other) - heldFor(one));
  return [...ways.slice(0, FIRST), ...rest.slice(0, LONGEST)];
};

/**
 * Accidents of one repertoire without these kinds of rows.
 * @param faults those that are looked at; null stands for a station on which all is well
 */
export function accidentsIn(
  bench: Bench,
  at: number,
  lost: readonly string[],
  faults: (all: readonly Defect[]) => readonly (Defect | null)[],
): readonly Accident[] {
  const { model, repertoires, without } = bench;
  const repertoire = repertoires[at];
  if (repertoire === undefined) throw new Error(`there is no repertoire number ${at}`);
  const found = new Map<string, { readonly fault: Defect | null; readonly way: WayThere }[]>();
  const taking = (fault: Defect | null) => (way: WayThere) => {
    const key = `${fault === null ? '' : nameOf(fault)} ${way.breach.key}`;
    const ways = found.get(key) ?? [];
    if (way.breach.final) found.set(key, [...ways, { fault, way }]);
  };
  without(lost);
  const wanted = faults(faultsOf(model, repertoire));
  const stage = stageOf(model, repertoire, undefined, wanted.includes(null) ? taking(null) : () => {});
  for (const fault of wanted) if (fault !== null) aloneUnder(stage, fault, undefined, taking(fault));
  return [...found.values()].flatMap(chosen).flatMap(({ fault, way }) => {
    const holders = holdersOf(bench, stage, fault, way);
    return holders.length === 0
      ? []
      : [{ repertoire: at, fault: fault === null ? '' : nameOf(fault), way, holders }];
  });
}

/** None: it comes with every row as well, or what holds it are several rows together. */
function holdersOf(bench: Bench, stage: Stage, fault: Defect | null, way: WayThere): readonly string[] {
  const { kinds } = bench;
  const isHeld = (without: readonly string[]): boolean => {
    bench.without(without);
    return !comes(stage, fault === null ? [] : [fault], way);
  };
  if (!isHeld([])) return [];
  const holders = bench
    .concern(stage.repertoire)
    .filter((kind) => isHeld(kinds.filter((other) => other !== kind)));
  const isShown =
    !isHeld(holders) && holders.every((kind) => isHeld(holders.filter((other) => other !== kind)));
  return isShown ? holders : [];
}

/** Does it come in this guard, without these rows? */
export function happens(
  bench: Bench,
  { repertoire: at, fault, way }: Accident,
  lost: readonly string[],
): boolean {
  const { model, repertoires } = bench;
  const repertoire = repertoires[at];
  if (repertoire === undefined) throw new Error(`there is no repertoire number ${at}`);
  const defects = faultsOf(model, repertoire).filter((one) => nameOf(one) === fault);
  bench.without(lost);
  return comes({ model, repertoire, roots: rootsOf(model, repertoire) }, defects, way);
}

/** Does this accident come on this way, with the rows as they are in this model now? */
function comes(
  { model, repertoire, roots }: Pick<Stage, 'model' | 'repertoire' | 'roots'>,
  defects: readonly Defect[],
  { breach, root, moves }: WayThere,
): boolean {
  const going = { model, repertoire, troubles: troublesOf(model, defects) };
  let place = roots[root] as Place;
  for (const move of moves) {
    const after = onward(going, place, read(move));
    if (breachesOf(model, place, after).some(({ key }) => key === breach.key)) return true;
    place = after;
  }
  return false;
}
