// The proof-test plan: what a person moves by hand, how often, and what must happen within how many seconds.
import { deriveRows } from '../control/guard/interlocks.ts';
import { PROOF_ANSWER_MS } from '../control/guard/limits.ts';
import { provable } from '../control/guard/proof-tests.ts';
import { englishOf } from '../language/english.ts';
import type { Plant } from '../station/plant.ts';
import { joined, nameOf } from './words.ts';

export interface ProofTest {
  /** Key of the row that must answer. */
  readonly row: string;
  /** Id of what a person moves. */
  readonly sensor: string;
  readonly sensorName: string;
  readonly instruction: string;
  readonly everyDays: number;
  /** From the moved contact to the answer: what the file lets the contact stand, and what the instruction says. */
  readonly seconds: number;
}

export function proofPlanOf(plant: Plant): readonly ProofTest[] {
  const say = englishOf(plant);
  return provable(plant).map(({ key, proves, proof }) => {
    const sensor = plant.sensors[proves];
    const believeMs = sensor !== undefined && 'believeStopMs' in sensor ? sensor.believeStopMs : 0;
    return {
      row: key,
      sensor: proves,
      sensorName: nameOf(plant, proves),
      instruction: say(proof),
      everyDays: days(plant.policy.proofTests.everyMs),
      seconds: Math.ceil((PROOF_ANSWER_MS + believeMs) / 1000),
    };
  });
}

/** When, and what follows where nobody does it. */
export function scheduleWords({ policy: { proofTests } }: Plant): string {
  return `Each at commissioning, then at the latest every ${days(proofTests.everyMs)} d. Overdue is an alarm; ${days(proofTests.graceMs)} d later what relies on it stays off.`;
}

/** Why the other rows have no test by hand, and the ids of those rows. */
export function untried(plant: Plant): readonly (readonly [string, string])[] {
  const say = englishOf(plant);
  const ids = new Map<string, Set<string>>();
  for (const { id, proof, unproven } of deriveRows(plant))
    if (proof === null) ids.set(say(unproven), (ids.get(say(unproven)) ?? new Set()).add(id));
  return [...ids].map(([why, rows]) => [joined([...rows].toSorted()), why] as const);
}

const days = (ms: number): number => Number((ms / 86_400_000).toFixed(1));
