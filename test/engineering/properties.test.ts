// What must hold for every input, not only for the published ones.
import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  linearlyCompensated,
  linearlyUncompensated,
  seawaterCompensated,
  seawaterUncompensated,
} from '../../src/engineering/compensation.ts';
import {
  afterExchange,
  changesNeeded,
  concentrationAfterMgPerL,
  driftedContents,
  equalShare,
  settledPeakMgPerL,
  soluteRemainingBatch,
  soluteRemainingContinuous,
  soluteRemainingFillFirst,
  volumesNeeded,
} from '../../src/engineering/exchange.ts';
import {
  heatCapacityJPerK,
  heaterPowerW,
  temperatureAfterC,
  warmedVolumeL,
  warmingTime,
} from '../../src/engineering/heat.ts';
import { darcyFrictionFactor, pipeHeadLossM, pipesInSeries } from '../../src/engineering/hydraulics.ts';
import {
  kinematicViscosityM2PerS,
  osmoticPressureKpa,
  seawaterSpecificHeat,
  thermalExpansionPerK,
} from '../../src/engineering/properties.ts';
import { curveFromPoints, operatingPoint, pumpHeadM } from '../../src/engineering/pump.ts';
import {
  normalisedOutputLpm,
  permeateTemperatureDivisor,
  purifierOutput,
} from '../../src/engineering/purification.ts';
import {
  blendedPracticalSalinity,
  freshWaterToDiluteL,
  practicalSalinityAfterSalting,
  saltMassForFinalVolumeKg,
  saltMassKg,
  volumeAfterSaltingL,
  waterForFinalVolumeL,
  waterToReplaceL,
} from '../../src/engineering/salting.ts';
import {
  conductivityMsPerCm,
  practicalSalinity,
  practicalSalinityFromReferenceSalinity,
  practicalSalinityFromRelativeDensity,
  referenceSalinityGPerKg,
  relativeDensity,
  seawaterDensity,
} from '../../src/engineering/seawater.ts';
import {
  contentsBoxL,
  contentsFromMarksL,
  contentsLyingCylinderL,
  contentsUprightCylinderL,
  levelBoxMm,
  levelFromMarksMm,
  levelLyingCylinderMm,
  levelUprightCylinderMm,
} from '../../src/engineering/vessels.ts';
import { batchYield } from '../../src/engineering/yield.ts';

const double = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const salinity = double(0.01, 41.9);
const probeTemperature = double(-2, 35);
const waterTemperature = double(0, 38);
const volume = double(1, 5000);
const saltYield = double(0.5, 1);

function near(actual: number, expected: number, within: number): void {
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(within);
}

describe('seawater', () => {
  it('returns the salinity that its conductivity was computed from', () => {
    fc.assert(
      fc.property(salinity, probeTemperature, (s, t) => {
        near(practicalSalinity(conductivityMsPerCm(s, t), t), s, 1e-9);
      }),
    );
  });

  it('returns the conductivity through both compensations', () => {
    fc.assert(
      fc.property(salinity, probeTemperature, double(0.015, 0.025), (s, t, alpha) => {
        const conductivity = conductivityMsPerCm(s, t);
        near(
          linearlyUncompensated(linearlyCompensated(conductivity, t, alpha), t, alpha),
          conductivity,
          1e-9,
        );
        near(seawaterUncompensated(seawaterCompensated(conductivity, t), t), conductivity, 1e-7);
      }),
    );
  });

  it('returns the salinity that a relative density and a salt by mass were computed from', () => {
    fc.assert(
      fc.property(salinity, waterTemperature, waterTemperature, (s, sample, reference) => {
        const relative = relativeDensity(s, sample, reference);
        near(practicalSalinityFromRelativeDensity(relative, sample, reference), s, 1e-9);
        near(practicalSalinityFromReferenceSalinity(referenceSalinityGPerKg(s)), s, 1e-12);
      }),
    );
  });

  it('grows saltier with conductivity, heavier with salt, and conducts better when warm', () => {
    fc.assert(
      fc.property(double(0.1, 40), double(0.01, 1), double(-2, 33), (s, more, t) => {
        const conductivity = conductivityMsPerCm(s, t);
        expect(conductivityMsPerCm(s + more, t)).toBeGreaterThan(conductivity);
        expect(conductivityMsPerCm(s, t + more)).toBeGreaterThan(conductivity);
        expect(practicalSalinity(conductivity * (1 + more / 100), t)).toBeGreaterThan(s);
        expect(seawaterDensity(s + more, t)).toBeGreaterThan(seawaterDensity(s, t));
      }),
    );
  });

  it('gets lighter with heat above 4 degC, by the expansion that the other formulation gives, within 1 %', () => {
    fc.assert(
      fc.property(double(0, 40), double(8, 37), (s, t) => {
        const step = 0.01;
        const fall = seawaterDensity(s, t - step) - seawaterDensity(s, t + step);
        expect(fall).toBeGreaterThan(0);
        near(fall / (2 * step) / seawaterDensity(s, t) / thermalExpansionPerK(s, t), 1, 0.01);
      }),
    );
  });

  it('holds less heat, pulls harder and flows worse the saltier it is', () => {
    fc.assert(
      fc.property(double(0, 40), double(0.5, 1.5), double(0, 35), (s, more, t) => {
        expect(seawaterSpecificHeat(s + more, t)).toBeLessThan(seawaterSpecificHeat(s, t));
        expect(osmoticPressureKpa(s + more, t)).toBeGreaterThan(osmoticPressureKpa(s, t));
        expect(kinematicViscosityM2PerS(s + more, t)).toBeGreaterThan(kinematicViscosityM2PerS(s, t));
      }),
    );
  });
});

