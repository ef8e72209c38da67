// What water does by itself, against hand calculation and published check values.
import { describe, expect, it } from 'vitest';
import {
  fallingFlowLpm,
  openJointLpm,
  pipeContentsL,
  submergenceMm,
  suctionHeadAvailableM,
  vapourPressureKpa,
} from '../../src/engineering/gravity.ts';
import { pipesInSeries } from '../../src/engineering/hydraulics.ts';
import { OutOfRange } from '../../src/engineering/range.ts';

describe('Vapour pressure', () => {
  // IAPWS R7-97(2012), table 35: check values of the saturation line.
  it('is that of IAPWS-IF97 at 300 K, and near the tables at 20 and 50 degC', () => {
    expect(vapourPressureKpa(300 - 273.15)).toBeCloseTo(3.53658941, 7);
    expect(vapourPressureKpa(20)).toBeCloseTo(2.3392, 3);
    expect(vapourPressureKpa(50)).toBeCloseTo(12.352, 2);
    expect(() => vapourPressureKpa(120)).toThrow(OutOfRange);
  });
});

describe('An open joint', () => {
  // 0.6 x area x sqrt(2 x 9.80665 x 0.8) = 0.6 x area x 3.961 m/s.
  it.each([
    [16, 28.7],
    [25, 70.0],
    [34, 129.5],
  ])('of %i mm under 0.8 m of water lets out %f L/min', (mm, lpm) => {
    expect(openJointLpm(0.8, mm)).toBeCloseTo(lpm, 0);
  });

  it('lets out nothing without water above it, and twice as much under four times the head', () => {
    expect(openJointLpm(0, 25)).toBe(0);
    expect(openJointLpm(3.2, 25) / openJointLpm(0.8, 25)).toBeCloseTo(2, 9);
  });
});

describe('A siphon', () => {
  const pipe = { lengthM: 3, diameterMm: 34, roughnessMm: 0.0015, minorLossCoefficient: 4 };
  const loss = pipesInSeries([pipe], 1.0e-6);

  it('runs where its losses are its fall', () => {
    const flow = fallingFlowLpm(0.57, loss);
    expect(loss(flow)).toBeCloseTo(0.57, 6);
    // By hand: v = 1.30 m/s gives f = 0.0212, f L/D = 1.87, (1.87 + 4) v2/2g = 0.51 m; so a little more.
    expect(flow).toBeGreaterThan(70);
    expect(flow).toBeLessThan(80);
  });

  it('rests without a fall', () => {
    expect(fallingFlowLpm(0, loss)).toBe(0);
    expect(() => fallingFlowLpm(-0.1, loss)).toThrow(OutOfRange);
  });
});

describe('Submergence', () => {
  // ANSI/HI 9.8 (from memory): D (1 + 2.3 F). 20.75 L/min into 40 mm: 0.2752 m/s, F = 0.4394, S = 80.4 mm.
  it('of 20.75 L/min into 40 mm is 80 mm, and never less than the opening', () => {
    expect(submergenceMm(20.75, 40)).toBeCloseTo(80.4, 1);
    expect(submergenceMm(0, 40)).toBe(40);
  });
});

describe('Suction head', () => {
  // (101.325 - 2.339) kPa / (998.2 kg/m3 x 9.80665) = 10.112 m; 0.5 m of water above the pump, 0.1 m lost.
  it('is that of the air less the vapour, with the water above the pump and less the losses', () => {
    expect(suctionHeadAvailableM(0.5, 0.1, 2, 20)).toBeGreaterThan(10.4);
    expect(suctionHeadAvailableM(0.5, 0.1, 2, 20)).toBeLessThan(10.55);
    expect(suctionHeadAvailableM(-2, 0.1, 2, 20)).toBeLessThan(suctionHeadAvailableM(0.5, 0.1, 2, 20) - 2.4);
  });
});

it('A pipe of 16 m and 13 mm holds 2.1 L', () => {
  expect(pipeContentsL(16, 13)).toBeCloseTo(Math.PI * 0.0065 ** 2 * 16 * 1000, 9);
});
