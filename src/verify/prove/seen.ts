// The set of fingerprints that were met, each with the number of its node: open addressing in typed arrays, twelve bytes
// for a node. A JavaScript Map would take ten times that.
import type { Fingerprint } from './digits.ts';

export interface Seen {
  /** The node of this fingerprint; enters `node` and returns -1 where there was none. */
  readonly enter: (print: Fingerprint, node: number) => number;
  readonly size: () => number;
}

const FULLEST = 0.6;

export function seenOf(room = 1 << 16): Seen {
  let slots = room;
  let highs = new Uint32Array(slots);
  let lows = new Uint32Array(slots);
  /** Node + 1; 0 is a free slot. */
  let nodes = new Int32Array(slots);
  let size = 0;

  const place = (high: number, low: number): number => {
    let at = (low ^ Math.imul(high, 0x9e3779b1)) & (slots - 1);
    while (nodes[at] !== 0 && (highs[at] !== high || lows[at] !== low)) at = (at + 1) & (slots - 1);
    return at;
  };
  const grow = (): void => {
    const [oldHighs, oldLows, oldNodes] = [highs, lows, nodes];
    slots *= 2;
    highs = new Uint32Array(slots);
    lows = new Uint32Array(slots);
    nodes = new Int32Array(slots);
    for (let from = 0; from < oldNodes.length; from++) {
      if (oldNodes[from] === 0) continue;
      const high = oldHighs[from] ?? 0;
      const low = oldLows[from] ?? 0;
      const to = place(high, low);
      highs[to] = high;
      lows[to] = low;
      nodes[to] = oldNodes[from] ?? 0;
    }
  };
  return {
    enter: ({ high, low }, node) => {
      const at = place(high, low);
      const there = nodes[at] ?? 0;
      if (there !== 0) return there - 1;
      highs[at] = high;
      lows[at] = low;
      nodes[at] = node + 1;
      size += 1;
      if (size > FULLEST * slots) grow();
      return -1;
    },
    size: () => size,
  };
}
