// Every caution that a plan can give, one row each: what it weighs and what mends it. Sections say when it holds and put
// the numbers into the sentence.
import type { Caution, Weight } from './report.ts';

interface CautionRow {
  readonly weight: Weight;
  readonly mend: string;
}

// biome-ignore format: a table reads as a table
export const CAUTIONS = {
  'P-01': { weight: 'danger', mend: 'Ask a structural engineer before anything is ordered, and fill nothing before the answer. This report compares and approves nothing.' },
  'P-02': { weight: 'danger', mend: 'Do not fill the vats here. Smaller vats, another place, or a structural engineer who finds a way.' },
  'P-03': { weight: 'danger', mend: 'Have a drain put in, or lead the tray to one by a pipe that nobody can close. Without it an overflow ends on the floor, near mains devices.' },
  'P-04': { weight: 'fails', mend: 'A smaller vat, or another way in. Measure the clear opening of the door with its leaf open.' },
  'P-05': { weight: 'fails', mend: 'A lower vat, a lower stand, or less headroom if lid and scoop allow it.' },
  'P-06': { weight: 'fails', mend: 'Slimmer vats, one vat lying, or a longer piece of floor.' },
  'P-07': { weight: 'fails', mend: 'Larger vats, or a smaller reserve that the owner has thought about.' },
  'P-08': { weight: 'fails', mend: 'A pump whose curve begins well above the lift, or a higher stand: every metre under the vat is a metre less to lift.' },
  'P-09': { weight: 'look', mend: 'Throttle it with a valve at its outlet, or take a smaller pump: beyond the curve nobody knows its flow, and the motor may overheat.' },
  'P-10': { weight: 'fails', mend: 'A larger or a second membrane, warmer or pre-warmed inlet water, or a smaller exchange.' },
  'P-11': { weight: 'look', mend: 'Plan on the worst month, or take the next larger purifier: a membrane that runs nearly always has nothing left for a bad week.' },
  'P-12': { weight: 'fails', mend: 'A stronger heater with its own circuit, or a lid and insulation. A licensed electrician decides what the circuit carries.' },
  'P-13': { weight: 'look', mend: 'A stronger heater, or an exchange small enough for unheated water.' },
  'P-14': { weight: 'fails', mend: 'A heater in the mixing vat, smaller steps, or a limit that the owner has thought about.' },
  'P-15': { weight: 'look', mend: 'A larger share, or less production: feeding, stocking, and whatever takes the substance out by other ways.' },
  'P-16': { weight: 'look', mend: 'A larger mixing vat, a smaller exchange while away, or somebody who adds the salt.' },
  'P-17': { weight: 'look', mend: 'Equal vats, or the larger of the two as the fresh vat, if the wait is too long.' },
  'P-18': { weight: 'fails', mend: 'A larger membrane, a booster pump before it, or a lower inlet into the vat: the pressure does not reach.' },
  'P-19': { weight: 'look', mend: 'A weaker pump, or a shorter lease: what runs on after the high float spoke must fit below the brim.' },
  'P-20': { weight: 'look', mend: 'Choose supply and return pump of one model: then one spare on the shelf serves both, and each can stand in for the other.' },
  'P-21': { weight: 'danger', mend: 'Strap the vats to the wall. A structural engineer or a qualified builder makes the stand, anchored as the local code demands: it carries the full mass and must not rock.' },
  'P-22': { weight: 'look', mend: 'A larger pipe: above 2 m/s it is loud, wears, and hammers when a valve shuts (common practice, no source).' },
  'P-23': { weight: 'look', mend: 'Larger vats, a fresh vat larger than a batch needs, or a reserve counted from what is there between two batches.' },
  'P-24': { weight: 'look', mend: 'Salt that is brought sooner, a larger mixing vat, or an exchange that may wait.' },
  'P-25': { weight: 'look', mend: 'Ask a structural engineer before anything is ordered. This report compares and approves nothing.' },
  'P-26': { weight: 'danger', mend: 'A siphon break at the highest point of the line, above the brim of the vat, or a valve that is closed without power. The drafted station has such a valve; state "siphonBreak" or "closedAtRest" once one is fitted.' },
  'P-27': { weight: 'danger', mend: 'End the pipe above the highest water, or fit a valve that is closed without power; a check valve alone leaks in salt. The drafted station has such a valve.' },
  'P-28': { weight: 'danger', mend: 'A siphon break at the highest point of the drain line, or a valve that is closed without power. The drafted station has such a valve.' },
  'P-29': { weight: 'look', mend: 'State "level" of the system and "outlet" of the drain: a hose that ends lower than it begins is a siphon.' },
  'P-30': { weight: 'fails', mend: 'A hand valve behind the pump, set once with a bucket and a watch and then left, or a weaker pump. The drafted station counts on it.' },
  'P-31': { weight: 'fails', mend: 'A larger or a taller vat, smaller floats, or one level sensor and one overflow float in place of three floats.' },
  'P-32': { weight: 'look', mend: 'Smaller changes more often, a larger mixing vat, or somebody who is there with salt for each batch.' },
  'P-33': { weight: 'look', mend: 'Fewer and larger steps, if the system has room for them, or a weaker pump: what starts and stops within its priming delivers what nobody knows.' },
  'P-34': { weight: 'danger', mend: 'Anchor it to the wall at two thirds of its height, as a structural engineer or a qualified builder says.' },
} as const satisfies Readonly<Record<string, CautionRow>>;

export type CautionId = keyof typeof CAUTIONS;

export function caution(id: CautionId, words: string): Caution {
  return { id, words, ...CAUTIONS[id] };
}

/** The caution if it holds. */
export function cautionIf(holds: boolean, id: CautionId, words: () => string): Caution[] {
  return holds ? [caution(id, words())] : [];
}

const ORDER: readonly Weight[] = ['danger', 'fails', 'look'];

export function heavierFirst(a: Caution, b: Caution): number {
  return ORDER.indexOf(a.weight) - ORDER.indexOf(b.weight) || a.id.localeCompare(b.id);
}
