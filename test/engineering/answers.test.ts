// Answers that are not one number: corrections, learned yields, transfers, expected flows, cautions, and refusals.
import { describe, expect, it } from 'vitest';
import {
  daysOfAutonomy,
  driftedContents,
  largestShareForTemperature,
} from '../../src/engineering/exchange.ts';
import { type Pipe, pipesInSeries } from '../../src/engineering/hydraulics.ts';
import {
  CurveError,
  curveFromOnePoint,
  curveFromPoints,
  curveFromThreePoints,
  expectedFlow,
  operatingPoint,
  pumpHeadM,
} from '../../src/engineering/pump.ts';
import { refillHours, refillHoursByMonth, rejectWaterL } from '../../src/engineering/purification.ts';
import { hold, isWithin, OutOfRange, writeRange } from '../../src/engineering/range.ts';
import { LEAST_RESERVE_SHARE, reserveShare, reserveShortfallL } from '../../src/engineering/reserve.ts';
import { blendedPracticalSalinity, trim, volumeAfterSaltingL } from '../../src/engineering/salting.ts';
import {
  constantFlowMinutes,
  drainThroughOpeningS,
  drainThroughPipeS,
  gravityFlowLpm,
  transferTime,
} from '../../src/engineering/transfer.ts';
import {
  checkMarks,
  contentsFromMarksL,
  floorCaution,
  floorPressureKpa,
  TableError,
} from '../../src/engineering/vessels.ts';
import { learnedYield } from '../../src/engineering/yield.ts';

const PIPE: Pipe = { lengthM: 6, diameterMm: 25, roughnessMm: 0.0015, minorLossCoefficient: 8 };
const LOSS = pipesInSeries([PIPE], 1.05e-6);
const CURVE = curveFromPoints([
  { flowLpm: 0, headM: 4 },
  { flowLpm: 40, headM: 3 },
  { flowLpm: 80, headM: 0 },
]);

describe('trimming a batch', () => {
  const batch = (measured: number, roomL: number) => trim(240, measured, 35, 0.3, 25, 0.92, roomL);

  it('leaves it alone within the tolerance, on both edges', () => {
    expect(batch(35.25, 0)).toEqual({ kind: 'within' });
    expect(batch(34.75, 0)).toEqual({ kind: 'within' });
  });

  it('adds salt when it is too fresh, and none too much: 1 psu in 240 L is about a quarter of a kilogram', () => {
    const answer = batch(34, 0);
    if (answer.kind !== 'add salt') throw new Error(answer.kind);
    expect(answer.saltKg).toBeGreaterThan(0.25);
    expect(answer.saltKg).toBeLessThan(0.29);
  });

  it('adds fresh water when it is too salt and there is room', () => {
    const answer = batch(36, 20);
    if (answer.kind !== 'add fresh water') throw new Error(answer.kind);
    expect(blendedPracticalSalinity(240, 36, answer.waterL, 0, 25)).toBeCloseTo(35, 9);
  });

  it('exchanges water when it is too salt and too full', () => {
    const answer = batch(36, 1);
    if (answer.kind !== 'replace with fresh water') throw new Error(answer.kind);
    expect(blendedPracticalSalinity(240 - answer.drawnL, 36, answer.drawnL, 0, 25)).toBeCloseTo(35, 9);
  });
});

describe('the volume after salting', () => {
  // Reference value: formulas worked with TEOS-10 densities, +1.0 % anhydrous and +1.6 % for a yield of 0.851.
  it('is 1.0 % more with anhydrous salt and 1.6 % more with hydrates', () => {
    expect(volumeAfterSaltingL(1000, 0, 35, 25, 1)).toBeCloseTo(1010, -0.5);
    expect(volumeAfterSaltingL(1000, 0, 35, 25, 0.851)).toBeCloseTo(1016, -0.5);
  });
});

describe('a learned yield', () => {
  it('is not given for fewer than three batches', () => {
    expect(learnedYield([])).toEqual({ kind: 'too few', batches: 0, needed: 3 });
    expect(learnedYield([0.85, 0.86]).kind).toBe('too few');
  });

  it('is the mean, with the standard error and interval of a textbook sample', () => {
    // Mean 0.85, deviations -0.02, 0, 0.02: s = 0.02, s/sqrt 3 = 0.011547, t(2) = 4.303 (any table of Student's t).
    const learned = learnedYield([0.83, 0.85, 0.87]);
    if (learned.kind !== 'learned') throw new Error(learned.kind);
    expect(learned.yieldKgPerKg).toBeCloseTo(0.85, 12);
    expect(learned.scatterKgPerKg).toBeCloseTo(0.02, 12);
    expect(learned.standardErrorKgPerKg).toBeCloseTo(0.011547, 6);
    expect(learned.mostKgPerKg - learned.yieldKgPerKg).toBeCloseTo(4.303 * 0.011547, 5);
  });

  it('grows surer with every batch that scatters alike', () => {
    const width = (batches: number) => {
      const learned = learnedYield(Array.from({ length: batches }, (_, index) => 0.85 + (index % 2) * 0.02));
      return learned.kind === 'learned' ? learned.mostKgPerKg - learned.leastKgPerKg : Number.NaN;
    };
    expect(width(4)).toBeGreaterThan(width(10));
    expect(width(10)).toBeGreaterThan(width(40));
  });

  it('refuses a yield that no batch can have', () => {
    expect(() => learnedYield([0.85, 0.86, 5])).toThrow(OutOfRange);
  });
});

