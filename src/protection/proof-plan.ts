// The proof-test plan: what a person moves by hand, how often, and what must happen within how many seconds.
import { deriveRows, type Row } from '../control/interlocks.ts';
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

/** A quarter of a year: what salt and slime need to glue a float down is weeks, and nobody tests daily for long. */
export const PERIOD_DAYS = 90;
/** What the instructions of the rows say, above what a contact may have to stand before it is believed. */
const ANSWER_S = 5;

export function proofPlanOf(plant: Plant): readonly ProofTest[] {
  return deriveRows(plant).flatMap((row) => {
    if (row.proof === null) return [];
    const sensor = movedFor(plant, row);
    const contact = plant.sensors[sensor];
    const believeMs = contact !== undefined && 'believeStopMs' in contact ? contact.believeStopMs : 0;
    return [
      {
        row: row.key,
        sensor,
        instruction: row.proof,
        everyDays: PERIOD_DAYS,
        seconds: ANSWER_S + Math.ceil(believeMs / 1000),
      },
    ];
  });
}

/** The sensor that a row needs, that it is about, or the float of its vessel that stands highest. */
function movedFor(plant: Plant, { needs, key }: Row): string {
  const subject = key.split('/')[1] ?? '';
  const floats = plant.vessels[subject]?.floats ?? {};
  return needs[0] ?? floats.high ?? floats.overflow ?? floats.low ?? subject;
}

/** Ids of the rows that nobody can try by moving something. */
export function untried(plant: Plant): readonly string[] {
  return [...new Set(deriveRows(plant).flatMap(({ id, proof }) => (proof === null ? [id] : [])))].toSorted();
}
