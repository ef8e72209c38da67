// The book of each float: the interval of a vessel's contents by flows and by all other evidence, which the float itself does
// not cut. Against it the float's mark is held, so that a float that hangs contradicts what flowed, however small the steps
// in which it came.
//
// A book starts as wide as the vessel. A level sets it, the other floats cut it when they speak, and so does its own float in the
// moment in which it turns over while water moves: a float that hangs does not turn. That pins one side alone: a float that
// came loose late was wrong until then. Flows move it within the errors of their meters; waves, warmth and what evaporates
// widen it, salt and hands move one side.
//
// A system has none: its own top-off, its return pump and its keeper move more water there than the station knows of.
import type { FloatSensor, Plant, Vessel } from '../../station/plant.ts';
import { rawContact } from './evidence.ts';
import { known } from './invariant.ts';
import { LEVEL_NOISE_SHARE_PER_HOUR } from './limits.ts';
import type { FloatBook, GuardState, Interval, VesselState } from './state.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/** What a float says now. */
export interface Word {
  readonly float: FloatSensor;
  readonly wet: boolean;
  /** Wet: at least this much; dry: at most this much. */
  readonly boundL: number;
  /** It spoke in this event. */
  readonly heard: boolean;
  /** It turned over since it last spoke, and what runs may have done it. */
  readonly turned: boolean;
}

/** A vessel can't hold less than nothing, and what is above the brim has left it. */
export const clamp = (litres: number, { capacityL }: Vessel): number =>
  Math.min(Math.max(litres, 0), capacityL);

/** What moves a vessel's contents, or its level, without any flow that the station knows of. */
export const noiseL = ({ capacityL }: Vessel, elapsedMs: number): number =>
  (elapsedMs / HOUR_MS) * LEVEL_NOISE_SHARE_PER_HOUR * capacityL;

export function moveBooks(
  vessel: Vessel,
  held: VesselState,
  leastL: number,
  mostL: number,
  elapsedMs: number,
): void {
  for (const id in held.floats) {
    const book = known(held.floats, id);
    const movedL = book.leastL + leastL - noiseL(vessel, elapsedMs);
    book.leastL = clamp(movedL, vessel);
    // What neither the room nor the contents leave place for was not drawn by hand, and may be drawn yet.
    const undrawnL = Math.max(
      book.handLeftL,
      book.handLeftL - movedL,
      dayL(vessel) - vessel.capacityL + book.leastL,
    );
    book.handLeftL = Math.min(undrawnL, 2 * dayL(vessel));
    book.mostL = clamp(book.mostL + mostL + noiseL(vessel, elapsedMs), vessel);
    drawFrom(vessel, book, elapsedMs);
  }
}

/** Since the book was last pinned hands may have drawn a day's amount at once, and what the time gives back. */
function drawFrom({ handDrawn }: Vessel, book: FloatBook, elapsedMs: number): void {
  if (handDrawn === null) return;
  book.handLeftL = Math.min(book.handLeftL + (elapsedMs / DAY_MS) * handDrawn.perDayL, 2 * handDrawn.perDayL);
  const drawnL = Math.min(book.handLeftL, (elapsedMs / MINUTE_MS) * handDrawn.flowLpm, book.leastL);
  book.leastL -= drawnL;
  book.handLeftL -= drawnL;
}

const dayL = ({ handDrawn }: Vessel): number => handDrawn?.perDayL ?? 0;

export function swellBooks(vessel: Vessel, held: VesselState, litres: number): void {
  for (const id in held.floats) {
    const book = known(held.floats, id);
    book.mostL = clamp(book.mostL + litres, vessel);
  }
}

/** A level says what each book is. */
export function setBooks(vessel: Vessel, held: VesselState, { leastL, mostL }: Interval): void {
  for (const id in held.floats)
    Object.assign(known(held.floats, id), { leastL, mostL, handLeftL: dayL(vessel) });
}

