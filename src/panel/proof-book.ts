// What came of the last proof test of each row, and who did it. The core forgets a test the moment it ends; whoever moved
// the float still looks at the page then.
import type { Message } from '../language/message.ts';
import type { Turn } from './turn.ts';

export interface ProofOutcome {
  readonly row: string;
  readonly atMs: number;
  readonly who: string;
  /** Null: it ended without a result. */
  readonly passed: boolean | null;
  /** What was seen, in the core's words; empty where only the journal knows of it. */
  readonly words: Message | string;
  /** From the contact's word to the row's answer; null where there was no answer, or nobody wrote it down. */
  readonly seconds: number | null;
}

export interface ProofBook {
  readonly observe: (turn: Pick<Turn, 'state' | 'effects' | 'atMs'>) => void;
  /** By row. */
  readonly all: () => Readonly<Record<string, ProofOutcome>>;
}

/** @param kept any number for a row: the newest counts */
export function proofBook(kept: readonly ProofOutcome[] = []): ProofBook {
  const sorted = kept.toSorted((a, b) => a.atMs - b.atMs);
  let last: Readonly<Record<string, ProofOutcome>> = Object.fromEntries(sorted.map((one) => [one.row, one]));
  let running: { readonly row: string; readonly who: string } | null = null;
  const note = (outcome: ProofOutcome): void => {
    last = { ...last, [outcome.row]: outcome };
  };
  return {
    observe: ({ state, effects, atMs }) => {
      let hasResult = false;
      for (const effect of effects) {
        if (effect.do !== 'proof-test') continue;
        hasResult = true;
        const { row, who, passed, seen, seconds } = effect;
        note({ row, atMs, who, passed, words: seen, seconds });
      }
      const { test } = state.proofs;
      if (running !== null && test?.row !== running.row && !hasResult) {
        const told = effects.find((effect) => effect.do === 'record' && effect.about === 'proof-test');
        const words = told?.do === 'record' ? told.words : '';
        note({ ...running, atMs, passed: null, words, seconds: null });
      }
      running = test === null ? null : { row: test.row, who: test.who };
    },
    all: () => last,
  };
}
