// Every kind of fault of the coarse world, and what the exploration must know of it beside what it does. What a fault does stands
// in `broken.ts` and `moves.ts`; where it can be, in `defects.ts`.

/**
 * `runs-on`: goes on against orders where nobody can tell it to stop; `moves`: moves water by itself; `stays`: what it did is there
 * when it is over; `silences`: some message may be missing from a tick; `unreachable`: no command arrives; `known`: the service knows
 * of it itself; `everywhere`: concerns whatever is wanted; `salt`: only where salt is wanted; `latent`: can be there from the start
 * without anybody knowing; `second`: comes to a latent one at the same route, or (`near-all`) at any.
 */
export type Trait =
  | 'runs-on'
  | 'moves'
  | 'stays'
  | 'silences'
  | 'unreachable'
  | 'known'
  | 'everywhere'
  | 'salt'
  | 'latent'
  | 'second'
  | 'near-all';

// biome-ignore format: a table reads as a table
const KINDS = {
  'stuck-on':          ['moves', 'latent', 'second'],
  'stuck-off':         ['latent'],
  deaf:                ['latent', 'second'],
  'ignores-lease':     ['runs-on', 'moves', 'latent', 'second'],
  'restarts-on':       ['runs-on', 'moves', 'stays', 'second'],
  'foreign-on':        ['runs-on', 'moves', 'stays', 'known'],
  'foreign-off':       ['known'],
  'feedback-says':     ['latent', 'second'],
  'feedback-lies':     [],
  'feedback-silent':   ['silences', 'second'],
  weak:                [],
  siphon:              ['moves', 'second'],
  'hose-off':          ['second'],
  'no-pressure':       [],
  exhausted:           [],
  leaks:               ['stays', 'second'],
  'drawn-by-hand':     ['stays'],
  'top-off-runs':      [],
  'return-stopped':    [],
  cools:               ['salt'],
  'grows-old':         ['salt'],
  says:                ['latent', 'second'],
  lies:                [],
  silent:              ['silences', 'second'],
  offline:             ['silences'],
  stored:              ['silences'],
  chatters:            ['silences'],
  resets:              [],
  'salt-twice':        ['stays', 'salt', 'second'],
  'salt-never':        ['stays', 'salt', 'latent', 'second'],
  'measures-off':      ['stays', 'salt', 'second'],
  'types-both':        ['stays', 'salt'],
  'nobody-there':      [],
  'power-cut':         ['silences', 'everywhere'],
  'link-lost':         ['silences', 'unreachable', 'known', 'everywhere', 'near-all'],
  'link-mute':         ['silences', 'unreachable', 'known', 'everywhere', 'near-all'],
  'service-restarts':  ['silences', 'unreachable', 'everywhere'],
  'service-away':      ['silences', 'unreachable', 'everywhere', 'near-all'],
  'memory-lost':       ['silences', 'unreachable', 'everywhere'],
  'file-changed':      ['silences', 'unreachable', 'everywhere'],
  'tick-late':         ['known', 'everywhere'],
  'journal-full':      ['known', 'everywhere'],
  asks:                ['salt'],
} as const satisfies Readonly<Record<string, readonly Trait[]>>;

export type DefectKind = keyof typeof KINDS;

export const has = (kind: DefectKind, trait: Trait): boolean =>
  (KINDS[kind] as readonly Trait[]).includes(trait);
