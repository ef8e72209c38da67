// What people are told of proof tests: due, overdue, failed. The rows I-28 hold only beyond the grace; until then an alarm is
// all that happens. A test that failed is an alarm until one is passed, however long that takes.
import { known } from '../guard/invariant.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

export interface ProofNews {
  readonly alarm: string;
  readonly active: boolean;
  /** It goes with the test that is passed, not minutes later. */
  readonly trip: boolean;
  readonly priority: Priority;
  readonly words: string;
  readonly mend: string;
}

const DUE_MEND =
  'Open the list of proof tests, move each float or sensor as it says, and watch for the answer.';
const FAILED_MEND =
  'This protection may not work. Stay with the station while anything runs that relies on it; free, clean or replace the float or sensor, then test it again. Only a test that is passed ends this alarm.';
const FAILED = 'A-08/';

/** Everything there is to say now, and what was said until now and is over. */
export function proofNews({ proofs, alarms }: State): readonly ProofNews[] {
  const found: ProofNews[] = [];
  const due = (alarm: string, count: number, priority: Priority, words: (count: number) => string): void => {
    if (count === 0 && alarms[alarm] === undefined) return;
    found.push({ alarm, active: count > 0, trip: false, priority, words: words(count), mend: DUE_MEND });
  };
  const { dueSoon, overdue, beyondGrace } = proofs;
  due('A-05/proof-tests', dueSoon, 'notice', (count) => `proof tests are due soon: ${count}`);
  due(
    'I-28/overdue',
    overdue,
    'soon',
    (count) =>
      `proof tests are overdue: ${count}. Nobody knows whether these floats and sensors still protect`,
  );
  due(
    'I-28/beyond-grace',
    beyondGrace,
    'soon',
    (count) => `proof tests were not done for far too long: ${count}. What relies on them stays off`,
  );
  const failed = (alarm: string, active: boolean, words: string): void => {
    found.push({ alarm, active, trip: true, priority: 'soon', words, mend: FAILED_MEND });
  };
  for (const row in proofs.failed)
    failed(`${FAILED}${row}`, true, `the proof test of ${row} failed: ${known(proofs.failed, row)}`);
  for (const alarm in alarms)
    if (alarm.startsWith(FAILED) && proofs.failed[alarm.slice(FAILED.length)] === undefined)
      failed(alarm, false, known(alarms, alarm).words);
  return found;
}
