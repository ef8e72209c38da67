// The ways this arithmetic is commonly got wrong, each with what the mistake costs.
import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  linearlyCompensated,
  practicalSalinityFromLinear,
  seawaterCompensated,
} from '../../src/engineering/compensation.ts';
import { heatingTime } from '../../src/engineering/heat.ts';
import { pipesInSeries } from '../../src/engineering/hydraulics.ts';
import { curveFromPoints, operatingPoint } from '../../src/engineering/pump.ts';
import { permeateTemperatureDivisor, purifierOutput } from '../../src/engineering/purification.ts';
import { OutOfRange } from '../../src/engineering/range.ts';
import { ASTM_D1141_G_PER_L, KESTER_1967, recipeYield, total } from '../../src/engineering/recipes.ts';
import { saltMassKg } from '../../src/engineering/salting.ts';
import {
  conductivityMsPerCm,
  practicalSalinity,
  practicalSalinityFromReferenceSalinity,
  practicalSalinityFromRelativeDensity,
  referenceSalinityGPerKg,
  relativeDensity,
  saltConcentrationMgPerL,
  seawaterDensity,
} from '../../src/engineering/seawater.ts';
import { readQuantity } from '../../src/units/quantity.ts';

describe('the two temperature scales', () => {
  it('differ by 0.005 in salinity at 25 degC, and ours is ITS-90', () => {
    const conductivity = conductivityMsPerCm(35, 25);
    // Whoever gives PSS-78 a probe's 25 degC as IPTS-68 evaluates at 25/1.00024 on our scale.
    const mistaken = practicalSalinity(conductivity, 25 / 1.00024);
    expect(mistaken - 35).toBeGreaterThan(0.004);
    expect(mistaken - 35).toBeLessThan(0.006);
  });

  it('make standard seawater 35 at 14.9964 degC and 34.9968 at 15 degC', () => {
    expect(practicalSalinity(42.914, 15 / 1.00024)).toBeCloseTo(35, 6);
    expect(practicalSalinity(42.914, 15)).toBeCloseTo(34.9968, 4);
  });
});

describe('a compensated reading', () => {
  it('of seawater compensation is evaluated at 25 degC and gives the salinity of the water', () => {
    const shown = seawaterCompensated(conductivityMsPerCm(35, 15), 15);
    expect(practicalSalinity(shown, 25)).toBeCloseTo(35, 6);
  });

  it('evaluated at the temperature of the water is wrong by a quarter at 15 degC', () => {
    const shown = seawaterCompensated(conductivityMsPerCm(33, 15), 15);
    expect(practicalSalinity(shown, 15) / 33 - 1).toBeGreaterThan(0.24);
    const standard = seawaterCompensated(conductivityMsPerCm(35, 15), 15);
    expect(() => practicalSalinity(standard, 15)).toThrow(OutOfRange);
  });

  it('along the straight line of 2 %/K is 1 % off seawater at 15 degC and right when its line is undone', () => {
    const true15 = conductivityMsPerCm(35, 15);
    const shown = linearlyCompensated(true15, 15, 0.02);
    const excess = shown / seawaterCompensated(true15, 15) - 1;
    expect(excess).toBeGreaterThan(0.0105);
    expect(excess).toBeLessThan(0.0113);
    expect(practicalSalinityFromLinear(shown, 15, 0.02)).toBeCloseTo(35, 9);
  });
});

describe('specific gravity 1.0264', () => {
  const sixtyF = readQuantity('60 degF', 'temperature');
  it.each([
    ['25/25', 25, 25, 35.03],
    ['20/20', 20, 20, 34.73],
    ['60F/60F', sixtyF, sixtyF, 34.4],
    ['25/4', 25, 4, 39.0],
  ])('is as %s (sample %d, water %d degC) salinity %d', (_label, sample, reference, salinity) => {
    expect(practicalSalinityFromRelativeDensity(1.0264, sample, reference)).toBeCloseTo(salinity, 1);
  });

  it('is refused where no salinity has it, with the values that do', () => {
    expect(() => practicalSalinityFromRelativeDensity(1.045, 25, 25)).toThrow(
      /relative density is 1.045, outside/u,
    );
  });
});

describe('salt by mass and by volume', () => {
  it('differ by 2.3 % at salinity 35: 35.2 g/kg is 36.0 g/L', () => {
    expect(referenceSalinityGPerKg(35)).toBeCloseTo(35.165, 3);
    expect(saltConcentrationMgPerL(35, 25) / 1000).toBeCloseTo(35.99, 2);
  });

  it('are refused for one another by the unit alone', () => {
    expect(() => readQuantity('36 g/L', 'mass-salinity')).toThrow(/mass concentration/u);
    expect(() => readQuantity('35 g/kg', 'mass-concentration')).toThrow(/mass salinity/u);
  });

  it('make a litre of ASTM D1141 (36.03 g/L) and a kilogram of Kester (35.17 g/kg) the same sea near 35', () => {
    const astm = (total(ASTM_D1141_G_PER_L, 'anhydrousG') / seawaterDensity(35, 25)) * 1000;
    const kester = total(KESTER_1967, 'anhydrousG');
    expect(practicalSalinityFromReferenceSalinity(astm)).toBeCloseTo(35, 0);
    expect(practicalSalinityFromReferenceSalinity(kester)).toBeCloseTo(35, 1);
    expect(Math.abs(astm - kester)).toBeLessThan(0.1);
  });
});