describe('a pump', () => {
  it.each<[string, { flowLpm: number; headM: number }[]]>([
    ['one point', [{ flowLpm: 0, headM: 4 }]],
    [
      'no head at no flow',
      [
        { flowLpm: 5, headM: 4 },
        { flowLpm: 10, headM: 3 },
      ],
    ],
    [
      'flows out of order',
      [
        { flowLpm: 0, headM: 4 },
        { flowLpm: 10, headM: 3 },
        { flowLpm: 10, headM: 2 },
      ],
    ],
    [
      'a head that rises',
      [
        { flowLpm: 0, headM: 4 },
        { flowLpm: 10, headM: 5 },
      ],
    ],
  ])('has no curve of %s', (_what, points) => {
    expect(() => curveFromPoints(points)).toThrow(CurveError);
  });

  it('keeps its curve through the points it was made of, in all three forms', () => {
    const [middle, last] = [
      { flowLpm: 30, headM: 3.1 },
      { flowLpm: 60, headM: 1.2 },
    ];
    const power = curveFromThreePoints({ flowLpm: 0, headM: 4 }, middle, last);
    expect(pumpHeadM(power, 30)).toBeCloseTo(3.1, 9);
    expect(pumpHeadM(power, 60)).toBeCloseTo(1.2, 9);
    expect(pumpHeadM(curveFromOnePoint(middle), 30)).toBeCloseTo(3.1, 9);
    expect(pumpHeadM(CURVE, 60)).toBeCloseTo(1.5, 9);
  });

  it('is never read beyond its last point', () => {
    expect(() => pumpHeadM(CURVE, 80.1)).toThrow(/flow is 80.1 L\/min, outside 0 to 80 L\/min/u);
  });

  it('may be expected between a worn pump against the greatest height and a new one against the lowest', () => {
    const expected = expectedFlow(CURVE, 0.2, 1, LOSS, 0.1);
    if (expected.kind !== 'between') throw new Error(expected.kind);
    const [low, high] = [operatingPoint(CURVE, 1, LOSS), operatingPoint(CURVE, 0.2, LOSS)];
    if (low.kind !== 'flows' || high.kind !== 'flows') throw new Error('no flow');
    expect(expected.mostLpm).toBeCloseTo(high.flowLpm, 9);
    expect(expected.leastLpm).toBeLessThan(low.flowLpm);
    expect(expected.leastLpm).toBeGreaterThan(0.8 * low.flowLpm);
  });

  it('is not expected to flow at all when worn it cannot reach', () => {
    expect(expectedFlow(CURVE, 0.2, 3.7, LOSS, 0.1).kind).toBe('cannot reach');
  });
});

describe('moving water', () => {
  it('takes the time of the constant flow when the levels hardly move', () => {
    const answer = transferTime(200, CURVE, 1, LOSS, 1e4, 1e4);
    if (answer.kind !== 'moved') throw new Error(answer.kind);
    expect(answer.minutes / constantFlowMinutes(200, answer.firstLpm)).toBeCloseTo(1, 4);
  });

  it('takes longer than at the first flow and less than at the last when the levels part', () => {
    const answer = transferTime(200, CURVE, 1, LOSS, 0.3, 0.3);
    if (answer.kind !== 'moved') throw new Error(answer.kind);
    expect(answer.minutes).toBeGreaterThan(200 / answer.firstLpm);
    expect(answer.minutes).toBeLessThan(200 / answer.lastLpm);
  });

  it('agrees with the same transfer in a thousand small steps', () => {
    const answer = transferTime(200, CURVE, 1, LOSS, 0.3, 0.5);
    if (answer.kind !== 'moved') throw new Error(answer.kind);
    let minutes = 0;
    for (let step = 0; step < 1000; step++) {
      const moved = (step + 0.5) * 0.2;
      const point = operatingPoint(CURVE, 1 + (moved / 1000) * (1 / 0.3 + 1 / 0.5), LOSS);
      if (point.kind === 'flows') minutes += 0.2 / point.flowLpm;
    }
    expect(answer.minutes / minutes).toBeCloseTo(1, 4);
  });

  it('stalls when the rising level meets the highest head, and says after how much', () => {
    const answer = transferTime(800, CURVE, 1, LOSS, 0.4, 0.4);
    if (answer.kind !== 'stalls') throw new Error(answer.kind);
    // 3 m of head to spare, 5 mm of height a litre: 600 L.
    expect(answer.movedL).toBeCloseTo(600, 9);
  });

  it('does not begin when the pump cannot reach', () => {
    expect(transferTime(10, CURVE, 5, LOSS, 1, 1).kind).toBe('cannot reach');
  });

  it('drains slower through a pipe than through an opening of its bore, and slower the longer the pipe', () => {
    const bore = Math.PI * 0.0125 ** 2;
    const opening = drainThroughOpeningS(0.4, bore, 0.9, 0.1, 1);
    const short = drainThroughPipeS(0.4, { ...PIPE, lengthM: 1, minorLossCoefficient: 0.5 }, 0.9, 0.1, 1e-6);
    const long = drainThroughPipeS(0.4, PIPE, 0.9, 0.1, 1e-6);
    expect(short).toBeGreaterThan(opening);
    expect(long).toBeGreaterThan(short);
  });

  it('falls with the head that drives it', () => {
    expect(gravityFlowLpm(1, PIPE, 1e-6)).toBeGreaterThan(gravityFlowLpm(0.5, PIPE, 1e-6));
    expect(() => gravityFlowLpm(0, PIPE, 1e-6)).toThrow(OutOfRange);
  });
});

