// What no software can hold: which things must fail, alone or together, so that water or heat does harm although every
// command was right, and the hardware that would close the gap. Worked out from the plumbing (`gap-rows.ts`). `check` prints
// it, `prove` finds the same by trying and asks here what would help, and a campaign's nights are judged with it.
//
// A gap explains what took its own way while its own failures held, and nothing else: litres that were ordered are never
// explained by a pump that ran on, and a gap without a failure explains nothing.
import { GAP_ROWS } from './gap-rows.ts';
import type { Plant } from './plant.ts';

export type Harm = 'spilled' | 'dry' | 'on the floor' | 'heater bare' | 'too hot' | 'wrong water' | 'crossed';

/** By what a harm came about. */
export interface Way {
  /** The route whose water it is, or the heater. */
  readonly by: string;
  /** Everything on that way had been told to be on. */
  readonly ordered: boolean;
}

export interface Gap {
  /** `G-02`. */
  readonly id: string;
  readonly harm: Harm;
  /** A vessel, pump, heater or route. */
  readonly about: string;
  /** All of these fail at once; never empty. */
  readonly when: readonly string[];
  /** The route or heater that does it; null: whichever was ordered. */
  readonly by: string | null;
  /** True: it was ordered by software that was told lies. False: it went on against orders. */
  readonly ordered: boolean;
  readonly words: string;
  /** What closes the gap. */
  readonly fit: string;
}

/** Where a gap is: all of it but what its row says once. */
export type GapPlace = Omit<Gap, 'id' | 'words' | 'fit'>;

export function gapsOf(plant: Plant): readonly Gap[] {
  return GAP_ROWS.flatMap(({ id, words, fit, of }) => of(plant).map((gap) => ({ id, words, fit, ...gap })));
}

/** The gap that explains this harm, by this way, by what failed; the one with the fewest failures first; undefined: none does. */
export function gapFor(
  plant: Plant,
  harm: Harm,
  about: string,
  way: Way,
  failed: ReadonlySet<string>,
): Gap | undefined {
  return gapsOf(plant)
    .filter((gap) => gap.harm === harm && gap.about === about)
    .filter(({ by, ordered }) => ordered === way.ordered && (by === null || by === way.by))
    .filter(({ when }) => when.length > 0 && when.every((lost) => failed.has(lost)))
    .toSorted((one, other) => one.when.length - other.when.length)[0];
}
