import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CATALOGUE, SUBJECTS } from '../../src/calc/catalogue.ts';
import { type Input, isChoice, isTable, type QuantityInput } from '../../src/calc/entry.ts';
import { CalcError, evaluate } from '../../src/calc/evaluate.ts';
import { acceptedUnits } from '../../src/units/quantity.ts';

function quantities(): [string, string, QuantityInput][] {
  return [...CATALOGUE].flatMap(([name, entry]) =>
    Object.entries(entry.inputs).flatMap(([inputName, input]): [string, string, QuantityInput][] =>
      isTable(input) || isChoice(input) ? [] : [[name, inputName, input]],
    ),
  );
}

describe('the catalogue', () => {
  it('has no name twice, and every name in lower case with hyphens', () => {
    const names = Object.values(SUBJECTS).flatMap((subject) => Object.keys(subject));
    expect(new Set(names).size).toBe(names.length);
    expect(names.filter((name) => !/^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/u.test(name))).toEqual([]);
  });

  it('gives every input and result a unit of its dimension', () => {
    for (const [, , input] of quantities()) expect(acceptedUnits(input.dimension)).toContain(input.unit);
    for (const entry of CATALOGUE.values()) expect(acceptedUnits(entry.dimension)).toContain(entry.unit);
  });

  it('writes every range in the unit of its input', () => {
    const wrong = quantities().filter(
      ([, , input]) => input.range !== undefined && input.range.unit !== input.unit,
    );
    expect(wrong.map(([name, inputName]) => `${name} ${inputName}`)).toEqual([]);
  });

  it('gives every number a range, so that nothing is extrapolated', () => {
    expect(quantities().filter(([, , input]) => input.range === undefined)).toEqual([]);
  });

  it('names a source for every quantity', () => {
    for (const [name, { source }] of CATALOGUE) expect([name, source.length > 5]).toEqual([name, true]);
  });
});

function drawn(input: Input): fc.Arbitrary<unknown> {
  if (isChoice(input)) return fc.constantFrom(...input.choices);
  if (isTable(input)) {
    const cells = Object.values(input.columns).map(({ unit }) =>
      fc.double({ min: 0, max: 3, noNaN: true }).map((value) => ({ value, unit })),
    );
    return fc.array(fc.tuple(...cells), { maxLength: 5 });
  }
  const { least = 0, most = 1 } = input.range ?? {};
  // Both ends, nothing, and everything between, small values as often as large ones.
  const value = fc.oneof(
    fc.constantFrom(least, most, 0),
    fc.double({ min: least, max: most, noNaN: true }),
    fc.double({ min: Math.log(1e-6), max: Math.log(Math.max(2e-6, most)), noNaN: true }).map(Math.exp),
    fc.constant(5e-324),
  );
  return value.map((drawnValue) => ({ value: drawnValue, unit: input.unit }));
}

describe('every quantity', () => {
  for (const [name, entry] of CATALOGUE) {
    it(`${name} gives a finite number, or none with a reason, or a refusal; never NaN`, () => {
      const inputs = fc.record(
        Object.fromEntries(
          Object.entries(entry.inputs).map(([inputName, input]) => [inputName, drawn(input)]),
        ),
      );
      fc.assert(
        fc.property(inputs, (given) => {
          try {
            const { value, note } = evaluate(name, given);
            if (value === null) expect(note).toMatch(/\w/u);
            else expect(Number.isFinite(value)).toBe(true);
          } catch (error) {
            if (!(error instanceof CalcError)) throw error;
            expect(error.message).not.toMatch(/NaN|Infinity|undefined|result of/u);
          }
        }),
        { numRuns: 150 },
      );
    });

    it(`${name} refuses when any of its inputs without a default is left out, and names it`, () => {
      for (const [inputName, input] of Object.entries(entry.inputs)) {
        if (!isTable(input) && !isChoice(input) && input.default !== undefined) continue;
        const others = Object.fromEntries(
          Object.entries(entry.inputs)
            .filter(([other]) => other !== inputName)
            .map(([other, otherInput]) => [other, fc.sample(drawn(otherInput), { numRuns: 1, seed: 1 })[0]]),
        );
        expect(() => evaluate(name, others)).toThrow(CalcError);
        expect(() => evaluate(name, { ...others, [inputName]: 'nonsense' })).toThrow(CalcError);
      }
    });
  }
});

describe('tables', () => {
  const pipe = {
    staticHead: '1 m',
    pipeLength: '5 m',
    pipeDiameter: '25 mm',
    roughness: '0.0015 mm',
    minorLossCoefficient: 6,
    kinematicViscosity: '1e-6 m2/s',
  };
  const flow = (pumpCurve: unknown) => evaluate('pump-operating-flow', { ...pipe, pumpCurve }).value;

  it('mean the same as text and as either form of JSON', () => {
    const text = flow('0 L/h:4 m, 60 L/min:0 m');
    expect(text).toBeGreaterThan(10);
    expect(
      flow([
        { flow: { value: 0, unit: 'L/min' }, head: { value: 4, unit: 'm' } },
        { flow: '3600 L/h', head: '0 m' },
      ]),
    ).toBe(text);
    expect(
      flow([
        ['0 L/min', '400 cm'],
        ['1 L/s', '0 m'],
      ]),
    ).toBe(text);
  });

  it.each<[unknown, string]>([
    ['0 L/min, 60 L/min:0 m', 'pumpCurve, row 1 has 1 of 2 values'],
    ['0 L/min:4 m, 60 L/min:0', "pumpCurve, row 2, head: '0' has no unit"],
    ['0 L/min:4 m', 'at least two points'],
    [[{ flow: '0 L/min' }], 'pumpCurve, row 1, head'],
    [12, 'pumpCurve is no table'],
  ])('are refused as %j with the row and the column', (pumpCurve, mend) => {
    expect(() => flow(pumpCurve)).toThrow(mend);
  });

  it('of one column may list their values bare', () => {
    const yields = ['0.84 kg/kg', { value: 85, unit: '%' }, { yield: '0.86 kg/kg' }];
    expect(evaluate('learned-yield', { yields }).value).toBeCloseTo(0.85, 12);
    expect(evaluate('learned-yield', { yields: '0.84 1, 85 %' }).note).toBe('2 of at least 3 batches');
  });
});
