// Breadth first through everything that core and coarse water can do together.
//
// First the ground: every place that can be reached while all is well (or while one fault is there from the start and
// nobody knows). Then a run for each fault: from every place of the ground it may begin, at any tick it may be mended, and
// at any tick the person may come or not. Places are told apart by their fingerprint; the order is by ticks since the very
// beginning, so the first accident of its kind is one of the shortest. A run knows nothing of other runs, so they can be
// spread over processors and always say the same.
import { initial } from '../../control/process/initial.ts';
import type { Plant } from '../../station/plant.ts';
import { abstracted } from './abstraction.ts';
import { FULL } from './coarse-plant.ts';
import { canBeTrue, type Defect, nameOf } from './defects.ts';
import { type Graph, graphOf, type Numbers, reaching } from './graph.ts';
import { type Model, modelOf } from './model.ts';
import { movesOf, troublesOf } from './moves.ts';
import { type Accident, go, meet, NONE, type Reached, remember, type Search, searchOf } from './search.ts';
import type { Place } from './tick.ts';
import { waterOf } from './water.ts';

export interface Run {
  readonly defects: readonly string[];
  readonly places: number;
  readonly transitions: number;
  /** Ticks from the beginning to the place furthest from it. */
  readonly depth: number;
  /** False where the run ended at its bound: then `depth` is how deep everything was looked at. */
  readonly complete: boolean;
  readonly accidents: readonly Accident[];
  /** Rows that tripped somewhere on the way. */
  readonly trips: readonly string[];
  /** Places with all devices healthy from which no batch can become ready any more. Not judged where incomplete. */
  readonly stranded: { readonly tripped: number; readonly untripped: number };
  readonly strandedAt: Way | null;
}

export interface Way {
  readonly root: number;
  readonly moves: readonly number[];
}

/** Everything that can be reached while all is well, or while a latent fault is there from the start. */
export interface Ground {
  readonly model: Model;
  readonly latent: readonly Defect[];
  readonly roots: readonly Place[];
  readonly places: readonly Reached[];
  readonly graph: Graph;
  readonly edges: Numbers;
  readonly run: Run;
}

/**
 * Contents to begin with: fresh vat, mixing vat, and how many units of the latter are salted. The last, a vat that somebody
 * else salted, is left out where a fault lies anew at every tick: it doubles the places and adds one stage of the batch.
 */
const BEGINNINGS = [
  [FULL, 1, 0],
  [1, 1, 0],
  [FULL, FULL, FULL],
] as const;
const SALTED_BY_OTHERS = 2;

export interface GroundOptions {
  /** Sees the coarse plant before anything runs on it. */
  readonly prepare?: (plant: Plant) => void;
  /** There from the first tick, and never mended. */
  readonly latent?: Defect;
  /** Most places. */
  readonly most?: number;
  /** In so many steps the core takes each tick; default one. */
  readonly pieces?: number;
}

export function groundOf(real: Plant, options: GroundOptions = {}): Ground {
  const model = modelOf(real, options.pieces);
  options.prepare?.(model.plant);
  return groundOn(model, options);
}

/** The same on a model that is there already. */
export function groundOn(
  model: Model,
  { latent, most = Number.POSITIVE_INFINITY }: GroundOptions = {},
): Ground {
  const defects = latent === undefined ? [] : [latent];
  const active = defects.length;
  const roots = rootsOf(model);
  const search = searchOf(model, troublesOf(model, defects), defects.map(nameOf), graphOf());
  roots.forEach((place, at) => {
    meet(search, place, { active, over: NONE }, -1 - at, 0, 0);
  });
  const places: Reached[] = [];
  const end = until(search, most, (place) => {
    places.push(place);
    for (const move of movesOf(model, search.troubles, place, active, NONE)) go(search, place, move, NONE);
  });
  const run = runFrom(search, end, search.edges);
  return { model, latent: defects, roots, places, graph: search.graph, edges: search.edges, run };
}

function rootsOf(model: Model): readonly Place[] {
  const { freshId, mixingId } = model.plant;
  return BEGINNINGS.map(([fresh, mixing, salt]) => {
    const level = model.vessels.map(({ id }) => (id === mixingId ? mixing : id === freshId ? fresh : FULL));
    return { state: abstracted(model.plant, initial(model.plant)), water: waterOf(model, level, salt) };
  });
}