describe('salting', () => {
  it('reaches the target with the salt it asked for, and learns the yield it was given', () => {
    fc.assert(
      fc.property(
        volume,
        double(0, 30),
        double(0.5, 11),
        waterTemperature,
        saltYield,
        (v, from, more, t, y) => {
          const salt = saltMassKg(v, from, from + more, t, y);
          near(practicalSalinityAfterSalting(v, from, salt, t, y), from + more, 1e-9);
          near(batchYield(v, from, from + more, salt, t), y, 1e-9);
        },
      ),
    );
  });

  it('asks for the same salt by the water to start from as by the volume to end with', () => {
    fc.assert(
      fc.property(volume, double(5, 41), waterTemperature, saltYield, (final, target, t, y) => {
        const water = waterForFinalVolumeL(final, target, t, y);
        near(volumeAfterSaltingL(water, 0, target, t, y) / final, 1, 1e-9);
        near(saltMassKg(water, 0, target, t, y) / saltMassForFinalVolumeKg(final, target, t, y), 1, 1e-9);
      }),
    );
  });

  it('scales with the volume and asks for more salt of a lower yield', () => {
    fc.assert(
      fc.property(volume, double(1, 41), waterTemperature, double(0.5, 0.99), (v, target, t, y) => {
        near(saltMassKg(2 * v, 0, target, t, y) / saltMassKg(v, 0, target, t, y), 2, 1e-9);
        expect(saltMassKg(v, 0, target, t, y)).toBeGreaterThan(saltMassKg(v, 0, target, t, y + 0.01));
      }),
    );
  });

  it('reaches the target with the water it asked for, added or exchanged', () => {
    fc.assert(
      fc.property(volume, double(10, 40), double(0.5, 0.99), waterTemperature, (v, from, share, t) => {
        const target = from * share;
        const water = freshWaterToDiluteL(v, from, target, t);
        near(blendedPracticalSalinity(v, from, water, 0, t), target, 1e-9);
        const drawn = waterToReplaceL(v, from, target, t);
        near(blendedPracticalSalinity(v - drawn, from, drawn, 0, t), target, 1e-9);
        expect(drawn).toBeLessThan(water);
      }),
    );
  });
});

describe('the purifier', () => {
  it('normalises its output back to the rating, whatever the temperature and pressure', () => {
    fc.assert(
      fc.property(double(0.05, 5), double(5, 35), double(50, 700), (rated, t, driving) => {
        const output = purifierOutput(rated, 400, driving, t);
        if (output.kind !== 'flows') throw new Error(output.kind);
        near(normalisedOutputLpm(output.outputLpm, driving, 400, t) / rated, 1, 1e-12);
      }),
    );
  });

  it('gives more the warmer the water, for every membrane', () => {
    fc.assert(
      fc.property(double(2, 44), double(1500, 4000), (t, constant) => {
        expect(permeateTemperatureDivisor(t, constant)).toBeGreaterThan(
          permeateTemperatureDivisor(t + 0.5, constant),
        );
      }),
    );
  });
});

