// Beyond practical salinity's 42, against formulas that the product does not have: the density of Sharqawy, Lienhard & Zubair 2010
// (Desalination and Water Treatment 16, 354-380, eq. 8; to 160 g/kg, +-0.1 %; from memory), and waters added up by mass.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { evaluate } from '../../src/calc/evaluate.ts';
import { brineDensity } from '../../src/engineering/properties.ts';
import { OutOfRange } from '../../src/engineering/range.ts';
import { freshWaterToDiluteL, salinityByDilution, waterToReplaceL } from '../../src/engineering/salting.ts';

/** kg/m3; salinity of mass in kg/kg, degC. */
function sharqawy(salinity: number, t: number): number {
  const s = (salinity * 35.16504) / 35 / 1000;
  const water = 999.9 + 2.034e-2 * t - 6.162e-3 * t ** 2 + 2.261e-5 * t ** 3 - 4.657e-8 * t ** 4;
  const salt =
    802 * s - 2.001 * s * t + 1.677e-2 * s * t ** 2 - 3.06e-5 * s * t ** 3 - 1.613e-5 * (s * t) ** 2;
  return water + salt;
}

// Not to the very end of the range: the other density differs by 0.1 %.
const TOO_SALT = fc.double({ min: 42, max: 118, noNaN: true });
const CELSIUS = fc.double({ min: 5, max: 35, noNaN: true });
const LITRES = fc.double({ min: 0.1, max: 2000, noNaN: true });

describe('brine', () => {
  test('its density is that of another formula within 0.1 %, from 0 to 119 and 5 to 35 degC', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 119, noNaN: true }), CELSIUS, (salinity, celsius) => {
        const other = sharqawy(salinity, celsius);
        expect(Math.abs(brineDensity(salinity, celsius) / other - 1)).toBeLessThan(0.0012);
      }),
    );
  });

  test('its two formulas meet at 42 within 0.02 kg/m3, and it rises from there', () => {
    for (const celsius of [0, 10, 20, 30, 40]) {
      const step = brineDensity(42.000001, celsius) - brineDensity(42, celsius);
      expect(Math.abs(step)).toBeLessThan(0.02);
      expect(brineDensity(60, celsius)).toBeGreaterThan(brineDensity(42, celsius) + 10);
    }
    expect(() => brineDensity(120, 20)).toThrow(OutOfRange);
  });

  test('fresh water put to it brings it to the target, by mass', () => {
    fc.assert(
      fc.property(TOO_SALT, CELSIUS, LITRES, (salinity, celsius, litres) => {
        const waterL = freshWaterToDiluteL(litres, salinity, 35, celsius);
        const brineKg = (litres * sharqawy(salinity, celsius)) / 1000;
        const mixed = (salinity * brineKg) / (brineKg + (waterL * sharqawy(0, celsius)) / 1000);
        expect(mixed).toBeCloseTo(35, 1);
      }),
    );
  });

  test('water drawn off and replaced brings it to the target in the same volume, by mass', () => {
    fc.assert(
      fc.property(TOO_SALT, CELSIUS, LITRES, (salinity, celsius, litres) => {
        const drawnL = waterToReplaceL(litres, salinity, 35, celsius);
        expect(drawnL).toBeLessThan(litres);
        const leftKg = ((litres - drawnL) * sharqawy(salinity, celsius)) / 1000;
        const mixed = (salinity * leftKg) / (leftKg + (drawnL * sharqawy(0, celsius)) / 1000);
        expect(mixed).toBeCloseTo(35, 1);
      }),
    );
  });

  test('a sample that was thinned by a known share is found again', () => {
    fc.assert(
      fc.property(
        TOO_SALT,
        CELSIUS,
        fc.double({ min: 3, max: 20, noNaN: true }),
        (salinity, celsius, parts) => {
          const brineKg = sharqawy(salinity, celsius) / 1000;
          const thinned = (salinity * brineKg) / (brineKg + (parts * sharqawy(0, celsius)) / 1000);
          expect(salinityByDilution(1, parts, thinned, celsius) / salinity).toBeCloseTo(1, 2);
        },
      ),
    );
  });

  test('calc: 70 of 50 L is thinned, replaced, and measured in a sample of one part in three', () => {
    const vat = {
      volume: '50 L',
      presentPracticalSalinity: '70 PSU',
      targetPracticalSalinity: '35 PSU',
      temperature: '20 degC',
    };
    // 50 L of 1.0513 kg/L hold 3.697 kg of salts: 52.66 L of water of 0.9982 kg/L make twice the mass.
    expect(evaluate('fresh-water-to-dilute', vat).value).toBeCloseTo(52.7, 0);
    expect(evaluate('water-to-replace', vat).value).toBeCloseTo(25.6, 0);
    const sample = { sampleVolume: '100 mL', waterVolume: '200 mL', temperature: '20 degC' };
    const found = evaluate('salinity-by-dilution', { ...sample, thinnedPracticalSalinity: '24.2 PSU' });
    expect(found.value).toBeGreaterThan(68);
    expect(found.value).toBeLessThan(71);
    const thinner = { ...sample, waterVolume: '300 mL', thinnedPracticalSalinity: '42 PSU' };
    expect(() => evaluate('salinity-by-dilution', thinner)).toThrow(/outside/u);
  });
});
