// Chance without a memory: a number that depends on the seed, on what is asked about and on when, and on nothing else.
// A generator with a running state would tie every reading to the number of readings before it, and then a longer step
// or one more sensor would change the whole day. Here the day stays the same.
//
// FNV-1a (Fowler, Noll, Vo) folds a name into 32 bits; the finalizer of MurmurHash3 (Austin Appleby, public domain)
// scatters them. Good enough to spread noise; not for secrets.

/** A name folded into 32 bits. */
export function keyOf(name: string): number {
  let hash = 0x811c9dc5;
  for (let at = 0; at < name.length; at++) {
    hash = Math.imul(hash ^ name.charCodeAt(at), 0x01000193);
  }
  return hash >>> 0;
}

function scattered(value: number): number {
  let bits = value >>> 0;
  bits = Math.imul(bits ^ (bits >>> 16), 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
  return (bits ^ (bits >>> 16)) >>> 0;
}

/** A number in [0, 1) for this seed, this key (see `keyOf`) and this moment or occasion. */
export function chance(seed: number, key: number, occasion = 0): number {
  const low = scattered(Math.imul(seed >>> 0, 0x9e3779b1) + key);
  return scattered(Math.imul(low, 0x85ebca77) + Math.imul(occasion >>> 0, 0xc2b2ae3d)) / 0x100000000;
}

/** The same, in [-1, 1). */
export function sway(seed: number, key: number, occasion = 0): number {
  return 2 * chance(seed, key, occasion) - 1;
}
