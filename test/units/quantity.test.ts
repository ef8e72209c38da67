import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  acceptedSpellings,
  acceptedUnits,
  DIMENSIONS,
  type Dimension,
  houseUnit,
  nearestSpelling,
  parseQuantity,
  quantity,
  readQuantity,
  toUnit,
  UnitError,
  writeQuantity,
} from '../../src/units/quantity.ts';

function refusal(act: () => unknown): UnitError {
  try {
    act();
  } catch (error) {
    if (error instanceof UnitError) return error;
    throw error;
  }
  throw new Error('was accepted');
}

describe('reading', () => {
  it.each<[string, Dimension, number]>([
    ['240 L', 'volume', 240],
    ['240L', 'volume', 240],
    ['250 mL', 'volume', 0.25],
    ['1.2 m3', 'volume', 1200],
    ['90 L/h', 'flow', 1.5],
    ['77 degF', 'temperature', 25],
    ['77 °F', 'temperature', 25],
    ['288.15 K', 'temperature', 15],
    ['1 K', 'temperature-difference', 1],
    ['1 degC', 'temperature-difference', 1],
    ['9 degF', 'temperature-difference', 5],
    ['4.1 bar', 'pressure', 410],
    ['2 ft', 'length', 609.6],
    ['5 d', 'duration', 432_000_000],
    ['90 s', 'duration', 90_000],
    ['1.5 h', 'duration', 5_400_000],
    ['53.07 mS/cm', 'conductivity', 53.07],
    ['10 uS/cm', 'conductivity', 0.01],
    ['10 µS/cm', 'conductivity', 0.01],
    ['4.2914 S/m', 'conductivity', 42.914],
    ['35 PSU', 'practical-salinity', 35],
    ['35 1', 'practical-salinity', 35],
    ['35 ppt', 'mass-salinity', 35],
    ['20 %', 'ratio', 0.2],
    ['0.95 kg/kg', 'ratio', 0.95],
    ['1.9 %/K', 'per-temperature', 0.019],
    ['3.6 MJ', 'energy', 1],
    ['-2 degC', 'temperature', -2],
    ['+1e3 mm', 'length', 1000],
    ['8', 'number', 8],
  ])('%s as %s is %d in the house unit', (text, dimension, expected) => {
    expect(readQuantity(text, dimension)).toBe(expected);
  });

  it('tells the day from the degree and the metre from the minute', () => {
    expect(parseQuantity('5 d')).toEqual({ value: 5, unit: 'd', dimension: 'duration' });
    expect(parseQuantity('5 degC').dimension).toBe('temperature');
    expect(parseQuantity('5 m').dimension).toBe('length');
    expect(parseQuantity('5 min').dimension).toBe('duration');
  });

  it('keeps a temperature and a temperature difference apart for the same text', () => {
    expect(readQuantity('1 K', 'temperature')).toBeCloseTo(-272.15, 12);
    expect(readQuantity('1 K', 'temperature-difference')).toBe(1);
  });
});

describe('factors', () => {
  // NIST SP 811 (2008), appendix B.8 and B.9, as printed there.
  it.each<[string, Dimension, string, number, number]>([
    ['1 gal', 'volume', 'L', 3.785412, 5e-7],
    ['1 impgal', 'volume', 'L', 4.54609, 1e-12],
    ['1 gal/d', 'flow', 'L/min', 4.381264e-8 * 60_000, 1e-9],
    ['1 psi', 'pressure', 'kPa', 6.894757, 5e-7],
    ['1 lbf/ft2', 'pressure', 'kPa', 0.04788026, 5e-9],
    ['1 ft', 'length', 'm', 0.3048, 1e-12],
    ['1 lb', 'mass', 'kg', 0.45359237, 1e-12],
    ['1 lb/ft3', 'density', 'kg/m3', 16.01846, 5e-6],
    ['1 kWh', 'energy', 'MJ', 3.6, 1e-12],
    ['1 in2', 'area', 'm2', 6.4516e-4, 1e-16],
    ['1 ft2/s', 'kinematic-viscosity', 'm2/s', 9.290304e-2, 1e-15],
  ])('%s (%s) is the figure NIST SP 811 prints in %s', (text, dimension, unit, expected, within) => {
    expect(Math.abs(toUnit(parseQuantity(text, dimension), unit) - expected)).toBeLessThanOrEqual(within);
  });

  const everyUnit = DIMENSIONS.flatMap((dimension) =>
    acceptedSpellings(dimension).map((unit) => ({ dimension, unit })),
  );

  it('returns every value unchanged after a trip to the house unit and back, in every unit', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...everyUnit),
        fc.double({ min: 0, max: 1e9, noNaN: true }),
        ({ dimension, unit }, value) => {
          const house = toUnit(quantity(value, unit, dimension), houseUnit(dimension));
          const back = toUnit(quantity(house, houseUnit(dimension), dimension), unit);
          // The offset of a temperature scale costs absolute digits; a pure factor costs none but the last.
          expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-12 * Math.max(1000, Math.abs(value)));
        },
      ),
      { numRuns: 2000 },
    );
  });

  it('writes what it reads', () => {
    fc.assert(
      fc.property(fc.constantFrom(...everyUnit), fc.integer({ min: 1, max: 9999 }), (row, value) => {
        const house = readQuantity(`${value} ${row.unit}`, row.dimension);
        expect(readQuantity(writeQuantity(house, row.dimension, row.unit), row.dimension)).toBeCloseTo(
          house,
          6,
        );
      }),
    );
    expect(writeQuantity(0.2, 'ratio', '%')).toBe('20 %');
  });

  it('keeps the order of values in every unit', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...everyUnit),
        fc.nat(1e6),
        fc.integer({ min: 1, max: 1e6 }),
        (row, low, more) => {
          const read = (value: number) =>
            toUnit(quantity(value, row.unit, row.dimension), houseUnit(row.dimension));
          expect(read(low)).toBeLessThan(read(low + more));
        },
      ),
    );
  });
});