describe('pipes and pumps', () => {
  const pipe = fc.record({
    lengthM: double(0.5, 60),
    diameterMm: double(8, 80),
    roughnessMm: double(0, 0.1),
    minorLossCoefficient: double(0, 40),
  });

  it('solve Colebrook-White to the last digits', () => {
    fc.assert(
      fc.property(double(2000, 1e8), double(0, 0.05), (reynolds, rough) => {
        const x = 1 / Math.sqrt(darcyFrictionFactor(reynolds, rough));
        near(x + 2 * Math.log10(rough / 3.7 + (2.51 * x) / reynolds), 0, 1e-12);
      }),
    );
  });

  it('lose more head the more flows and the longer the pipe', () => {
    fc.assert(
      fc.property(pipe, double(0.1, 200), ({ lengthM, diameterMm, roughnessMm, minorLossCoefficient }, q) => {
        const lost = (flow: number, metres: number) =>
          pipeHeadLossM(flow, metres, diameterMm, roughnessMm, minorLossCoefficient, 1e-6);
        expect(lost(q * 1.01, lengthM)).toBeGreaterThan(lost(q, lengthM));
        expect(lost(q, lengthM * 1.01)).toBeGreaterThan(lost(q, lengthM));
        expect(lost(0, lengthM)).toBe(0);
      }),
    );
  });

  it('meet where the head equals the height and the losses, or say why not; never NaN', () => {
    fc.assert(
      fc.property(pipe, double(0.5, 20), double(5, 400), double(-5, 25), (each, shutoff, last, height) => {
        const curve = curveFromPoints([
          { flowLpm: 0, headM: shutoff },
          { flowLpm: last / 2, headM: shutoff * 0.75 },
          { flowLpm: last, headM: 0 },
        ]);
        const loss = pipesInSeries([each], 1e-6);
        const point = operatingPoint(curve, height, loss);
        if (point.kind === 'cannot reach') expect(shutoff).toBeLessThanOrEqual(height);
        else if (point.kind === 'beyond the curve') expect(height + loss(last)).toBeLessThan(0);
        else {
          near(point.headM, pumpHeadM(curve, point.flowLpm), 1e-12);
          // At the end of laminar flow the loss jumps, and the pump sits on the jump.
          const [below, above] = [loss(point.flowLpm * (1 - 1e-9)), loss(point.flowLpm * (1 + 1e-9))];
          expect(height + below).toBeLessThanOrEqual(point.headM + 1e-6);
          expect(height + above).toBeGreaterThanOrEqual(point.headM - 1e-6);
        }
      }),
    );
  });
});

describe('heat', () => {
  const vat = fc.record({
    volume: double(20, 3000),
    s: double(0, 40),
    from: double(2, 30),
    to: double(2, 35),
    power: double(0, 3000),
    loss: fc.oneof(fc.constant(0), double(1e-6, 40)),
    ambient: double(-5, 35),
  });

  it('reaches the target at the time it says, or never; the power found for that time is the power given', () => {
    fc.assert(
      fc.property(vat, ({ volume: v, s, from, to, power, loss, ambient }) => {
        const capacity = heatCapacityJPerK(v, s, from, to);
        const warming = warmingTime(capacity, from, to, power, loss, ambient);
        if (warming.kind === 'never' || warming.hours > 1e5 || warming.hours < 0.001) return;
        near(temperatureAfterC(capacity, from, power, loss, ambient, warming.hours), to, 1e-6);
        near(heaterPowerW(capacity, from, to, loss, ambient, warming.hours), power, 1e-3 + power * 1e-6);
      }),
    );
  });

  it('goes over smoothly into the formula without loss', () => {
    fc.assert(
      fc.property(double(20, 3000), double(100, 3000), (v, power) => {
        const capacity = heatCapacityJPerK(v, 35, 15, 25);
        const none = warmingTime(capacity, 15, 25, power, 0, 15);
        const little = warmingTime(capacity, 15, 25, power, 1e-7, 15);
        if (none.kind === 'never' || little.kind === 'never') throw new Error('never');
        near(little.hours / none.hours, 1, 1e-6);
      }),
    );
  });

  it('is quicker with more power', () => {
    fc.assert(
      fc.property(double(200, 2000), (power) => {
        const capacity = heatCapacityJPerK(300, 35, 15, 25);
        const weak = warmingTime(capacity, 15, 25, power, 5, 15);
        const strong = warmingTime(capacity, 15, 25, power + 10, 5, 15);
        if (weak.kind === 'never' || strong.kind === 'never') throw new Error('never');
        expect(strong.hours).toBeLessThan(weak.hours);
      }),
    );
  });

  it('swells water and shrinks it back', () => {
    fc.assert(
      fc.property(volume, double(0, 42), waterTemperature, waterTemperature, (v, s, from, to) => {
        near(warmedVolumeL(warmedVolumeL(v, s, from, to), s, to, from) / v, 1, 1e-12);
      }),
    );
  });
});

