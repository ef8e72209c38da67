// Breadth first through everything that core and coarse water can do together.
//
// First the ground: every place that can be reached while all is well. Then a run for each set of defects (one, or two):
// from every place of the ground each defect may begin, at any tick it may be mended (single faults), and at any tick the
// person may come or not. Places are told apart by their fingerprint; the order is by ticks since the very beginning, so
// the first accident of its kind is one of the shortest. A run knows nothing of other runs, so they can be spread over
// processors and always say the same.
import { initial } from '../../control/state.ts';
import type { Plant } from '../../station/plant.ts';
import { canonical } from './canonical.ts';
import { FULL } from './coarse-plant.ts';
import { type Defect, nameOf } from './defects.ts';
import { type Fingerprint, foldOf } from './fingerprint.ts';
import { type Graph, graphOf, type Numbers, numbers, reaching } from './graph.ts';
import { type Model, modelOf } from './model.ts';
import { type Move, movesOf, type Troubles, troublesOf, written } from './moves.ts';
import { type Breach, breachesOf } from './properties.ts';
import { type Seen, seenOf } from './seen.ts';
import { type Place, tick } from './tick.ts';
import { waterOf } from './water.ts';

/** A breach, and the way there. */
export interface Accident extends Breach {
  readonly defects: readonly string[];
  readonly root: number;
  readonly moves: readonly number[];
}

export interface Run {
  readonly defects: readonly string[];
  readonly places: number;
  readonly transitions: number;
  /** Ticks from the beginning to the place furthest from it. */
  readonly depth: number;
  /** False where the run ended at its bound: then `depth` is how deep everything was looked at. */
  readonly complete: boolean;
  readonly accidents: readonly Accident[];
  /** Places with all devices healthy from which no batch can become ready any more: tripped or not. */
  readonly stranded: { readonly tripped: number; readonly untripped: number };
  readonly strandedAt: { readonly root: number; readonly moves: readonly number[] } | null;
}

/** Everything that can be reached while all is well. */
export interface Ground {
  readonly model: Model;
  readonly roots: readonly Place[];
  readonly places: readonly Reached[];
  readonly graph: Graph;
  readonly edges: Numbers;
  readonly run: Run;
}

export interface Reached extends Place {
  readonly node: number;
  readonly depth: number;
  /** Defects that hold, and those that are over, as sets. */
  readonly active: number;
  readonly over: number;
}

/** Contents to begin with: fresh vat, mixing vat, and how many units of the latter are salted. */
const BEGINNINGS = [
  [FULL, 1, 0],
  [1, 1, 0],
  [FULL, FULL, FULL],
] as const;
const NONE = 0;

export function rootsOf(model: Model): readonly Place[] {
  const { freshId, mixingId } = model.plant;
  return BEGINNINGS.map(([fresh, mixing, salt]) => {
    const level = model.vessels.map(({ id }) => (id === mixingId ? mixing : id === freshId ? fresh : FULL));
    return { state: canonical(model.plant, initial(model.plant)), water: waterOf(model, level, salt) };
  });
}

/** @param prepare sees the coarse plant before anything runs on it */
export function groundOf(real: Plant, prepare: (plant: Plant) => void = () => {}): Ground {
  const model = modelOf(real);
  prepare(model.plant);
  const roots = rootsOf(model);
  const search = searchOf(model, troublesOf(model, []), null, Number.POSITIVE_INFINITY);
  roots.forEach((place, at) => {
    search.meet(place, { active: NONE, over: NONE }, -1 - at, 0, 0);
  });
  const run = search.finish();
  return { model, roots, places: search.places, graph: search.graph, edges: search.edges, run };
}

/** @param most places to look at; beyond it the run ends and says how deep it came */
export function runOf(ground: Ground, defects: readonly Defect[], most = Number.POSITIVE_INFINITY): Run {
  const { model } = ground;
  return searchOf(model, troublesOf(model, defects), ground, most).finish();
}

interface Search {
  readonly places: Reached[];
  readonly graph: Graph;
  readonly edges: Numbers;
  readonly meet: (
    place: Place,
    sets: Pick<Reached, 'active' | 'over'>,
    parent: number,
    move: number,
    depth: number,
  ) => number;
  readonly finish: () => Run;
}

