// `prove --guard`: everything that a hostile process and a person can do to the real guard within one repertoire; first while
// all is well, then once for each fault that this repertoire can meet. What the process wants it may go on wanting for as long
// as it likes: the search goes by changes of mind, first all that happens without one, then with one, and so on.
import { initial } from '../../control/process/initial.ts';
import type { Plant } from '../../station/plant.ts';
import { lose } from '../lost.ts';
import { abstractedGuard } from './abstraction.ts';
import { type Move, read, type Take, traceOf, written } from './alone-moves.ts';
import { FULL } from './coarse-plant.ts';
import { type Defect, nameOf } from './defects.ts';
import { type Fold, foldOf } from './fingerprint.ts';
import { type Graph, graphOf } from './graph.ts';
import { DEEDS, deedsAt, hostileOf, type Repertoire, repertoiresOf } from './hostile.ts';
import { type Model, modelOf } from './model.ts';
import { type Troubles, troublesOf } from './moves.ts';
import { type Breach, breachesOf } from './properties.ts';
import { isSilencing } from './search.ts';
import { type Seen, seenOf } from './seen.ts';
import { type Choice, type Place, type Ticked, tick } from './tick.ts';
import { isBeyondAny, type Went } from './visible.ts';
import { waterOf } from './water.ts';

interface Reached extends Place {
  readonly node: number;
  /** Changes of mind on the way here. */
  readonly depth: number;
  /** The fault holds now, or is over. */
  readonly active: number;
  /** What was wanted in the tick that led here. */
  readonly wants: number;
}

/** Something that no guard could have held does not count. */
export interface Broke extends Breach {
  readonly fault: string;
  readonly repertoire: string;
  readonly trace: readonly string[];
}

export interface Alone {
  readonly repertoire: string;
  readonly fault: string;
  readonly places: number;
  readonly transitions: number;
  /** Changes of mind up to which everything was looked at. */
  readonly depth: number;
  readonly complete: boolean;
  /** Harm that came although a guard could have held it. */
  readonly broke: readonly Broke[];
  /** Kinds of harm that came, and would have with everything off as soon as the fault could be seen. */
  readonly excused: readonly string[];
}

/** A repertoire, with everything that is reached while all is well. */
export interface Stage {
  readonly model: Model;
  readonly repertoire: Repertoire;
  readonly roots: readonly Place[];
  readonly places: readonly Reached[];
  readonly graph: Graph;
  readonly run: Alone;
}

/** Most places of a repertoire while all is well and under one fault, and most places where a fault begins. */
export const MOST = {
  salted: { stage: 1_500, fault: 160, beginnings: 40 },
  plain: { stage: 4_000, fault: 400, beginnings: 120 },
} as const;
const mostOf = ({ salts }: Repertoire): (typeof MOST)['salted' | 'plain'] => MOST[salts ? 'salted' : 'plain'];

interface Search {
  readonly model: Model;
  readonly repertoire: Repertoire;
  readonly troubles: Troubles;
  readonly roots: readonly Place[];
  readonly graph: Graph;
  readonly seen: Seen;
  readonly fold: Fold;
  readonly fault: string;
  readonly broke: Map<string, Broke>;
  readonly excused: Set<string>;
  readonly judged: Map<string, number>;
  /** By changes of mind. */
  readonly waiting: Reached[][];
  /** Takes what breaks, in place of a judge. */
  readonly take: Take | null;
  transitions: number;
}

function searchOf(
  stage: Pick<Stage, 'model' | 'repertoire' | 'roots'>,
  defects: readonly Defect[],
  graph: Graph,
  take: Take | null,
): Search {
  const { model, repertoire, roots } = stage;
  const allSpeak = !defects.some(isSilencing);
  return {
    model,
    repertoire,
    roots,
    troubles: troublesOf(model, defects),
    graph,
    seen: seenOf(1 << 12),
    fold: foldOf(allSpeak ? model.plant : null, false, true),
    fault: defects.map(nameOf).join(' + '),
    broke: new Map(),
    excused: new Set(),
    judged: new Map(),
    waiting: [],
    take,
    transitions: 0,
  };
}

const HALF = FULL / 2;