describe('refusing', () => {
  it('refuses a bare number and shows how to write it', () => {
    const error = refusal(() => readQuantity('240', 'volume'));
    expect(error.message).toBe("'240' has no unit: write it in L, mL, m3, gal, impgal, for example '240 L'");
  });

  it('names the unit found, the units accepted and the nearest spelling', () => {
    const error = refusal(() => readQuantity('240 litres', 'volume'));
    expect(error.found).toBe('litres');
    expect(error.accepted).toEqual(acceptedUnits('volume'));
    expect(error.suggestion).toBe('L');
    expect(error.message).toBe(
      "unknown unit 'litres': volume is given in L, mL, m3, gal, impgal (did you mean 'L'?)",
    );
  });

  it.each<[string, Dimension, string]>([
    ['2 gpm', 'flow', 'gal/min'],
    ['2 L/mn', 'flow', 'L/min'],
    ['25 C', 'temperature', 'degC'],
    ['25 degc', 'temperature', 'degC'],
    ['53 mS/m2', 'conductivity', 'mS/m'],
    ['35 psu', 'practical-salinity', 'PSU'],
    ['3 hours', 'duration', 'h'],
    ['1 Kpa', 'pressure', 'kPa'],
  ])('mends %s as %s to %s', (text, dimension, mend) => {
    expect(refusal(() => readQuantity(text, dimension)).suggestion).toBe(mend);
  });

  it('says what the unit does measure when it belongs to something else', () => {
    const error = refusal(() => readQuantity('35 ppt', 'practical-salinity'));
    expect(error.message).toContain("'ppt' is a unit of mass salinity");
  });

  it('never takes litres for grams: g/L is refused where g/kg is meant', () => {
    expect(refusal(() => readQuantity('35 g/L', 'mass-salinity')).message).toContain('mass concentration');
  });

  it.each(['NaN L', 'Infinity L', '1e400 L', 'L', '', 'twelve L', '- 3 L'])(
    'refuses %j as a volume',
    (text) => {
      refusal(() => readQuantity(text, 'volume'));
    },
  );

  it.each(['2,400 L', '5,5 L', '1.000.000 L'])('refuses %s, whose separators have two meanings', (text) => {
    expect(refusal(() => readQuantity(text, 'volume')).message).toContain('nothing between thousands');
  });

  it('refuses values that are not finite when value and unit are already apart', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      refusal(() => quantity(value, 'L', 'volume'));
    }
  });

  it('refuses a temperature below absolute zero but not a difference of the same size', () => {
    refusal(() => readQuantity('-300 degC', 'temperature'));
    expect(readQuantity('-300 K', 'temperature-difference')).toBe(-300);
  });

  it('refuses any text that ends in an unknown unit, and never returns NaN', () => {
    fc.assert(
      fc.property(fc.string(), fc.constantFrom(...DIMENSIONS), (text, dimension) => {
        try {
          expect(Number.isFinite(readQuantity(text, dimension))).toBe(true);
        } catch (error) {
          expect(error).toBeInstanceOf(UnitError);
        }
      }),
    );
  });

  it('offers no spelling when nothing is near', () => {
    expect(nearestSpelling('bananas', acceptedUnits('pressure'))).toBeUndefined();
  });
});
