// What the journal remembers when it is opened: the last snapshot, and the steps after it taken again.
import type { State } from '../control/process/state.ts';
import { step } from '../control/step.ts';
import { isMessage } from '../language/message.ts';
import type { Database } from './driver.ts';
import { digestOf } from './packing.ts';
import { plantIn, type Start, snapshotIn, snapshotPlaces, startsIn, stretchesFrom } from './reading.ts';
import type { Stamp } from './stamp.ts';

export interface Remembered {
  readonly state: State;
  /** When the last step was taken. */
  readonly stamp: Stamp;
  readonly start: Start;
  /** This release decided otherwise than the one that wrote the steps after the last snapshot. */
  readonly differs: boolean;
}

/** The steps after the last snapshot mean something else to this release, or nothing. The file is whole. */
export class NotUnderstood extends Error {
  override readonly name = 'NotUnderstood';
}

/**
 * The state after the last step that was written; null in a journal without a start.
 * @throws Damaged, NotUnderstood
 */
export function remember(db: Database): Remembered | null {
  const start = startsIn(db).at(-1);
  const last = start === undefined ? undefined : snapshotPlaces(db, start.id).at(-1)?.step;
  if (start === undefined || last === undefined) return null;
  const snapshot = snapshotIn(db, start, last);
  if (!isMessage(snapshot.state.batch?.words))
    throw new NotUnderstood('their state is of a release that remembered sentences');
  const used = plantIn(db, start.plantHash);
  let { state, stamp } = snapshot;
  let differs = false;
  for (const stretch of stretchesFrom(db, start, snapshot, used, Number.POSITIVE_INFINITY)) {
    for (const { event } of stretch.pairs) state = stepped(() => step(used.plant, state, event).state);
    stamp = stretch.stamp;
    differs ||= stretch.digest !== null && digestOf(state) !== stretch.digest;
  }
  return { state, stamp, start, differs };
}

function stepped(take: () => State): State {
  try {
    return take();
  } catch (error) {
    throw new NotUnderstood((error as Error).message, { cause: error });
  }
}