/** Where it begins: with little and with much in each vessel that matters, the vat unsalted and salted. */
export function rootsOf(model: Model, { vessels, salts }: Repertoire): readonly Place[] {
  let levels: number[][] = [[]];
  for (const { id } of model.vessels) {
    // A system that is at its normal level takes no more than one unit: too little to tell wrong water from right.
    const isSystem = model.plant.systemIds.includes(id);
    const few = !vessels.includes(id) || (isSystem && !salts) ? [FULL] : isSystem ? [HALF] : [FULL, 1];
    levels = levels.flatMap((before) => few.map((held) => [...before, held]));
  }
  return levels.flatMap((level) =>
    (salts ? [0, level[model.mixing] ?? 0] : [0]).map((salt) => ({
      state: abstractedGuard(model.plant, initial(model.plant)),
      water: waterOf(model, level, salt),
    })),
  );
}

/** @param lost kinds of rows that the guard is without */
export function modelAlone(real: Plant, lost: readonly string[] = []): Model {
  const model = modelOf(real);
  if (lost.length > 0) lose(model.plant, (kind) => lost.includes(kind));
  return model;
}

export const repertoiresIn = ({ plant }: Model): readonly Repertoire[] => repertoiresOf(plant);

export function stageOf(
  model: Model,
  repertoire: Repertoire,
  most: number = mostOf(repertoire).stage,
  take: Take | null = null,
): Stage {
  const roots = rootsOf(model, repertoire);
  const search = searchOf({ model, repertoire, roots }, [], graphOf(), take);
  for (const [at, place] of roots.entries()) meet(search, place, 0, 0, -1 - at, 0, 0);
  const places: Reached[] = [];
  const end = until(search, most, (place) => {
    places.push(place);
    tries(search, place, 0, 0);
  });
  return { model, repertoire, roots, places, graph: search.graph, run: runFrom(search, end) };
}

export function aloneUnder(
  stage: Stage,
  defect: Defect,
  most: number = mostOf(stage.repertoire).fault,
  take: Take | null = null,
): Alone {
  const { graph } = stage;
  const copy = graphOf();
  for (let node = 0; node < graph.size(); node++) {
    const { parent, move, depth } = graph.entryOf(node);
    copy.add(parent, move, depth);
  }
  const search = searchOf(stage, [defect], copy, take);
  const print = { high: 0, low: 0 };
  for (const { state, water, node } of stage.places) {
    search.fold(state, water, 0, print);
    search.seen.enter(print, node);
  }
  // What else is known makes little difference to where it begins: the first place of each contents and acceptance stands for all.
  const beginnings = new Map<string, Reached>();
  for (const place of stage.places) {
    const outline = outlineOf(place);
    if (outline !== null && !beginnings.has(outline)) beginnings.set(outline, place);
  }
  const all = [...beginnings.values()];
  const every = Math.ceil(all.length / mostOf(stage.repertoire).beginnings);
  for (const from of all.filter((_, at) => at % every === 0))
    tries(search, { ...from, depth: 0, wants: ANY }, defect.once ? 0 : 1, defect.once ? 1 : 0);
  const end = until(search, most, (from) => {
    tries(search, from, from.active, 0);
    if (from.active === 1 && isSilencing(defect)) tries(search, from, 0, 0);
  });
  return runFrom(search, end);
}

/** Null: a latched trip keeps everything off already. */
const outlineOf = ({ state, water }: Place): string | null =>
  Object.keys(state.trips).length > 0
    ? null
    : JSON.stringify([water.level, water.salt, water.loose, state.batch.accepted]);
/** Whatever is wanted next, it is no change of mind. */
const ANY = -1;

function until(
  search: Search,
  most: number,
  look: (place: Reached) => void,
): Pick<Alone, 'places' | 'depth' | 'complete'> {
  const { waiting } = search;
  let places = 0;
  for (let depth = 0; depth < waiting.length; depth++) {
    const open = waiting[depth] ?? [];
    for (let place = open.pop(); place !== undefined; place = open.pop()) {
      if (places >= most) return { places, depth, complete: false };
      places += 1;
      look(place);
    }
  }
  return { places, depth: waiting.length, complete: true };
}

