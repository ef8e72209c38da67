// The nodes that were met, each with the tick that led to it: enough to walk back to the beginning and forth again.

export interface Graph {
  /** @returns the number of the new node */
  readonly add: (parent: number, move: number, depth: number) => number;
  readonly size: () => number;
  readonly entryOf: (node: number) => {
    readonly parent: number;
    readonly move: number;
    readonly depth: number;
  };
  /** The moves from a root to this node, and the root. */
  readonly wayTo: (node: number) => { readonly root: number; readonly moves: readonly number[] };
}

/** A list of whole numbers that grows. */
export interface Numbers {
  readonly push: (value: number) => void;
  readonly at: (index: number) => number;
  readonly size: () => number;
}

export function numbers(): Numbers {
  let room = new Int32Array(1024);
  let size = 0;
  return {
    push: (value) => {
      if (size === room.length) {
        const larger = new Int32Array(2 * size);
        larger.set(room);
        room = larger;
      }
      room[size++] = value;
    },
    at: (index) => room[index] ?? 0,
    size: () => size,
  };
}

/** A root's parent is -1 less its number. */
export function graphOf(): Graph {
  const parents = numbers();
  const moves = numbers();
  const depths = numbers();
  return {
    add: (parent, move, depth) => {
      parents.push(parent);
      moves.push(move);
      depths.push(depth);
      return parents.size() - 1;
    },
    size: parents.size,
    entryOf: (node) => ({ parent: parents.at(node), move: moves.at(node), depth: depths.at(node) }),
    wayTo: (node) => {
      const back: number[] = [];
      let at = node;
      while (parents.at(at) >= 0) {
        back.push(moves.at(at));
        at = parents.at(at);
      }
      return { root: -1 - parents.at(at), moves: back.reverse() };
    },
  };
}

/**
 * The nodes from which none of `goals` can be reached by these edges (pairs: from, to).
 * @returns for each node whether a goal can be reached
 */
export function reaching(nodes: number, edges: Numbers, goals: readonly number[]): Uint8Array {
  const starts = new Int32Array(nodes + 1);
  const count = edges.size() / 2;
  for (let edge = 0; edge < count; edge++) {
    const to = edges.at(2 * edge + 1) + 1;
    starts[to] = (starts[to] ?? 0) + 1;
  }
  for (let node = 0; node < nodes; node++) starts[node + 1] = (starts[node + 1] ?? 0) + (starts[node] ?? 0);
  const next = starts.slice();
  const froms = new Int32Array(count);
  for (let edge = 0; edge < count; edge++) {
    const to = edges.at(2 * edge + 1);
    const place = next[to] ?? 0;
    froms[place] = edges.at(2 * edge);
    next[to] = place + 1;
  }
  const reaches = new Uint8Array(nodes);
  const open = [...goals];
  for (const goal of goals) reaches[goal] = 1;
  while (open.length > 0) {
    const node = open.pop() ?? 0;
    for (let at = starts[node] ?? 0; at < (starts[node + 1] ?? 0); at++) {
      const from = froms[at] ?? 0;
      if (reaches[from] === 1) continue;
      reaches[from] = 1;
      open.push(from);
    }
  }
  return reaches;
}
