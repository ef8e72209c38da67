// The breadth-first search itself: places that wait to be looked at, places that were met, ticks from one to the next, what
// went wrong on the way. `explore.ts` says where a search begins and what may happen in it.
import { has } from './defect-kinds.ts';
import type { Defect } from './defects.ts';
import type { Fingerprint } from './digits.ts';
import { type Fold, foldOf } from './fingerprint.ts';
import { type Graph, type Numbers, numbers } from './graph.ts';
import type { Model } from './model.ts';
import { type Move, type Troubles, written } from './moves.ts';
import { type Breach, breachesOf, falseAlarms } from './properties.ts';
import { type Seen, seenOf } from './seen.ts';
import { type Place, tick } from './tick.ts';

/** A breach, and the way there. */
export interface Accident extends Breach {
  readonly defects: readonly string[];
  readonly root: number;
  readonly moves: readonly number[];
  /** Which of the run's defects held when it happened, and which had begun by then, as sets. */
  readonly active: number;
  readonly began: number;
}

/** A place, where it stands in the graph, and which of the run's defects hold or are over, as sets. */
export interface Reached extends Place {
  readonly node: number;
  readonly depth: number;
  readonly active: number;
  readonly over: number;
}

export interface Search {
  readonly model: Model;
  readonly troubles: Troubles;
  readonly names: readonly string[];
  /** Its one fault may say the truth at every tick: a place with it holding and one with it mended are the same. */
  readonly merged: boolean;
  readonly graph: Graph;
  /** Ticks between places where nothing is broken: from, to, from, to ... */
  readonly edges: Numbers;
  readonly seen: Seen;
  readonly fold: Fold;
  readonly print: Fingerprint;
  readonly accidents: Map<string, Accident>;
  /** Of the places where nothing is broken: all, those with a latched trip, and those with a batch that is ready. */
  readonly calm: number[];
  readonly tripped: number[];
  readonly ready: number[];
  /** Every trip that was latched somewhere on the way. */
  readonly trips: Set<string>;
  waiting: Reached[];
  transitions: number;
}

export const NONE = 0;

/** Under this fault what was said before may still count. */
export const isSilencing = ({ kind, word }: Defect): boolean => has(kind, 'silences') || word === 'frozen';

export function searchOf(
  model: Model,
  troubles: Troubles,
  names: readonly string[],
  graph: Graph,
  merged = false,
): Search {
  const allSpeak = !troubles.defects.some(isSilencing);
  return {
    model,
    troubles,
    names,
    merged,
    graph,
    edges: numbers(),
    seen: seenOf(1 << 12),
    fold: foldOf(allSpeak ? model.plant : null, merged),
    print: { high: 0, low: 0 },
    accidents: new Map(),
    calm: [],
    tripped: [],
    ready: [],
    trips: new Set(),
    waiting: [],
    transitions: 0,
  };
}

/** Enters a place. @returns its node, and whether it is new */
export function meet(
  search: Search,
  place: Place,
  { active, over }: Pick<Reached, 'active' | 'over'>,
  parent: number,
  move: number,
  depth: number,
): number {
  const { graph, seen, print } = search;
  // What is over makes no difference any more, except that it can't begin again: and from the ground it can, so what
  // comes back to a place of the ground has been looked at there.
  search.fold(place.state, place.water, search.merged ? NONE : active, print);
  const there = seen.enter(print, graph.size());
  if (there >= 0) return there;
  const node = graph.add(parent, move, depth);
  search.waiting.push({ state: place.state, water: place.water, node, depth, active, over });
  sort(search, place, active, node);
  for (const key in place.state.trips) search.trips.add(key);
  return node;
}

/** Enters a place that another search has met already, under its own number. */
export function remember(search: Search, place: Reached): void {
  search.fold(place.state, place.water, place.active, search.print);
  search.seen.enter(search.print, place.node);
  sort(search, place, place.active, place.node);
}

function sort(
  { calm, merged, tripped, ready }: Search,
  { state }: Place,
  active: number,
  node: number,
): void {
  if (active !== NONE && !merged) return;
  calm.push(node);
  const { batch, trips } = state;
  if (Object.keys(trips).length > 0) tripped.push(node);
  else if (batch.stage === 'ready' && batch.procedure === 'running') ready.push(node);
}

/** Lets one tick happen, and enters where it led unless it did harm. */
export function go(search: Search, from: Reached, move: Move, over: number): void {
  const { model, troubles, edges } = search;
  search.transitions += 1;
  const after = tick(model, from, troubles.choiceOf(move));
  const isWell = troubles.defects.length === 0;
  const breaches = [...breachesOf(model, from, after), ...(isWell ? falseAlarms(model, from, after) : [])];
  for (const breach of breaches) note(search, from, move, over, breach);
  if (breaches.some(({ final }) => final)) return;
  const node = meet(search, after, { active: move.active, over }, from.node, written(move), from.depth + 1);
  const healthy = from.active === NONE && move.active === NONE && move.once === NONE;
  if (search.merged ? !after.truthful : !healthy) return;
  edges.push(from.node);
  edges.push(node);
}

/** The first of its kind is one of the shortest: the search is breadth first. */
function note(
  { accidents, graph, names }: Search,
  from: Reached,
  move: Move,
  over: number,
  breach: Breach,
): void {
  const active = move.active | move.once;
  // Beside the first of its kind stands the first that came about otherwise: one gap need not explain both.
  const key = [breach.key, ...breach.ways.map(({ by, ordered }) => `${by} ${ordered}`), active].join(', ');
  if (accidents.has(key)) return;
  const { root, moves } = graph.wayTo(from.node);
  const began = active | from.active | from.over | over;
  accidents.set(key, {
    ...breach,
    defects: names,
    root,
    moves: [...moves, written(move)],
    active,
    began,
  });
}
