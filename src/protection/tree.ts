// The fault tree of a hazard, and its minimal cut sets. The tree follows the table of gaps: the hazard comes about by any
// of its gaps, a gap by all of its failures together, and a failure either by itself or by a common cause that takes
// another failure of the same gap along. Cut sets are worked out from the tree by expansion and absorption (after the method
// of obtaining cut sets in IEC 61025 and NUREG-0492, ch. VII).
import { type Gap, gapsOf } from '../station/gaps.ts';
import type { Plant } from '../station/plant.ts';
import type { Cause } from './causes.ts';
import { eventWords } from './events.ts';
import type { Hazard } from './hazards.ts';

export type TreeNode =
  | { readonly kind: 'any' | 'all'; readonly words: string; readonly children: readonly TreeNode[] }
  | Leaf;

/** A basic event: a device, a person, or a common cause (then `event` is the cause's id). */
export interface Leaf {
  readonly kind: 'event' | 'cause';
  readonly event: string;
  readonly words: string;
}

export interface Cuts {
  /** One failure is enough. */
  readonly ones: readonly (readonly Leaf[])[];
  /** Two together. */
  readonly twos: readonly (readonly Leaf[])[];
  /** How many minimal sets of three failures or more there are besides. */
  readonly more: number;
}

/** Null where the table of gaps knows no way to this hazard. */
export function treeOf(plant: Plant, hazard: Hazard, causes: readonly Cause[]): TreeNode | null {
  const mine = gapsOf(plant).filter(({ harm, about }) => harm === hazard.harm && about === hazard.about);
  if (mine.length === 0) return null;
  const ids = [...new Set(mine.map(({ id }) => id))];
  const ways = ids.map((id): TreeNode => {
    const gaps = mine.filter((gap) => gap.id === id);
    const children = gaps.map((gap) => togetherOf(plant, gap, causes));
    const words = `${id}: ${gaps[0]?.words ?? ''}`;
    const [only] = children;
    // One way only: no gate between, its words go to the one that is there.
    if (children.length === 1 && only !== undefined)
      return 'children' in only ? { ...only, words } : { kind: 'any', words, children };
    return { kind: 'any', words, children };
  });
  return { kind: 'any', words: hazard.title, children: ways };
}

function togetherOf(plant: Plant, { when }: Gap, causes: readonly Cause[]): TreeNode {
  const shared = causes.filter(({ fails }) => when.filter((event) => fails.has(event)).length > 1);
  const children = when.map((event): TreeNode => {
    const own: Leaf = { kind: 'event', event, words: eventWords(plant, event) };
    const common = shared
      .filter(({ fails }) => fails.has(event))
      .map(({ id, name }): Leaf => ({ kind: 'cause', event: id, words: name }));
    return common.length === 0
      ? own
      : { kind: 'any', words: own.words, children: [{ ...own, words: 'by itself' }, ...common] };
  });
  const [only] = children;
  return children.length === 1 && only !== undefined ? only : { kind: 'all', words: '', children };
}

/** The minimal cut sets of a tree: no set contains another. */
export function cutsOf(plant: Plant, tree: TreeNode): Cuts {
  const sets = minimal(expanded(tree));
  const leaves = new Map(leavesOf(tree).map((leaf) => [leaf.event, leaf]));
  const told = (order: number): (readonly Leaf[])[] =>
    sets
      .filter(({ size }) => size === order)
      .map((set) => [...set].map((event) => inWords(plant, event, leaves.get(event))));
  return { ones: told(1), twos: told(2), more: sets.filter(({ size }) => size > 2).length };
}

/** Below a gate an event is called `by itself`; in a set it stands alone and needs its name. */
function inWords(plant: Plant, event: string, leaf: Leaf | undefined): Leaf {
  return leaf?.kind === 'cause' ? leaf : { kind: 'event', event, words: eventWords(plant, event) };
}

function leavesOf(node: TreeNode): readonly Leaf[] {
  return 'children' in node ? node.children.flatMap(leavesOf) : [node];
}

type CutSet = ReadonlySet<string>;

function expanded(node: TreeNode): readonly CutSet[] {
  if (!('children' in node)) return [new Set([node.event])];
  const below = node.children.map(expanded);
  if (node.kind === 'any') return below.flat();
  return below.reduce<readonly CutSet[]>(
    (sets, more) => minimal(sets.flatMap((set) => more.map((other) => new Set([...set, ...other])))),
    [new Set()],
  );
}

/** Absorption: a set that contains another one says nothing new. */
function minimal(sets: readonly CutSet[]): readonly CutSet[] {
  const kept: CutSet[] = [];
  for (const set of sets.toSorted((one, other) => one.size - other.size))
    if (!kept.some((smaller) => [...smaller].every((event) => set.has(event)))) kept.push(set);
  return kept;
}