/**
 * One more fault on this ground.
 * @param most places to look at; beyond it the run ends and says how deep it came
 * @param apart also gives places of their own to what is mended where that need not be (tests compare both)
 */
export function runOf(ground: Ground, defect: Defect, most = Number.POSITIVE_INFINITY, apart = false): Run {
  const { model, latent } = ground;
  const defects = [...latent, defect];
  const bit = 1 << latent.length;
  const merged = !apart && latent.length === 0 && canBeTrue(model, defect);
  const search = searchOf(model, troublesOf(model, defects), defects.map(nameOf), copyOf(ground), merged);
  for (const place of ground.places) remember(search, place);
  const begin = (from: Reached): void => {
    const active = defect.once ? from.active : from.active | bit;
    for (const move of movesOf(model, search.troubles, from, active, defect.once ? bit : NONE))
      go(search, from, move, defect.once ? bit : NONE);
  };
  const goOn = (from: Reached): void => {
    const { active, over } = from;
    for (const move of movesOf(model, search.troubles, from, active, NONE)) go(search, from, move, over);
    // A latent fault stays: then nobody mends the other one either, and what is looked for is harm. What may say the truth
    // at every tick need not be mended: a liar that says nothing but the truth from here on is as good as mended.
    const mends = (active & bit) !== 0 && latent.length === 0 && !merged;
    if (!mends) return;
    for (const move of movesOf(model, search.troubles, from, active & ~bit, NONE))
      go(search, from, move, bit);
  };
  const beginnings =
    defect.ways === 1
      ? ground.places
      : ground.places.filter(({ node }) => ground.graph.wayTo(node).root !== SALTED_BY_OTHERS);
  const end = until(search, most, goOn, groupedByDepth(beginnings), begin);
  return runFrom(search, end, both(search.edges, ground.edges));
}

interface End {
  readonly places: number;
  readonly depth: number;
  readonly complete: boolean;
}

/** Looks at everything that waits, depth by depth; `known` places enter at their own depth. */
function until(
  search: Search,
  most: number,
  look: (place: Reached) => void,
  known: readonly (readonly Reached[])[] = [],
  lookAtKnown: (place: Reached) => void = () => {},
): End {
  let depth = 0;
  let places = 0;
  for (; search.waiting.length > 0 || depth < known.length; depth++) {
    const open = search.waiting;
    if (places + open.length > most) return { places, depth, complete: false };
    search.waiting = [];
    for (const place of known[depth] ?? []) lookAtKnown(place);
    for (const place of open) look(place);
    places += open.length;
  }
  return { places, depth, complete: true };
}

function runFrom(search: Search, { places, depth, complete }: End, edges: Numbers): Run {
  const { names, transitions, accidents, trips } = search;
  return {
    defects: names,
    places,
    transitions,
    depth,
    complete,
    accidents: [...accidents.values()],
    trips: [...trips].sort(),
    ...(complete ? strandedIn(search, edges) : { stranded: { tripped: 0, untripped: 0 }, strandedAt: null }),
  };
}

function strandedIn(
  { graph, ready, tripped, calm }: Search,
  edges: Numbers,
): Pick<Run, 'stranded' | 'strandedAt'> {
  const reaches = reaching(graph.size(), edges, ready);
  const lost = calm.filter((node) => reaches[node] === 0);
  const isTripped = new Set(tripped);
  const untripped = lost.filter((node) => !isTripped.has(node));
  const first = untripped[0] ?? lost[0];
  return {
    stranded: { tripped: lost.length - untripped.length, untripped: untripped.length },
    strandedAt: first === undefined ? null : graph.wayTo(first),
  };
}

function both(some: Numbers, others: Numbers): Numbers {
  for (let at = 0; at < others.size(); at++) some.push(others.at(at));
  return some;
}

/** A run goes on where the ground ended; the ground itself stays as it is. */
function copyOf({ graph }: Ground): Graph {
  const copy = graphOf();
  for (let node = 0; node < graph.size(); node++) {
    const { parent, move, depth } = graph.entryOf(node);
    copy.add(parent, move, depth);
  }
  return copy;
}

function groupedByDepth(places: readonly Reached[]): readonly (readonly Reached[])[] {
  const groups: Reached[][] = [];
  for (const place of places) {
    for (let depth = groups.length; depth <= place.depth; depth++) groups.push([]);
    groups[place.depth]?.push(place);
  }
  return groups;
}
