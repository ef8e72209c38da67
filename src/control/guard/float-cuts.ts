// What the floats say now cuts the contents of a vessel: wet, at least the mark less its tolerance; dry, at most the mark plus
// its tolerance. A float whose own book excludes what it says cuts nothing: it or the book is wrong, which is row I-10's.

import type { Plant, Vessel } from '../../station/plant.ts';
import { bookOf, clamp, contradictsBy, pinBooks, type Word, wordsOf } from './float-books.ts';
import { known } from './invariant.ts';
import { CONTRADICTION_MS } from './limits.ts';
import { type Message, message } from './message.ts';
import type { GuardState, Interval, VesselState } from './state.ts';

export function cutByFloats(
  plant: Plant,
  draft: GuardState,
  vessel: Vessel,
  held: VesselState,
  pending: Interval,
  heard: ReadonlySet<string>,
): void {
  // A float that a person moves by hand tells nothing about the water.
  const words = draft.proofs.test?.vessel === vessel.id ? [] : wordsOf(plant, draft, vessel, held, heard);
  pinBooks(vessel, held, pending, words);
  if (vessel.role === 'system') for (const word of words) believeTurn(draft, vessel, held, word);
  for (const word of words) {
    if (word.wet) atLeast(vessel, held, pending, word);
    else atMost(vessel, held, pending, word);
  }
  held.settledLeastL = clamp(Math.max(held.settledLeastL, held.leastL - pending.mostL), vessel);
  held.settledMostL = clamp(Math.min(held.settledMostL, held.mostL - pending.leastL), vessel);
  if (held.settledLeastL > held.settledMostL) held.settledMostL = held.settledLeastL;
}

/**
 * A float of a system that turns over without any flow that explains it does not hang: its keeper brought water or took some.
 * How much, only the other floats say.
 */
function believeTurn(
  draft: GuardState,
  vessel: Vessel,
  held: VesselState,
  { float, wet, boundL }: Word,
): void {
  const { standsMs, chatter } = known(draft.sensors, float.id);
  if (standsMs > 0 || chatter === 0) return;
  if (wet && boundL > held.mostL)
    Object.assign(held, { mostL: vessel.capacityL, settledMostL: vessel.capacityL });
  if (!wet && boundL < held.leastL) Object.assign(held, { leastL: 0, settledLeastL: 0 });
}

function contradict(held: VesselState, why: Message): void {
  held.contradiction = why;
  held.contradictionMs = CONTRADICTION_MS;
}

// What a float's own book excludes is not cut to its mark: one of the two is wrong, so the interval covers both.

function atLeast(vessel: Vessel, held: VesselState, pending: Interval, word: Word): void {
  const { float, boundL } = word;
  const book = bookOf(vessel, held, pending, float);
  if (boundL > book.mostL || boundL > held.mostL) {
    if (boundL > held.mostL + float.toleranceL || contradictsBy(vessel, word, boundL - book.mostL))
      contradict(held, message('float-says-wet', { sensor: float.id }));
    held.mostL = Math.max(held.mostL, boundL);
    held.settledMostL = Math.max(held.settledMostL, boundL);
    if (boundL <= book.mostL) return;
    held.leastL = Math.min(held.leastL, book.leastL);
    held.settledLeastL = Math.min(held.settledLeastL, clamp(book.leastL - pending.leastL, vessel));
    return;
  }
  // What was assumed to be drawn before is gone into this: it may be drawn again.
  if (boundL > held.leastL) held.handAssumedL = 0;
  held.leastL = Math.max(held.leastL, boundL);
}

function atMost(vessel: Vessel, held: VesselState, pending: Interval, word: Word): void {
  const { float, boundL } = word;
  const book = bookOf(vessel, held, pending, float);
  if (boundL < book.leastL || boundL < held.leastL) {
    if (boundL < held.leastL - float.toleranceL || contradictsBy(vessel, word, book.leastL - boundL))
      contradict(held, message('float-says-dry', { sensor: float.id }));
    held.leastL = Math.min(held.leastL, boundL);
    held.settledLeastL = Math.min(held.settledLeastL, boundL);
    if (boundL >= book.leastL) return;
    held.mostL = Math.max(held.mostL, book.mostL);
    held.settledMostL = Math.max(held.settledMostL, clamp(book.mostL - pending.mostL, vessel));
    return;
  }
  held.mostL = Math.min(held.mostL, boundL);
}
