// A node of the exploration (canonical core state, coarse water, which defects hold) folded into 64 bits.
//
// Two nodes with one fingerprint would be taken for one. With n nodes the odds that any two collide are below
// n^2 / 2^65 (the birthday bound): 7e-7 for five million, if the mixing is as good as random. The two 32-bit lanes use the
// round of MurmurHash3 (Austin Appleby, public domain) with different constants.
import type { State } from '../../control/state.ts';
import type { Water } from './water.ts';

export interface Fingerprint {
  high: number;
  low: number;
}

export type Fold = (state: State, water: Water, layer: number, into: Fingerprint) => void;

/** The odds that at least two of so many nodes share a fingerprint. */
export const collisionOdds = (nodes: number): number => (nodes * nodes) / 2 ** 65;

export function foldOf(): Fold {
  const words = new Map<string, number>();
  let numbers = new Int32Array(1024);
  let length = 0;
  const put = (value: number): void => {
    if (length === numbers.length) {
      const longer = new Int32Array(2 * length);
      longer.set(numbers);
      numbers = longer;
    }
    numbers[length++] = value;
  };
  const num = (value: number | null): void =>
    put(value === null ? -77_777_777 : Math.round(value * 1000) | 0);
  const word = (text: string): void => {
    let index = words.get(text);
    if (index === undefined) {
      index = words.size + 1;
      words.set(text, index);
    }
    put(index);
  };
  const any = (value: unknown): void => {
    if (typeof value === 'number') num(value);
    else if (typeof value === 'boolean') put(value ? 1 : 2);
    else if (typeof value === 'string') word(value);
    else if (value === null || value === undefined) put(3);
    else if (Array.isArray(value)) {
      put(value.length);
      for (const item of value) any(item);
    } else {
      for (const key in value as object) any((value as Record<string, unknown>)[key]);
    }
  };
  return (state, water, layer, into) => {
    length = 0;
    put(layer);
    for (const id in state.trips) word(id);
    put(-1);
    for (const target in state.verdicts) {
      word(target);
      for (const key of state.verdicts[target] ?? []) word(key);
    }
    put(-2);
    for (const id in state.outOfService) word(id);
    put(-3);
    any(state.sensors);
    any(state.devices);
    any(state.routes);
    any(state.vessels);
    any(state.salinity);
    any(state.heaters);
    any(state.refill);
    any(state.batch);
    any(state.exchange);
    any(state.tasks);
    any(state.link);
    any(water);
    mix(numbers, length, into);
  };
}

function mix(numbers: Int32Array, length: number, into: Fingerprint): void {
  let high = 0x9747b28c;
  let low = 0x3c6ef372;
  for (let at = 0; at < length; at++) {
    const value = numbers[at] ?? 0;
    let a = Math.imul(value, 0xcc9e2d51);
    a = (a << 15) | (a >>> 17);
    high ^= Math.imul(a, 0x1b873593);
    high = (high << 13) | (high >>> 19);
    high = (Math.imul(high, 5) + 0xe6546b64) | 0;
    let b = Math.imul(value ^ 0x5bd1e995, 0x239b961b);
    b = (b << 17) | (b >>> 15);
    low ^= Math.imul(b, 0xab0e9789);
    low = (low << 16) | (low >>> 16);
    low = (Math.imul(low, 5) + 0x561ccd1b + high) | 0;
  }
  into.high = finish(high ^ length) >>> 0;
  into.low = finish(low ^ length) >>> 0;
}

function finish(value: number): number {
  let bits = value;
  bits = Math.imul(bits ^ (bits >>> 16), 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
  return bits ^ (bits >>> 16);
}
