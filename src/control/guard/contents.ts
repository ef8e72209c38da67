// 2. Contents: for every vessel an interval [least, most] in litres that the true contents are in.
//
//   flows move it      - by what meters counted, within their error; without a meter by the route's least and most flow
//   floats cut it      - wet: at least the mark less its tolerance; dry: at most the mark plus its tolerance
//   a level sets it    - to its reading, give or take its uncertainty
//   silence widens it  - whatever may run on until its lease ends counts as running
//   hands draw from it - `least` falls at the stated rate, within the day's amount
//
// Overflow is judged with `most`, dry running with `least`: doubt is always on the safe side. Two pieces of evidence that
// contradict each other leave the interval that covers both, and a note of the contradiction for row I-10.
// Beside it run books, which the evidence that they are compared with does not cut: one for the level, by flows alone since
// it was opened (a level outside it is water that no flow explains; rows I-08 and I-09 judge how much), and one for each
// float (`float-books.ts`), because a float that hangs would otherwise pull the interval back to its mark for ever.
import type { Plant, Vessel } from '../../station/plant.ts';
import { fresh } from './evidence.ts';
import { clamp, forgetMark, moveBooks, noiseL, setBooks, swellBooks } from './float-books.ts';
import { cutByFloats } from './float-cuts.ts';
import { known } from './invariant.ts';
import {
  BOOK_MS,
  BOOK_SHARE,
  BOOK_UNCERTAINTIES,
  CHATTER_LIMIT,
  DOUBT_STANDS_MS,
  SALT_L_PER_KG,
} from './limits.ts';
import type { GuardState, Interval, VesselState } from './state.ts';
import { watched } from './watched.ts';

const DAY_MS = 86_400_000;

/** Moves every vessel by this event's flows, then cuts it by this event's evidence. `heard`: sensors that spoke live now. */
export function account(
  plant: Plant,
  draft: GuardState,
  elapsedMs: number,
  heard: ReadonlySet<string>,
): void {
  for (const id in draft.vessels) {
    const vessel = known(plant.vessels, id);
    const held = known(draft.vessels, id);
    held.contradictionMs = Math.max(0, held.contradictionMs - elapsedMs);
    if (held.contradictionMs === 0) held.contradiction = null;
    held.handDrawnL = 0;
    if (held.doubtMs !== null) held.doubtMs += watched(plant, elapsedMs);
    move(draft, vessel, held, elapsedMs);
    draw(vessel, held, elapsedMs);
    // What meters have yet to tell does not change any more in this event.
    const pending = pendingOf(draft, vessel);
    show(vessel, held, pending);
    forgetChattering(plant, draft, vessel, held, heard);
    cutByLevel(plant, draft, vessel, held, pending, heard);
    cutByFloats(plant, draft, vessel, held, pending, heard);
  }
}

function move(draft: GuardState, vessel: Vessel, held: VesselState, elapsedMs: number): void {
  let leastL = 0;
  let mostL = 0;
  for (const id of vessel.into) {
    const pipe = known(draft.routes, id);
    leastL += pipe.movedLeastL;
    mostL += pipe.movedMostL;
    if (pipe.running !== 'no') held.bookRan = true;
  }
  for (const id of vessel.outOf) {
    const pipe = known(draft.routes, id);
    leastL -= pipe.movedMostL;
    mostL -= pipe.movedLeastL;
    if (pipe.running !== 'no') held.bookRan = true;
  }
  // What neither the room nor the contents leave place for was not drawn by hand, and may be drawn yet.
  const missingL = Math.max(0, -(held.settledLeastL + leastL));
  held.settledLeastL = clamp(held.settledLeastL + leastL, vessel);
  const roomL = vessel.capacityL - held.settledLeastL;
  held.handAssumedL = Math.max(0, Math.min(held.handAssumedL - missingL, roomL));
  held.settledMostL = clamp(held.settledMostL + mostL, vessel);
  moveBooks(vessel, held, leastL, mostL, elapsedMs);
  held.bookMs += elapsedMs;
  if (held.bookLeastL === null || held.bookMostL === null) return;
  held.bookLeastL += leastL - noiseL(vessel, elapsedMs);
  held.bookMostL += mostL + noiseL(vessel, elapsedMs);
}

