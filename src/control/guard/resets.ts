// How a trip is reset. Silence is not evidence: without a name a trip goes only while everything that its row looks at is heard
// now and says that the cause is gone. Where that can't be heard, a named person says what was seen; the row goes on watching,
// and trips again when its evidence comes back bad. Evidence that still stands refuses either way.
import type { Plant } from '../../station/plant.ts';
import { forgetBooks } from './contents.ts';
import { guardDraftOf } from './draft.ts';
import { feedbackOf, isFresh } from './evidence.ts';
import { type Row, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { SEEN_LEAST } from './limits.ts';
import type { GuardState } from './state.ts';
import type { Done, Request } from './types.ts';
import { isLinked } from './watched.ts';

/** Who looked, and what they saw. */
export interface Witness {
  readonly who: string;
  readonly seen: string;
}

const LOOK = 'look yourself, then reset it with your name and what you saw';

/** `all` resets what live evidence clears, whoever asks: what a person saw is about one trip. */
export function resetTrips(
  plant: Plant,
  draft: GuardState,
  { trip, who = '', seen = '' }: Extract<Request, { ask: 'reset-trip' }>,
): Done {
  const keys = trip === 'all' ? Object.keys(draft.trips) : [trip];
  if (keys.length === 0) return { refused: 'no trip is latched' };
  const witness = { who: who.trim(), seen: seen.trim() };
  const isNamed = trip !== 'all' && (witness.who !== '' || witness.seen !== '');
  if (isNamed && (witness.who === '' || witness.seen.length < SEEN_LEAST))
    return { refused: 'a name and a sentence are needed: who looked, and what was seen' };
  const refusals = keys.flatMap((key) => {
    const why = resetTrip(plant, draft, key, isNamed ? witness : null);
    return why === null ? [] : [`${key}: ${why}`];
  });
  if (refusals.length === keys.length) return { refused: refusals.join('; ') };
  const by = isNamed ? `. ${witness.who} saw: ${witness.seen}` : '';
  const rest =
    refusals.length > 0 ? `; still latched: ${refusals.join('; ')}` : '. What is held waits for a restart';
  return { done: `reset ${keys.length - refusals.length} of ${keys.length}${by}${rest}` };
}

/** @returns null when reset, else why not */
export function resetTrip(
  plant: Plant,
  draft: GuardState,
  key: string,
  witness: Witness | null,
): string | null {
  if (draft.trips[key] === undefined) return `no trip '${key}' is latched`;
  const row = rowOf(plant, key);
  const why = row === undefined ? withoutRow(witness) : standingIn(plant, draft, row, witness);
  if (why === null) delete draft.trips[key];
  return why;
}

const withoutRow = (witness: Witness | null): string | null =>
  witness === null ? `the station file no longer has what it watched: ${LOOK}` : null;

function standingIn(plant: Plant, draft: GuardState, row: Row, witness: Witness | null): string | null {
  const why = witness === null ? unshown(plant, draft, row) : null;
  return why ?? afterLook(draft, row);
}

/** The watches begin anew, and the row says what it thinks of that. */
function afterLook(draft: GuardState, row: Row): string | null {
  startWatchesAnew(draft, row);
  row.afterReset?.(draft);
  return row.holds(draft) ? stillThere(row) : null;
}

/**
 * Why only a named person who looked can reset a latched trip; null where live evidence can, and where nobody can because
 * the cause is still there.
 */
export function lookNeeded(plant: Plant, state: GuardState, key: string): string | null {
  const row = rowOf(plant, key);
  if (row === undefined) return withoutRow(null);
  const why = unshown(plant, state, row);
  return why !== null && afterLook(guardDraftOf(state), row) === null ? why : null;
}

const stillThere = ({ words }: Row): string => `the cause is still there: ${words}`;

/** What live evidence lacks; null where all of it is heard and says that the cause is gone. */
function unshown(plant: Plant, draft: GuardState, row: Row): string | null {
  const { cleared } = row;
  if (typeof cleared === 'string')
    return `nothing that is measured shows that the cause is gone, ${cleared}: ${LOOK}`;
  if (row.holds(draft)) return stillThere(row);
  if (!isLinked(plant, draft))
    return `the link to the broker is not proven, so nothing of the station is heard: mend it, or ${LOOK}`;
  const silent = cleared.inputs.filter((id) => !isHeard(plant, draft, id)).map((id) => nameOf(plant, id));
  if (silent.length > 0) return `${silent.join(' and ')} is silent or faulty: mend it, or ${LOOK}`;
  return cleared.so?.(draft) === false ? stillThere(row) : null;
}

const isHeard = (plant: Plant, draft: GuardState, id: string): boolean =>
  plant.sensors[id] === undefined ? feedbackOf(plant, draft, id) !== null : isFresh(plant, draft, id);

const nameOf = (plant: Plant, id: string): string =>
  plant.sensors[id]?.name ?? `the feedback of ${known(plant.actuators, id).name}`;

function startWatchesAnew(draft: GuardState, row: Row): void {
  const [, subject = ''] = row.key.split('/');
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