/** Books that may rest on the word of a float that flutters are opened anew at that end. */
export function forgetMark(vessel: Vessel, held: VesselState, fromL: number, toL: number): void {
  for (const id in held.floats) {
    const book = known(held.floats, id);
    if (book.leastL >= fromL && book.leastL <= toL) book.leastL = 0;
    if (book.mostL >= fromL && book.mostL <= toL) book.mostL = vessel.capacityL;
  }
}

/** What the floats of a vessel say now; opens the books of those that have none. */
export function wordsOf(
  plant: Plant,
  draft: GuardState,
  vessel: Vessel,
  held: VesselState,
  heard: ReadonlySet<string>,
): readonly Word[] {
  const words: Word[] = [];
  for (const position in vessel.floats) {
    const id = vessel.floats[position as keyof Vessel['floats']];
    const float = id === undefined ? undefined : plant.sensors[id];
    const wet = id === undefined ? null : rawContact(plant, draft, id);
    if (wet === null || float?.measures !== 'float') continue;
    let turned = false;
    if (vessel.role !== 'system') {
      held.floats[float.id] ??= { leastL: 0, mostL: vessel.capacityL, handLeftL: dayL(vessel), wet: null };
      const book = known(held.floats, float.id);
      turned = book.wet === !wet && someRuns(draft, wet ? vessel.into : vessel.outOf);
      book.wet = wet;
    }
    const boundL = wet ? float.markL - float.toleranceL : float.markL + float.toleranceL;
    words.push({ float, wet, boundL, heard: heard.has(float.id), turned });
  }
  return words;
}

const someRuns = (draft: GuardState, routes: readonly string[]): boolean =>
  routes.some((id) => known(draft.routes, id).running !== 'no');

/**
 * Every float that spoke cuts the books of the others, and its own where it turned over. A word that is older than this
 * event was true of other contents than these.
 */
export function pinBooks(vessel: Vessel, held: VesselState, pending: Interval, words: readonly Word[]): void {
  for (const word of words) {
    if (!word.heard) continue;
    for (const id in held.floats)
      if (id !== word.float.id || word.turned) pin(vessel, known(held.floats, id), pending, word, id);
  }
}

/**
 * A word that the book excludes does not cut it. Where another float spoke, the book then covers both: the speaker's own
 * book judges the speaker.
 */
function pin(
  vessel: Vessel,
  book: FloatBook,
  pending: Interval,
  { float, wet, boundL }: Word,
  id: string,
): void {
  const settledL = wet ? boundL - pending.mostL : boundL - pending.leastL;
  const within = wet ? settledL <= book.mostL : settledL >= book.leastL;
  if (!within && float.id === id) return;
  if (wet && settledL > book.leastL) book.handLeftL = dayL(vessel);
  if (wet === within) book.leastL = within ? Math.max(book.leastL, settledL) : settledL;
  else book.mostL = within ? Math.min(book.mostL, settledL) : settledL;
}

/** A float's book as it is now, with what meters have yet to tell; without a book nothing is excluded. */
export function bookOf(vessel: Vessel, held: VesselState, pending: Interval, { id }: FloatSensor): Interval {
  const book = held.floats[id];
  return {
    leastL: clamp((book?.leastL ?? 0) + pending.leastL, vessel),
    mostL: clamp((book?.mostL ?? vessel.capacityL) + pending.mostL, vessel),
  };
}

/**
 * Is a float wrong that lies so far outside its book? The doubt is forgiven as far as the tolerance, for slosh and for what
 * was under way while it spoke, and near an end of the vessel half of what is left. A float that repeats itself is judged
 * when it speaks; one that speaks only on change has said nothing else.
 */
export function contradictsBy(
  vessel: Vessel,
  { float, wet, boundL, heard }: Word,
  outsideL: number,
): boolean {
  const leftL = wet ? boundL : vessel.capacityL - boundL;
  return (heard || float.republishesMs === null) && outsideL > Math.min(float.toleranceL, leftL / 2);
}
