// Which proof test is due first, and how the one stands that is under way.
import { computed } from '@preact/signals';
import type { ProofOutcome, RowStanding, Sections } from '../../contract.ts';
import { say, t } from '../texts.ts';
import { duration } from '../units.ts';
import { live, standing } from './live.ts';
import { rowStanding } from './targets.ts';

export type Proof = Sections['proofTests']['rows'][string] & {
  readonly row: RowStanding;
  /** What a person moves, by its name. */
  readonly moved: string;
  readonly last: ProofOutcome | null;
};

const DAY_MS = 86_400_000;

/** Every row that has a proof test, the longest overdue first. */
export const proofs = computed<readonly Proof[]>(() =>
  Object.entries(live.proofTests.value?.rows ?? {})
    .flatMap(([key, due]): Proof[] => {
      const row = rowStanding(key);
      const last = live.proofOutcomes.value?.[key] ?? null;
      return row === undefined ? [] : [{ ...due, row, moved: sensorName(due.sensor), last }];
    })
    .toSorted((a, b) => a.dueInDays - b.dueInDays),
);

export const overdue = computed(() => proofs.value.filter((one) => one.standing === 'overdue'));

/** Tried, failed, and still relied on: neither passed since nor taken out of service. */
export const failed = computed(() =>
  proofs.value.filter(
    ({ last, sensor }) => last?.passed === false && live.outOfService.value?.[sensor] === undefined,
  ),
);

export const sensorName = (id: string): string => standing.value?.sensors[id]?.name ?? id;

export const proofHref = (row: string): string => `#proofs/${encodeURIComponent(row)}`;

/** One that failed is due whatever the schedule says: that counts from the last one that was passed. */
export const groupOf = ({ last, standing: stands }: Proof): Proof['standing'] =>
  last?.passed === false ? 'overdue' : stands;

/** `overdue by 3 d`, `due in 12 d`, `never tried, due in 90 d`. */
export function dueWords(proof: Proof): string {
  if (proof.last?.passed === false) return t('proofs.due-again');
  const due = whenDue(proof);
  return proof.neverTried ? t('proofs.never', { due }) : due;
}

function whenDue({ standing: stands, dueInDays }: Proof): string {
  // Days are rounded down: -1 is anything up to a day too late.
  const lateDays = -dueInDays - 1;
  if (stands === 'overdue' && lateDays < 1) return t('proofs.overdue-today');
  if (stands === 'overdue') return t('proofs.overdue-by', { time: duration(lateDays * DAY_MS) });
  if (dueInDays < 1) return t('proofs.due-today');
  return t('proofs.due-in', { time: duration(dueInDays * DAY_MS) });
}

/** `passed`, `failed`, `without a result`. */
export const outcomeWord = ({ passed }: ProofOutcome): string =>
  say(`proofs.was-${passed === null ? 'open' : passed ? 'passed' : 'failed'}`, '');