describe('correction tables of membranes', () => {
  it('divide, and ours says so: cold water gives less, so the divisor is above 1 below 25 degC', () => {
    expect(permeateTemperatureDivisor(15)).toBeGreaterThan(1);
    expect(permeateTemperatureDivisor(25)).toBe(1);
    expect(permeateTemperatureDivisor(30)).toBeLessThan(1);
  });

  it('differ by 3 to 8 % at 15 degC between membranes, which is why K is an input', () => {
    const ours = permeateTemperatureDivisor(15);
    // An older supplier's divisor, and a US Army manual's multiplier at 59 degF (TM 10-4610-309-14, table 3).
    expect(1.47 / ours - 1).toBeGreaterThan(0.03);
    expect(1 - 1 / 0.76 / ours).toBeGreaterThan(0.07);
  });

  it('are reproduced by another K: the US Army manual has 0.66, 0.76 and 0.86 at 50, 59 and 67 degF', () => {
    const constantK = 2290;
    for (const [temperature, multiplier] of [
      ['50 degF', 0.66],
      ['59 degF', 0.76],
      ['67 degF', 0.86],
    ] as const) {
      const divisor = permeateTemperatureDivisor(readQuantity(temperature, 'temperature'), constantK);
      expect(1 / divisor).toBeCloseTo(multiplier, 1);
    }
  });
});

describe('hydrated salt', () => {
  it('brings its own water: the Kester mix needs about 17 % more product than its dry salts', () => {
    expect(recipeYield(KESTER_1967)).toBeCloseTo(0.8514, 4);
    const weighed = total(KESTER_1967, 'weighedG') / total(KESTER_1967, 'anhydrousG');
    expect(weighed - 1).toBeCloseTo(0.1746, 3);
  });

  it('needs a little more than the yield says, for its water must be salted too', () => {
    const ratio = saltMassKg(200, 0, 35, 25, recipeYield(KESTER_1967)) / saltMassKg(200, 0, 35, 25, 1);
    expect(ratio).toBeGreaterThan(1 / recipeYield(KESTER_1967));
    expect(ratio).toBeLessThan(1.19);
  });
});

describe('no solution', () => {
  it('of a heater too weak is an answer that names where the water settles', () => {
    expect(heatingTime(400, 35, 12, 26, 50, 10, 14)).toEqual({ kind: 'never', settlesAtC: 19 });
  });

  it('of a heater that would only just settle at the target is never, not infinite', () => {
    expect(heatingTime(400, 35, 12, 26, 120, 10, 14)).toEqual({ kind: 'never', settlesAtC: 26 });
  });

  it('of a vat without loss and a target below is never, with nowhere to settle', () => {
    expect(heatingTime(400, 35, 20, 15, 100, 0, 14)).toEqual({ kind: 'never', settlesAtC: null });
  });

  it('of a pump too low is an answer that names both heads', () => {
    const pipe = { lengthM: 10, diameterMm: 25, roughnessMm: 0.0015, minorLossCoefficient: 6 };
    const curve = curveFromPoints([
      { flowLpm: 0, headM: 3 },
      { flowLpm: 60, headM: 0 },
    ]);
    const loss = pipesInSeries([pipe], 1.004e-6);
    expect(operatingPoint(curve, 3, loss)).toEqual({
      kind: 'cannot reach',
      shutoffHeadM: 3,
      staticHeadM: 3,
    });
    expect(operatingPoint(curve, -20, loss)).toEqual({ kind: 'beyond the curve', lastFlowLpm: 60 });
  });

  it('of a line below the osmotic pressure is no output', () => {
    expect(purifierOutput(12, 400, -5, 15)).toEqual({ kind: 'no output', drivingKpa: -5 });
  });
});

describe('the joint at salinity 2', () => {
  it('has no step: both sides meet within a millionth at every temperature', () => {
    fc.assert(
      fc.property(fc.double({ min: -2, max: 35, noNaN: true }), (temperature) => {
        const at2 = conductivityMsPerCm(2, temperature);
        const step = practicalSalinity(at2 + 1e-9, temperature) - practicalSalinity(at2 - 1e-9, temperature);
        expect(Math.abs(step)).toBeLessThan(1e-6);
      }),
    );
  });
});

describe('relative density without its temperatures', () => {
  it('is no number: for one water the usual four pairs span 0.0035', () => {
    const readings = [
      relativeDensity(35, 25, 25),
      relativeDensity(35, 20, 20),
      relativeDensity(35, 25, 4),
      relativeDensity(35, 20, 4),
    ];
    expect(Math.max(...readings) - Math.min(...readings)).toBeGreaterThan(0.003);
  });
});
