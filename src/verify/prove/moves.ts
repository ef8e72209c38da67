// Everything that can happen in the next tick at one place of the exploration, and how it is written down in one number.
//
// `active` and `once` are sets of the run's defects (at most two), as bits. What is written down is enough to do the tick
// again: that is how a counterexample is told.
import { type Broken, brokenOf } from './broken.ts';
import type { Defect } from './defects.ts';
import type { Help } from './helper.ts';
import type { Model } from './model.ts';
import { type Choice, helpsAt, type Place } from './tick.ts';

export interface Move {
  /** Defects that hold in this tick, those that begin with it included. */
  readonly active: number;
  /** Defects that happen in this tick and are over. */
  readonly once: number;
  readonly way: number;
  readonly helps: Help | null;
}

const HELPS: readonly (Help | null)[] = [null, 'helps', 'gives up'];

export const written = ({ active, once, way, helps }: Move): number =>
  HELPS.indexOf(helps) | (active << 2) | (once << 4) | (way << 6);

export const read = (move: number): Move => ({
  helps: HELPS[move & 3] ?? null,
  active: (move >> 2) & 3,
  once: (move >> 4) & 3,
  way: move >> 6,
});

/** The defects of one run, with every combination of them worked out. */
export interface Troubles {
  readonly defects: readonly Defect[];
  readonly brokens: readonly Broken[];
  readonly choiceOf: (move: Move) => Choice;
}

export function troublesOf(model: Model, defects: readonly Defect[]): Troubles {
  const members = (set: number) => defects.filter((_, at) => (set & (1 << at)) !== 0);
  const brokens = Array.from({ length: 1 << defects.length }, (_, set) =>
    brokenOf(
      model,
      members(set).filter(({ once }) => !once),
    ),
  );
  return {
    defects,
    brokens,
    choiceOf: ({ active, once, way, helps }) => ({
      broken: brokens[active] as Broken,
      once: members(once),
      way,
      helps,
    }),
  };
}

/** All ways in which one tick can go with these defects: with and without a person, and with all that can be said. */
export function* movesOf(
  model: Model,
  { brokens }: Troubles,
  place: Place,
  active: number,
  once: number,
): Generator<Move> {
  const broken = brokens[active] as Broken;
  const helps = helpsAt(model, place, broken);
  for (let way = 0; way < broken.ways; way++) {
    yield { active, once, way, helps: null };
    for (const kind of helps) yield { active, once, way, helps: kind };
  }
}
