// The proof-test plan: what a person moves by hand, how often, and what must happen within how many seconds.
import { deriveRows } from '../control/interlocks.ts';
import { PROOF_ANSWER_MS } from '../control/limits.ts';
import { provable } from '../control/proof-tests.ts';
import type { Plant } from '../station/plant.ts';

export interface ProofTest {
  /** Key of the row that must answer. */
  readonly row: string;
  /** Id of what a person moves. */
  readonly sensor: string;
  readonly instruction: string;
  readonly everyDays: number;
  /** From the moved contact to the answer. */
  readonly seconds: number;
}

const DAY_MS = 86_400_000;
/** What the instructions of the rows say, above what a contact may have to stand before it is believed. */
const ANSWER_S = PROOF_ANSWER_MS / 1000;

export function proofPlanOf(plant: Plant): readonly ProofTest[] {
  return provable(plant).map(({ key, proves, proof }) => {
    const contact = plant.sensors[proves];
    const believeMs = contact !== undefined && 'believeStopMs' in contact ? contact.believeStopMs : 0;
    return {
      row: key,
      sensor: proves,
      instruction: proof,
      everyDays: plant.policy.proofTests.everyMs / DAY_MS,
      seconds: ANSWER_S + Math.ceil(believeMs / 1000),
    };
  });
}

/** Ids of the rows that nobody can try by moving something. */
export function untried(plant: Plant): readonly string[] {
  return [...new Set(deriveRows(plant).flatMap(({ id, proof }) => (proof === null ? [id] : [])))].toSorted();
}
