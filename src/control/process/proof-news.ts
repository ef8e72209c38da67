// What people are told of proof tests: due, overdue, failed. The rows I-28 hold only beyond the grace; until then an alarm is
// all that happens. A test that failed is an alarm until one is passed, however long that takes.

import { known } from '../guard/invariant.ts';
import { type Message, message } from '../guard/message.ts';
import { clears, consequence, doing, HANDS_IN_WATER, respond } from '../guard/response.ts';
import type { Priority } from '../guard/types.ts';
import type { State } from './state.ts';

export interface ProofNews {
  readonly alarm: string;
  readonly active: boolean;
  /** It goes with the test that is passed, not minutes later. */
  readonly trip: boolean;
  readonly priority: Priority;
  readonly words: Message;
  readonly response: Message;
}

const DUE_MEND = respond(HANDS_IN_WATER, doing(message('do-proof-tests')));
const FAILED_MEND = respond(
  HANDS_IN_WATER,
  consequence(message('interlock-may-not-work')),
  doing(message('do-stay-while-it-runs')),
  doing(message('do-free-and-test-again')),
  clears(message('clears-when-passed')),
);
const FAILED = 'A-08/';
const [OVERDUE, BEYOND_GRACE] = ['I-28/overdue', 'I-28/beyond-grace'] as const;
/** They stand for all rows that are overdue, and are no row's own. */
export const OVERDUE_ALARMS: readonly string[] = [OVERDUE, BEYOND_GRACE];

/** Everything there is to say now, and what was said until now and is over. */
export function proofNews({ proofs, alarms }: State): readonly ProofNews[] {
  const found: ProofNews[] = [];
  const due = (alarm: string, count: number, priority: Priority, words: (count: number) => Message): void => {
    if (count === 0 && alarms[alarm] === undefined) return;
    found.push({ alarm, active: count > 0, trip: false, priority, words: words(count), response: DUE_MEND });
  };
  const { dueSoon, overdue, beyondGrace } = proofs;
  due('A-05/proof-tests', dueSoon, 'notice', (count) => message('proof-tests-due', { count }));
  due(OVERDUE, overdue, 'soon', (count) => message('proof-tests-overdue', { count }));
  due(BEYOND_GRACE, beyondGrace, 'soon', (count) => message('proof-tests-beyond-grace', { count }));
  const failed = (alarm: string, active: boolean, words: Message): void => {
    found.push({ alarm, active, trip: true, priority: 'soon', words, response: FAILED_MEND });
  };
  for (const row in proofs.failed)
    failed(`${FAILED}${row}`, true, message('proof-test-failed', { row, why: known(proofs.failed, row) }));
  for (const alarm in alarms)
    if (alarm.startsWith(FAILED) && proofs.failed[alarm.slice(FAILED.length)] === undefined)
      failed(alarm, false, known(alarms, alarm).words);
  return found;
}