/** Hands may have drawn water at any moment, within the bounds that the file calls normal life. */
function draw(vessel: Vessel, held: VesselState, elapsedMs: number): void {
  const { handDrawn } = vessel;
  if (handDrawn === null) return;
  held.handBudgetL += (elapsedMs / DAY_MS) * handDrawn.perDayL;
  // What the day gives back beyond its amount makes up for what was assumed: it may be drawn again.
  const beyondL = Math.max(0, held.handBudgetL - handDrawn.perDayL);
  held.handBudgetL -= beyondL;
  held.handAssumedL = Math.max(0, held.handAssumedL - beyondL);
  const leftL = Math.max(0, held.handBudgetL - held.handAssumedL);
  // Where there may be nothing, nothing need have been drawn yet.
  const drawnL = Math.min((elapsedMs / 60_000) * handDrawn.flowLpm, leftL, held.settledLeastL);
  held.handAssumedL += drawnL;
  held.settledLeastL = clamp(held.settledLeastL - drawnL, vessel);
}

/** Contents as they may be now: settled, plus what may have passed since the meters last spoke. */
function show(vessel: Vessel, held: VesselState, pending: Interval): void {
  held.leastL = clamp(held.settledLeastL + pending.leastL, vessel);
  held.mostL = clamp(held.settledMostL + pending.mostL, vessel);
}

function pendingOf(draft: GuardState, vessel: Vessel): Interval {
  let leastL = 0;
  let mostL = 0;
  for (const id of vessel.into) {
    const { pendingLeastL, pendingMostL } = known(draft.routes, id);
    leastL += pendingLeastL;
    mostL += pendingMostL;
  }
  for (const id of vessel.outOf) {
    const { pendingLeastL, pendingMostL } = known(draft.routes, id);
    leastL -= pendingMostL;
    mostL -= pendingLeastL;
  }
  return { leastL, mostL };
}

function cutByLevel(
  plant: Plant,
  draft: GuardState,
  vessel: Vessel,
  held: VesselState,
  pending: Interval,
  heard: ReadonlySet<string>,
): void {
  if (vessel.level === null || !heard.has(vessel.level)) return;
  const sensor = known(plant.sensors, vessel.level);
  const levelL = fresh(plant, draft, vessel.level);
  if (levelL === null || sensor.measures !== 'level') return;
  const lowL = levelL - sensor.uncertaintyL;
  const highL = levelL + sensor.uncertaintyL;
  compareWithBook(held, pending, lowL, highL, mismatchBoundL(plant, vessel));
  // Level and book contradict each other: the contents may be what either says.
  if (held.doubtMs !== null) {
    cover(vessel, held, lowL, highL, pending);
    return;
  }
  held.settledLeastL = clamp(lowL - pending.mostL, vessel);
  held.settledMostL = clamp(highL - pending.leastL, vessel);
  held.leastL = clamp(lowL, vessel);
  held.mostL = clamp(highL, vessel);
  held.handAssumedL = 0;
  setBooks(vessel, held, { leastL: held.settledLeastL, mostL: held.settledMostL });
}

function cover(vessel: Vessel, held: VesselState, lowL: number, highL: number, pending: Interval): void {
  held.leastL = clamp(Math.min(held.leastL, lowL), vessel);
  held.mostL = clamp(Math.max(held.mostL, highL), vessel);
  held.settledLeastL = clamp(Math.min(held.settledLeastL, lowL - pending.mostL), vessel);
  held.settledMostL = clamp(Math.max(held.settledMostL, highL - pending.leastL), vessel);
}

/**
 * A float that has just been caught chattering had been believed up to now, wet and dry in turn: what may rest on its word
 * is given up, and the other evidence cuts anew.
 */
