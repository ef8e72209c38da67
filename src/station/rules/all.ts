import type { Mistake } from '../problem.ts';
import type { Sketch } from '../sketch.ts';
import { danglingReferences } from './references.ts';

/** What one kind of slip looks like. Reads the sketch, and says nothing about what it can't see. */
export type Rule = (sketch: Sketch) => Iterable<Mistake>;

export const RULES: readonly Rule[] = [danglingReferences];

export function mistakesAgainstSense(sketch: Sketch): Mistake[] {
  return RULES.flatMap((rule) => [...rule(sketch)]);
}