describe('the purifier through the year', () => {
  it('takes longest in the coldest month, and the rated time at 25 degC', () => {
    const year = [7, 7, 8, 10, 13, 16, 18, 25, 17, 14, 10, 8];
    const hours = refillHoursByMonth(300, 0.26, year);
    expect(hours).toHaveLength(12);
    expect(Math.max(...hours)).toBe(hours[0]);
    expect(hours[7]).toBeCloseTo(refillHours(300, 0.26), 9);
    expect(hours[0]).toBeGreaterThan(1.8 * (hours[7] as number));
  });

  it('sends three litres to the drain for one purified at a recovery of a quarter', () => {
    expect(rejectWaterL(100, 0.25)).toBeCloseTo(300, 9);
  });
});

describe('exchange', () => {
  it('with more out than in runs dry, and with more in than out overflows, at a stated minute', () => {
    expect(driftedContents(100, 35, 5, 35, 10, 30, 200)).toEqual({ kind: 'runs dry', afterMinutes: 20 });
    expect(driftedContents(100, 35, 10, 35, 5, 30, 200)).toEqual({ kind: 'overflows', afterMinutes: 20 });
  });

  it('lasts as long as the water on hand, or for ever when as much is made', () => {
    expect(daysOfAutonomy(480, 40, 0)).toEqual({ kind: 'lasts', days: 12 });
    expect(daysOfAutonomy(480, 40, 20)).toEqual({ kind: 'lasts', days: 24 });
    expect(daysOfAutonomy(480, 40, 40)).toEqual({ kind: 'for ever' });
  });

  it('of water 10 K colder may be a tenth for a tolerance of 1 K', () => {
    expect(largestShareForTemperature(1, 25, 15)).toBeCloseTo(0.1, 12);
    expect(largestShareForTemperature(1, 25, 24.5)).toBe(1);
  });
});

describe('vessels and floors', () => {
  it('refuse a calibration that does not rise, naming the marks', () => {
    const marks = [
      { levelMm: 0, contentsL: 0 },
      { levelMm: 100, contentsL: 20 },
      { levelMm: 90, contentsL: 30 },
    ];
    expect(() => checkMarks(marks)).toThrow(TableError);
    expect(() => checkMarks(marks)).toThrow(/90 mm with 30 L follows 100 mm with 20 L/u);
    expect(() => checkMarks(marks.slice(0, 1))).toThrow(/at least two/u);
  });

  it('are not read beyond the marks', () => {
    const marks = [
      { levelMm: 20, contentsL: 5 },
      { levelMm: 100, contentsL: 25 },
    ];
    expect(() => contentsFromMarksL(marks, 10)).toThrow(/level is 10 mm, outside 20 to 100 mm/u);
    expect(contentsFromMarksL(marks, 60)).toBe(15);
  });

  it('ask for a structural engineer whatever the pressure, and never approve', () => {
    expect(floorCaution(floorPressureKpa(430, 0.5))).toMatch(/^4.4 times .* structural engineer$/u);
    expect(floorCaution(1)).toMatch(/no approval: ask a structural engineer$/u);
  });
});

describe('the reserve', () => {
  it('is short of a fifth by what is missing, and by nothing when it is there', () => {
    expect(reserveShare(480, 2400)).toBe(LEAST_RESERVE_SHARE);
    expect(reserveShortfallL(400, 2400)).toBeCloseTo(80, 9);
    expect(reserveShortfallL(600, 2400)).toBe(0);
  });
});

describe('a range', () => {
  const range = { least: 0.5, most: 10, unit: 'L' } as const;

  it('holds its ends as written, and never NaN', () => {
    expect(isWithin(0.49, range)).toBe(false);
    expect(isWithin(0.5, range)).toBe(true);
    expect(isWithin(10, range)).toBe(true);
    expect(isWithin(Number.NaN, range)).toBe(false);
    expect(isWithin(Number.POSITIVE_INFINITY, range)).toBe(false);
  });

  it('is named in the refusal, with the quantity and the value', () => {
    expect(() => hold('volume', 12, range)).toThrow('volume is 12 L, outside 0.5 to 10 L');
    expect(writeRange({ least: 2, most: 42, unit: '1' })).toBe('2 to 42');
  });
});