function searchOf(model: Model, troubles: Troubles, ground: Ground | null, most: number): Search {
  const { defects } = troubles;
  const names = defects.map(nameOf);
  const seen: Seen = seenOf(ground === null ? 1 << 12 : 1 << 14);
  const fold = foldOf();
  const print: Fingerprint = { high: 0, low: 0 };
  const graph = ground === null ? graphOf() : copyOfGraph(ground);
  const edges = numbers();
  const places: Reached[] = [];
  const goals: number[] = [];
  const tripped: number[] = [];
  const calm: number[] = [];
  const accidents = new Map<string, Accident>();
  let waiting: Reached[] = [];
  let transitions = 0;
  let unexpanded = false;

  const enter = (place: Place, layer: number, node: number): number => {
    fold(place.state, place.water, layer, print);
    return seen.enter(print, node);
  };
  const sort = (place: Place, active: number, node: number): void => {
    if (active !== NONE) return;
    calm.push(node);
    const { batch, trips } = place.state;
    if (Object.keys(trips).length > 0) tripped.push(node);
    else if (batch.stage === 'ready' && batch.procedure === 'running') goals.push(node);
  };
  const meet: Search['meet'] = (place, { active, over }, parent, move, depth) => {
    const layer = active === NONE ? NONE : active | (over << 2);
    const there = enter(place, layer, graph.size());
    if (there >= 0) return there;
    const node = graph.add(parent, move, depth);
    const reached = { state: place.state, water: place.water, node, depth, active, over };
    if (ground === null) places.push(reached);
    waiting.push(reached);
    sort(place, active, node);
    return node;
  };
  // The ground's places are known from the start; only what begins there is new.
  if (ground !== null)
    for (const place of ground.places) {
      enter(place, NONE, place.node);
      sort(place, NONE, place.node);
    }

  const go = (from: Reached, move: Move, over: number): void => {
    transitions += 1;
    const after = tick(model, from, troubles.choiceOf(move));
    const breaches = breachesOf(model, from, after);
    for (const breach of breaches) note(from, move, breach);
    if (breaches.some(({ final }) => final)) return;
    const node = meet(after, { active: move.active, over }, from.node, written(move), from.depth + 1);
    if (from.active === NONE && move.active === NONE && move.once === NONE) {
      edges.push(from.node);
      edges.push(node);
    }
  };
  const note = (from: Reached, move: Move, breach: Breach): void => {
    if (accidents.has(breach.key)) return;
    const { root, moves } = graph.wayTo(from.node);
    accidents.set(breach.key, { ...breach, defects: names, root, moves: [...moves, written(move)] });
  };
  const expand = (from: Reached, isGround: boolean): void => {
    const { active, over } = from;
    if (!isGround) for (const move of movesOf(model, troubles, from, active, NONE)) go(from, move, over);
    defects.forEach((defect, at) => {
      const bit = 1 << at;
      if ((active & bit) !== 0) {
        if (defects.length === 1)
          for (const move of movesOf(model, troubles, from, active & ~bit, NONE)) go(from, move, over | bit);
      } else if ((over & bit) === 0) {
        const sets = defect.once
          ? ([active, bit, over | bit] as const)
          : ([active | bit, NONE, over] as const);
        for (const move of movesOf(model, troubles, from, sets[0], sets[1])) go(from, move, sets[2]);
      }
    });
  };
  const finish = (): Run => {
    let depth = 0;
    let looked = 0;
    const byDepth = groupedByDepth(ground?.places ?? []);
    for (; waiting.length > 0 || depth < byDepth.length; depth++) {
      const open = waiting;
      waiting = [];
      if (looked + open.length > most) {
        unexpanded = true;
        break;
      }
      for (const place of byDepth[depth] ?? []) expand(place, true);
      for (const place of open) expand(place, false);
      looked += open.length;
    }
    const found = { graph, edges, goals, tripped, calm, ground };
    return {
      defects: names,
      places: looked,
      transitions,
      depth,
      complete: !unexpanded,
      accidents: [...accidents.values()],
      ...(unexpanded ? { stranded: { tripped: 0, untripped: 0 }, strandedAt: null } : strandedIn(found)),
    };
  };
  return { places, graph, edges, meet, finish };
}

interface Found {
  readonly graph: Graph;
  readonly edges: Numbers;
  readonly goals: readonly number[];
  readonly tripped: readonly number[];
  readonly calm: readonly number[];
  readonly ground: Ground | null;
}

function strandedIn({
  graph,
  edges,
  goals,
  tripped,
  calm,
  ground,
}: Found): Pick<Run, 'stranded' | 'strandedAt'> {
  const all = ground?.edges;
  if (all) for (let at = 0; at < all.size(); at++) edges.push(all.at(at));
  const reaches = reaching(graph.size(), edges, goals);
  const lost = calm.filter((node) => reaches[node] === 0);
  const isTripped = new Set(tripped);
  const untripped = lost.filter((node) => !isTripped.has(node));
  const first = untripped[0] ?? lost[0];
  return {
    stranded: { tripped: lost.length - untripped.length, untripped: untripped.length },
    strandedAt: first === undefined ? null : graph.wayTo(first),
  };
}

/** A run goes on where the ground ended; the ground itself stays as it is. */
function copyOfGraph({ graph, places }: Ground): Graph {
  const copy = graphOf();
  for (const { node } of places) {
    const { parent, move, depth } = graph.entryOf(node);
    copy.add(parent, move, depth);
  }
  return copy;
}

function groupedByDepth(places: readonly Reached[]): readonly (readonly Reached[])[] {
  const groups: Reached[][] = [];
  for (const place of places) {
    const group = groups[place.depth] ?? [];
    group.push(place);
    groups[place.depth] = group;
  }
  return groups;
}