const runFrom = (search: Search, end: Pick<Alone, 'places' | 'depth' | 'complete'>): Alone => ({
  repertoire: search.repertoire.name,
  fault: search.fault,
  transitions: search.transitions,
  ...end,
  broke: [...search.broke.values()],
  excused: [...search.excused].sort(),
});

/** Everything that process, person and fault can do in the next tick. */
function tries(search: Search, from: Reached, active: number, once: number): void {
  const { model, repertoire, troubles } = search;
  const ways = troubles.brokens[active]?.ways ?? 1;
  // A person who comes does so in a tick in which nothing is wanted: what is wanted may follow at once.
  for (const deed of deedsAt(model, repertoire, from.state, from.water))
    for (let wants = 0; wants < (deed === 'nothing' ? repertoire.wants.length : 1); wants++)
      for (let way = 0; way < ways; way++)
        go(search, from, { active, once, way, wants, deed: DEEDS.indexOf(deed) });
}

/** What a way needs to be gone. */
export type Going = Pick<Search, 'model' | 'repertoire' | 'troubles'>;

function choiceOf({ model, repertoire, troubles }: Going, from: Place, move: Move): Choice {
  const { active, once, way, wants, deed } = move;
  const choice = troubles.choiceOf({ active, once, way, helps: null });
  const wanted = repertoire.wants[wants] ?? [];
  return {
    ...choice,
    hostile: hostileOf(model, from.state, choice.broken, wanted, DEEDS[deed] ?? 'nothing'),
  };
}

export const onward = (going: Going, from: Place, move: Move): Ticked =>
  tick(going.model, from, choiceOf(going, from, move), abstractedGuard);

function go(search: Search, from: Reached, move: Move): void {
  search.transitions += 1;
  const after = onward(search, from, move);
  const breaches = breachesOf(search.model, from, after);
  for (const breach of breaches) note(search, from, move, breach);
  if (breaches.some(({ final }) => final)) return;
  const isNew = from.wants !== ANY && (move.wants !== from.wants || move.deed > 0);
  meet(search, after, move.active, move.wants, from.node, written(move), from.depth + (isNew ? 1 : 0));
}

function meet(
  search: Search,
  { state, water }: Place,
  active: number,
  wants: number,
  parent: number,
  move: number,
  depth: number,
): void {
  const print = { high: 0, low: 0 };
  search.fold(state, water, active, print);
  if (search.seen.enter(print, search.graph.size()) >= 0) return;
  const node = search.graph.add(parent, move, depth);
  const reached: Reached = { state, water, node, depth, active, wants: parent < 0 ? ANY : wants };
  search.waiting[depth] ??= [];
  search.waiting[depth].push(reached);
}

/** So many accidents of one kind are judged, each by itself: the first may be excused, and the next one not. */
const JUDGED = 12;

function note(search: Search, from: Reached, move: Move, breach: Breach): void {
  const { model, graph, judged, broke, excused, repertoire, fault } = search;
  if (broke.has(breach.key)) return;
  const kind = [breach.key, ...breach.ways.map(({ by, ordered }) => `${by} ${ordered}`), move.active].join(
    ', ',
  );
  const before = judged.get(kind) ?? 0;
  if (before >= JUDGED) return;
  judged.set(kind, before + 1);
  const { root, moves } = graph.wayTo(from.node);
  if (search.take !== null) {
    search.take({ breach, root, moves: [...moves, written(move)] });
    return;
  }
  const went = wayOf(search, root, [...moves, written(move)]);
  if (fault !== '' && breach.harm !== null && isBeyondAny(model, went, breach.key, repertoire.vessels)) {
    excused.add(breach.key);
    return;
  }
  broke.set(breach.key, {
    ...breach,
    fault,
    repertoire: repertoire.name,
    trace: traceOf(search, went, [...moves, written(move)]),
  });
}

function wayOf(search: Search, root: number, moves: readonly number[]): readonly Went[] {
  let place = search.roots[root] as Place;
  return moves.map((one) => {
    const move = read(one);
    const { broken, once, hostile } = choiceOf(search, place, move);
    const after = onward(search, place, move);
    const by = hostile?.person ?? (() => []);
    const step: Went = { before: place, after, broken, once, way: move.way, person: by };
    place = after;
    return step;
  });
}
