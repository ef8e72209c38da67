import { describe, expect, it } from 'vitest';
import {
  conductivityFromSalinity,
  densityKgPerL,
  salinityFromConductivity,
} from '../../src/simulate/seawater.ts';
import { allowance, PUBLIC_CASES } from '../reference/cases.ts';

const numberIn = (input: unknown) => (input as { value: number }).value;
const casesOf = (quantity: string) => PUBLIC_CASES.filter((row) => row.quantity === quantity);

describe("the judge's own seawater", () => {
  it.each(casesOf('practical-salinity'))(
    'has the published practical salinity: $id, $source.citation',
    (row) => {
      const found = salinityFromConductivity(
        numberIn(row.inputs.conductivity),
        numberIn(row.inputs.temperature),
      );
      expect(Math.abs(found - row.expected.value)).toBeLessThanOrEqual(allowance(row));
    },
  );

  it.each(casesOf('conductivity'))('has the published conductivity: $id, $source.citation', (row) => {
    const { practicalSalinity, temperature } = row.inputs;
    const found = conductivityFromSalinity(numberIn(practicalSalinity), numberIn(temperature));
    expect(Math.abs(found - row.expected.value)).toBeLessThanOrEqual(allowance(row));
  });

  it.each(casesOf('seawater-density'))('has the published density: $id, $source.citation', (row) => {
    const { practicalSalinity, temperature } = row.inputs;
    const found = 1000 * densityKgPerL(numberIn(practicalSalinity), numberIn(temperature));
    expect(Math.abs(found - row.expected.value)).toBeLessThanOrEqual(allowance(row));
  });

  it('finds no case left out', () => {
    expect(casesOf('practical-salinity').length).toBe(29);
    expect(casesOf('conductivity').length).toBe(19);
    expect(casesOf('seawater-density').length).toBe(23);
  });

  it('comes back to the same salinity from its own conductivity, from 0.1 to 42 and 5 to 35 degC', () => {
    for (let salinity = 0.1; salinity < 42; salinity += 0.7) {
      for (let temperatureC = 5; temperatureC <= 35; temperatureC += 5) {
        // Within 0.001 of 2 the scale steps by less than 0.0005 where the low extension begins.
        const back = salinityFromConductivity(conductivityFromSalinity(salinity, temperatureC), temperatureC);
        expect(Math.abs(back - salinity)).toBeLessThan(Math.abs(salinity - 2) < 0.01 ? 5e-4 : 1e-9);
      }
    }
  });
});
