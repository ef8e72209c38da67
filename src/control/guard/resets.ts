// How a trip is reset. Silence is not evidence: without a name a trip goes only while everything that its row looks at is heard
// now and says that the cause is gone. Where that can't be heard, a named person says what was seen; the row goes on watching,
// and trips again when its evidence comes back bad. Evidence that still stands refuses either way.

import type { Plant } from '../../station/plant.ts';
import { forgetBooks } from './contents.ts';
import { guardDraftOf } from './draft.ts';
import { feedbackOf, isFresh } from './evidence.ts';
import { type Row, rowOf } from './interlocks.ts';
import { SEEN_LEAST } from './limits.ts';
import { type Message, message } from './message.ts';
import type { GuardState } from './state.ts';
import type { Done, Request } from './types.ts';
import { isLinked } from './watched.ts';

/** Who looked, and what they saw. */
export interface Witness {
  readonly who: string;
  readonly seen: string;
}

const LOOK = message('look-yourself');

/** `all` resets what live evidence clears, whoever asks: what a person saw is about one trip. */
export function resetTrips(
  plant: Plant,
  draft: GuardState,
  { trip, who = '', seen = '' }: Extract<Request, { ask: 'reset-trip' }>,
): Done {
  const keys = trip === 'all' ? Object.keys(draft.trips) : [trip];
  if (keys.length === 0) return { refused: message('no-trip-latched') };
  const witness = { who: who.trim(), seen: seen.trim() };
  const isNamed = trip !== 'all' && (witness.who !== '' || witness.seen !== '');
  if (isNamed && (witness.who === '' || witness.seen.length < SEEN_LEAST))
    return { refused: message('name-and-sentence-needed') };
  const refusals = keys.flatMap((key) => {
    const why = resetTrip(plant, draft, key, isNamed ? witness : null);
    return why === null ? [] : [message('trip-refused', { row: key, why })];
  });
  if (refusals.length === keys.length) return { refused: message('trips-refused', { refusals }) };
  const told = { count: keys.length - refusals.length, allCount: keys.length };
  if (refusals.length > 0) return { done: message('trips-reset-some', { ...told, refusals }) };
  return {
    done: isNamed ? message('trips-reset-seen', { ...told, ...witness }) : message('trips-reset', told),
  };
}

/** @returns null when reset, else why not */
export function resetTrip(
  plant: Plant,
  draft: GuardState,
  key: string,
  witness: Witness | null,
): Message | null {
  if (draft.trips[key] === undefined) return message('trip-not-latched', { row: key });
  const row = rowOf(plant, key);
  const why = row === undefined ? withoutRow(witness) : standingIn(plant, draft, row, witness);
  if (why === null) delete draft.trips[key];
  return why;
}

const withoutRow = (witness: Witness | null): Message | null =>
  witness === null ? message('row-is-gone', { look: LOOK }) : null;

function standingIn(plant: Plant, draft: GuardState, row: Row, witness: Witness | null): Message | null {
  const why = witness === null ? unshown(plant, draft, row) : null;
  return why ?? afterLook(draft, row);
}

/** The watches begin anew, and the row says what it thinks of that. */
function afterLook(draft: GuardState, row: Row): Message | null {
  startWatchesAnew(draft, row);
  row.afterReset?.(draft);
  return row.holds(draft) ? stillThere(row) : null;
}

/**
 * Why only a named person who looked can reset a latched trip; null where live evidence can, and where nobody can because
 * the cause is still there.
 */
export function lookNeeded(plant: Plant, state: GuardState, key: string): Message | null {
  const row = rowOf(plant, key);
  if (row === undefined) return withoutRow(null);
  const why = unshown(plant, state, row);
  return why !== null && afterLook(guardDraftOf(state), row) === null ? why : null;
}

const stillThere = ({ words }: Row): Message => message('cause-still-there', { cause: words });

/** What live evidence lacks; null where all of it is heard and says that the cause is gone. */
function unshown(plant: Plant, draft: GuardState, row: Row): Message | null {
  const { cleared } = row;
  if (!('inputs' in cleared)) return message('cause-can-not-be-measured', { why: cleared, look: LOOK });
  if (row.holds(draft)) return stillThere(row);
  if (!isLinked(plant, draft)) return message('link-unproven-for-reset', { look: LOOK });
  const silent = cleared.inputs.filter((id) => !isHeard(plant, draft, id)).map((id) => nameOf(plant, id));
  if (silent.length > 0) return message('silent-for-reset', { silent, look: LOOK });
  return cleared.so?.(draft) === false ? stillThere(row) : null;
}

const isHeard = (plant: Plant, draft: GuardState, id: string): boolean =>
  plant.sensors[id] === undefined ? feedbackOf(plant, draft, id) !== null : isFresh(plant, draft, id);

const nameOf = (plant: Plant, id: string): Message =>
  plant.sensors[id] === undefined
    ? message('the-feedback', { device: id })
    : message('the-sensor', { sensor: id });

function startWatchesAnew(draft: GuardState, { subject }: Row): void {
  const vessel = draft.vessels[subject];
  if (vessel) {
    forgetBooks(vessel);
    Object.assign(vessel, { contradiction: null, contradictionMs: 0 });
  }
  const pipe = draft.routes[subject];
  if (pipe) Object.assign(pipe, { strayL: 0, lowFlowMs: 0 });
  const heater = draft.heaters[subject];
  if (heater) Object.assign(heater, { frozen: false, welded: false, windowC: null, windowMs: 0 });
}
