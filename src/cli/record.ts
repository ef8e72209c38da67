// The journal beside a running service: every step in order, so that it can be replayed. What must be durable before an
// `on` goes out is the state file's business (keeper.ts); a journal that can't be written says so, and nothing waits.
import { join } from 'node:path';
import type { Bridge } from '../bridge/bridge.ts';
import type { State } from '../control/state.ts';
import { type Journal, openJournal } from '../journal/journal.ts';
import { orderOf } from '../journal/order.ts';
import type { Stamp } from '../journal/stamp.ts';
import type { Plant } from '../station/plant.ts';

export interface RecordOptions {
  readonly plant: Plant;
  readonly state: State;
  readonly bridge: Pick<Bridge<State>, 'turns'>;
  /** The journal lies in `journal` below it. */
  readonly directory: string;
  readonly failed: (words: string) => void;
  /** In lock step: the station's own time. */
  readonly stamp?: () => Stamp;
}

/** @throws JournalError for a journal that can't be written, or is another station's */
export function record({ plant, state, bridge, directory, failed, stamp }: RecordOptions): Journal {
  const journal = openJournal(join(directory, 'journal'), plant, stamp === undefined ? {} : { stamp });
  if (journal.words !== null) failed(journal.words);
  let isWell = true;
  const tell = (written: ReturnType<Journal['append']>): void => {
    if (!written.ok && isWell) failed(`${written.words} ${written.mend}`);
    isWell = written.ok;
  };
  tell(journal.begin(state, plant));
  bridge.turns.subscribe({
    next: ({ event, effects, state: now }) => {
      if (event === null) return;
      const taken = { event, effects, state: now };
      tell(orderOf(effects) === 'later' ? journal.appendLater(taken) : journal.append(taken));
    },
    error: () => {},
  });
  return journal;
}