describe('exchange', () => {
  it('removes more in batches than in a trickle of the same litres, and least when filled first', () => {
    fc.assert(
      fc.property(double(0.01, 0.9), fc.integer({ min: 1, max: 30 }), (share, changes) => {
        const batch = soluteRemainingBatch(changes, share);
        const trickle = soluteRemainingContinuous(changes * share);
        expect(batch).toBeLessThan(trickle);
        expect(trickle).toBeLessThan(soluteRemainingFillFirst(changes, share));
      }),
    );
  });

  it('needs the changes and volumes that leave the share asked for', () => {
    fc.assert(
      fc.property(double(0.001, 0.999), double(0.01, 0.9), (remaining, share) => {
        near(soluteRemainingBatch(changesNeeded(remaining, share), share), remaining, 1e-9);
        near(soluteRemainingContinuous(volumesNeeded(remaining)), remaining, 1e-12);
      }),
    );
  });

  it('does in seven daily changes what the weekly share does', () => {
    fc.assert(
      fc.property(double(0.01, 0.9), (weekly) => {
        near(soluteRemainingBatch(7, equalShare(weekly, 7, 1)), 1 - weekly, 1e-12);
      }),
    );
  });

  it('settles where as much is made as is carried off, by trickle and by batch', () => {
    fc.assert(
      fc.property(double(0, 20), double(0.1, 30), double(0.05, 0.9), (incoming, production, share) => {
        near(
          concentrationAfterMgPerL(5, incoming, production, share, 36_000),
          incoming + production / share,
          1e-6,
        );
        let peak = 0;
        for (let change = 0; change < 400; change++) {
          peak = afterExchange(peak, incoming, soluteRemainingBatch(1, share)) + production;
        }
        near(peak, settledPeakMgPerL(incoming, production, share, 1), 1e-3);
      }),
    );
  });

  it('drifts into the exponential as the flows come together', () => {
    fc.assert(
      fc.property(double(0.5, 20), double(-1e-6, 1e-6), (flow, apart) => {
        const same = driftedContents(400, 33, flow, 35, flow, 30, 1000);
        const almost = driftedContents(400, 33, flow, 35, flow + apart, 30, 1000);
        if (same.kind !== 'contents' || almost.kind !== 'contents') throw new Error('not contents');
        near(almost.salinity, same.salinity, 1e-6);
        near(same.salinity, afterExchange(33, 35, soluteRemainingContinuous((flow * 30) / 400)), 1e-12);
      }),
    );
  });

  it('agrees with the balance of salt taken in small steps', () => {
    fc.assert(
      fc.property(double(0, 15), double(0, 15), double(1, 25), (inflow, outflow, minutes) => {
        const drifted = driftedContents(400, 33, inflow, 36, outflow, minutes, 1000);
        if (drifted.kind !== 'contents') throw new Error(drifted.kind);
        const steps = 4000;
        let [litres, salt] = [400, 400 * 33];
        for (let step = 0; step < steps; step++) {
          const out = ((outflow * minutes) / steps) * (salt / litres);
          salt += ((inflow * minutes) / steps) * 36 - out;
          litres += ((inflow - outflow) * minutes) / steps;
        }
        near(drifted.volumeL, litres, 1e-6);
        near(drifted.salinity, salt / litres, 2e-3);
      }),
      { numRuns: 40 },
    );
  });
});

describe('vessels', () => {
  const size = double(100, 2000);

  it('return the level that their contents were computed from', () => {
    fc.assert(
      fc.property(size, size, double(0, 1), (diameter, length, share) => {
        const level = share * diameter;
        near(levelUprightCylinderMm(diameter, contentsUprightCylinderL(diameter, level)), level, 1e-9);
        near(levelBoxMm(length, diameter, contentsBoxL(length, diameter, level)), level, 1e-9);
        const lying = contentsLyingCylinderL(diameter, length, level);
        near(
          contentsLyingCylinderL(diameter, length, levelLyingCylinderMm(diameter, length, lying)),
          lying,
          1e-9,
        );
      }),
    );
  });

  it('hold half at half height and everything at the top when lying down', () => {
    fc.assert(
      fc.property(size, size, (diameter, length) => {
        const full = contentsUprightCylinderL(diameter, length);
        near(contentsLyingCylinderL(diameter, length, diameter) / full, 1, 1e-12);
        near(contentsLyingCylinderL(diameter, length, diameter / 2) / full, 0.5, 1e-12);
        expect(contentsLyingCylinderL(diameter, length, 0)).toBe(0);
      }),
    );
  });

  it('read a calibration forwards and backwards', () => {
    const marks = [
      { levelMm: 0, contentsL: 0 },
      { levelMm: 100, contentsL: 18 },
      { levelMm: 600, contentsL: 150 },
    ];
    fc.assert(
      fc.property(double(0, 600), (level) => {
        near(levelFromMarksMm(marks, contentsFromMarksL(marks, level)), level, 1e-9);
      }),
    );
  });
});