function forgetChattering(
  plant: Plant,
  draft: GuardState,
  vessel: Vessel,
  held: VesselState,
  heard: ReadonlySet<string>,
): void {
  if (heard.size === 0) return;
  for (const position in vessel.floats) {
    const id = vessel.floats[position as keyof Vessel['floats']];
    if (id === undefined || !heard.has(id)) continue;
    const { fault, chatter } = known(draft.sensors, id);
    const sensor = known(plant.sensors, id);
    if (fault !== 'chatter' || chatter > CHATTER_LIMIT + 1 || sensor.measures !== 'float') continue;
    const fromL = sensor.markL - sensor.toleranceL;
    const toL = sensor.markL + sensor.toleranceL;
    if (held.leastL >= fromL && held.leastL <= toL) Object.assign(held, { leastL: 0, settledLeastL: 0 });
    if (held.mostL >= fromL && held.mostL <= toL)
      Object.assign(held, { mostL: vessel.capacityL, settledMostL: vessel.capacityL });
    forgetMark(vessel, held, fromL, toL);
  }
}

function compareWithBook(
  held: VesselState,
  pending: Interval,
  lowL: number,
  highL: number,
  boundL: number,
): void {
  if (held.bookLeastL === null || held.bookMostL === null) {
    openBook(held, lowL, highL);
    return;
  }
  const aboveL = Math.max(0, lowL - (held.bookMostL + pending.mostL));
  const belowL = Math.max(0, held.bookLeastL + pending.leastL - highL);
  // A fall within what hands may still draw today is normal life; what is drawn counts against the day.
  const byHandL = Math.min(belowL, held.handBudgetL);
  const mismatchL = aboveL > 0 ? aboveL : belowL > byHandL ? byHandL - belowL : 0;
  if (Math.abs(mismatchL) > boundL) {
    // One reading against another: nobody knows which of the two was wrong. The next one tells.
    if (!held.bookAgreed) openBook(held, lowL, highL);
    // One reading against a book that was right before: it may be wrong itself.
    else if (held.doubtMs !== null && held.doubtMs >= DOUBT_STANDS_MS) held.mismatchL = mismatchL;
    held.doubtMs ??= 0;
    return;
  }
  held.doubtMs = null;
  held.bookAgreed = true;
  held.mismatchL = mismatchL;
  if (held.mismatchL === 0 && byHandL > 0) {
    // At least this much was drawn since the book was opened: both its ends go down by it, and it counts against the day.
    held.handBudgetL -= byHandL;
    held.handDrawnL = byHandL;
    held.bookLeastL -= byHandL;
    held.bookMostL -= byHandL;
  }
  // A slow difference is forgiven with its book: what I-08 and I-09 can see is their bound in one BOOK_MS.
  if (held.bookMs >= BOOK_MS) {
    openBook(held, lowL, highL);
    held.bookAgreed = true;
  }
}

function openBook(held: VesselState, lowL: number, highL: number): void {
  Object.assign(held, { bookLeastL: lowL, bookMostL: highL, bookMs: 0, bookRan: false, mismatchL: 0 });
  held.bookAgreed = false;
}

/** Salt goes in, or may go in at any moment now: the vat may be fuller by its volume, and no flow explains that. */
export function swell(vessel: Vessel, held: VesselState, saltKg: number): void {
  held.settledMostL = clamp(held.settledMostL + SALT_L_PER_KG * saltKg, vessel);
  held.mostL = clamp(held.mostL + SALT_L_PER_KG * saltKg, vessel);
  swellBooks(vessel, held, SALT_L_PER_KG * saltKg);
  forgetBook(held);
}

/** A person has looked: what the books said no longer counts. */
export function forgetBooks(held: VesselState): void {
  forgetBook(held);
  held.floats = {};
}

/** The level's book is opened anew: salt went in. */
export function forgetBook(held: VesselState): void {
  Object.assign(held, { bookLeastL: null, bookMostL: null, bookMs: 0, bookRan: false, mismatchL: 0 });
  held.doubtMs = null;
}

/** Unexplained water above which a difference between level and book counts, litres. */
export function mismatchBoundL(plant: Plant, vessel: Vessel): number {
  const sensor = vessel.level === null ? null : known(plant.sensors, vessel.level);
  const uncertaintyL = sensor?.measures === 'level' ? sensor.uncertaintyL : 0;
  return Math.max(BOOK_SHARE * vessel.capacityL, BOOK_UNCERTAINTIES * uncertaintyL);
}

/** The middle of the interval: for process amounts, never for protection. */
export const middleL = (held: VesselState): number => (held.leastL + held.mostL) / 2;
