import { describe, expect, it } from 'vitest';
import { OutOfRange } from '../../src/engineering/range.ts';
import { allowance, WIDER_CASES, writeTolerance } from '../reference/cases.ts';
import { MAP, PRINTED_DIGITS, REFUSED, UNMAPPED } from '../reference/wider-map.ts';

describe('published values', () => {
  for (const oneCase of WIDER_CASES) {
    const answer = MAP[oneCase.quantity];
    if (answer === undefined) continue;
    const { id, quantity, expected, source } = oneCase;
    const title = `${id}: ${quantity}`;
    if (id in REFUSED) {
      it(`${title} is refused: ${REFUSED[id]}`, () => {
        expect(() => answer(oneCase)).toThrow(OutOfRange);
      });
      continue;
    }
    const digits = PRINTED_DIGITS[id];
    if (digits !== undefined) {
      it(`${title} is ${expected.value} in all ${digits} printed digits (${source.citation}; ${source.kind})`, () => {
        expect(Number(answer(oneCase).toPrecision(digits))).toBe(expected.value);
      });
      continue;
    }
    it(`${title} is ${expected.value} within ${writeTolerance(oneCase)} (${source.citation}; ${source.kind})`, () => {
      expect(Math.abs(answer(oneCase) - expected.value)).toBeLessThanOrEqual(allowance(oneCase));
    });
  }
});

describe('the list of published values', () => {
  const quantities = [...new Set(WIDER_CASES.map(({ quantity }) => quantity))];

  it('has no quantity that is neither answered nor excused', () => {
    expect(quantities.filter((quantity) => !(quantity in MAP) && !(quantity in UNMAPPED))).toEqual([]);
  });

  it('excuses and maps nothing that it does not hold', () => {
    const named = [...Object.keys(MAP), ...Object.keys(UNMAPPED)];
    expect(named.filter((quantity) => !quantities.includes(quantity))).toEqual([]);
    const ids = WIDER_CASES.map(({ id }) => id);
    expect(Object.keys(REFUSED).filter((id) => !ids.includes(id))).toEqual([]);
  });

  it('leaves out at most six cases of 290', () => {
    const excused = WIDER_CASES.filter(({ quantity }) => quantity in UNMAPPED);
    expect(WIDER_CASES).toHaveLength(290);
    expect(excused.length).toBeLessThanOrEqual(6);
  });
});
