import { describe, expect, it } from 'vitest';
import { CATALOGUE } from '../../src/calc/catalogue.ts';
import { evaluate } from '../../src/calc/evaluate.ts';
import { allowance, PUBLIC_CASES, writeTolerance } from '../reference/cases.ts';

describe('the contract of calc', () => {
  for (const oneCase of PUBLIC_CASES) {
    const { id, quantity, inputs, expected, source } = oneCase;
    const within = writeTolerance(oneCase);
    it(`${id}: ${quantity} is ${expected.value} within ${within} (${source.citation}; ${source.kind})`, () => {
      const answer = evaluate(quantity, inputs);
      expect(answer.unit).toBe(expected.unit);
      expect(Math.abs((answer.value as number) - expected.value)).toBeLessThanOrEqual(allowance(oneCase));
    });
  }

  it('names every quantity and every input of the 194 cases as they do', () => {
    expect(PUBLIC_CASES).toHaveLength(194);
    for (const { quantity, inputs } of PUBLIC_CASES) {
      const known = Object.keys(CATALOGUE.get(quantity)?.inputs ?? {});
      expect(Object.keys(inputs).filter((name) => !known.includes(name))).toEqual([]);
    }
  });
});
