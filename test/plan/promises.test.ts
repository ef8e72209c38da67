// The promises are those of the running core: the long steps of the plan against the drafted station as it is, in the short
// steps of a service. The table of both is `promises.txt`.
import { describe, expect, it } from 'vitest';
import { badDay } from '../../src/plan/sections/bad-day.ts';
import { promises } from '../../src/plan/sections/promises.ts';
import { USUAL_PACE } from '../../src/plan/station-parts.ts';
import { emergencyOf } from '../../src/plan/year/emergency.ts';
import { PACED, type Running } from '../../src/plan/year/pace.ts';
import { simulateYear } from '../../src/plan/year/run.ts';
import { plantOf } from '../../src/station/compile.ts';
import { designWith, MARRAM } from './sites.ts';

const DAYS = 8;

const plain = (movingMs: number): Running => ({
  pace: USUAL_PACE,
  plantOf: (file) => {
    const plant = plantOf(file);
    return {
      ...plant,
      policy: { ...plant.policy, proofTests: { everyMs: Number.MAX_SAFE_INTEGER, graceMs: 0 } },
    };
  },
  // The refill goes on for a day and a half; everything else that is on is looked at in short steps.
  stepsOf: (plant) => {
    const watched = Object.values(plant.routes).flatMap(({ purpose, loop, through }) =>
      purpose === 'refill' || loop ? [] : through,
    );
    const isMoving = (id: string, devices: Readonly<Record<string, { on: boolean; provenOff: boolean }>>) =>
      devices[id]?.on || !devices[id]?.provenOff;
    return ({ devices }) => (watched.some((id) => isMoving(id, devices)) ? movingMs : 20_000);
  },
});

/** Each with steps that are short beside its steps of an exchange: where water falls one takes five seconds. */
const SITES: readonly (readonly [name: string, file: string, movingMs: number])[] = [
  ['marram-point', MARRAM, 2000],
  ['one-pump', 'test/plan/sites/one-pump.site.json', 2000],
  ['gravity-only', 'test/plan/sites/gravity-only.site.json', 500],
];

function promised(file: string, running: Running): Readonly<Record<string, number>> {
  // An owner who takes an hour at most: two runs in unlike steps draw unlike luck, and that is not what is compared.
  const design = designWith(({ owner }) => {
    if (owner !== undefined) owner.saltDelay = { usual: '1 h', longest: '1 h' };
  }, file);
  const { reserve, purifiedL } = simulateYear(design, DAYS, 1, undefined, running);
  const done = emergencyOf(design, {}, running);
  return {
    'on hand, mean, %': 100 * reserve.meanShare,
    'on hand, least, %': 100 * reserve.leastShare,
    'purified in eight winter days, L': purifiedL,
    'first batch is in, h': done?.deliveries[0]?.toHours ?? Number.NaN,
    'large change done, h': done?.hours ?? Number.NaN,
    'brought by it, L': done?.deliveries.reduce((sum, { volumeL }) => sum + volumeL, 0) ?? Number.NaN,
  };
}

describe('What is promised', () => {
  it('is what the running station does, within 5 %', async () => {
    const lines = ['site            promise                            plan    running   apart'];
    for (const [name, file, movingMs] of SITES) {
      const plan = promised(file, PACED);
      for (const [what, runs] of Object.entries(promised(file, plain(movingMs)))) {
        const says = plan[what] ?? Number.NaN;
        const apart = says / runs - 1;
        // The least of a sawtooth hangs on one moment: it is held to a hundredth of the system.
        const [off, most] = what.includes('least') ? [says - runs, 1] : [apart, 0.05];
        expect(Math.abs(off), `${name}: ${what}: ${says} beside ${runs}`).toBeLessThan(most);
        lines.push(
          `${name.padEnd(16)}${what.padEnd(34)}${says.toFixed(1).padStart(7)}${runs.toFixed(1).padStart(9)}${(100 * apart).toFixed(1).padStart(8)} %`,
        );
      }
    }
    await expect(`${lines.join('\n')}\n`).toMatchFileSnapshot('promises.txt');
  });

  it('takes so few steps that a year is done in seconds', () => {
    let steps = 0;
    simulateYear(designWith(), DAYS, 1, undefined, {
      ...PACED,
      stepsOf: (plant) => {
        const paced = PACED.stepsOf(plant);
        return (state) => {
          steps += 1;
          return paced(state);
        };
      },
    });
    // About 0.1 ms each.
    expect(steps / DAYS).toBeLessThan(240);
  });
});

describe('The month', () => {
  const design = designWith();
  const done = simulateYear(design, DAYS, 1);
  const said = promises(design, done);
  const value = (id: string) => said.figures.find((figure) => figure.id === id)?.value ?? Number.NaN;

  it('is told as mean, least and share of the time, and is less than both vats full', () => {
    expect(value('mean')).toBeCloseTo(100 * done.reserve.meanShare, 9);
    expect(value('least')).toBeLessThan(value('mean'));
    expect(value('covered')).toBeLessThan(50);
    expect(said.cautions.map(({ id }) => id)).toEqual(['P-23']);
  });

  it('is drawn as it goes up and down', () => {
    const points = said.charts[0]?.series[0]?.points ?? [];
    expect(points.length).toBeGreaterThan(80);
    const turns = points.filter(([, share], at) => {
      const before = points[at - 1]?.[1] ?? share;
      const after = points[at + 1]?.[1] ?? share;
      return (share - before) * (after - share) < 0;
    });
    expect(turns.length).toBeGreaterThan(5);
  });
});

describe('The bad day', () => {
  const design = designWith();
  const emergency = emergencyOf(design);
  const said = badDay(design, true);

  it('brings the mixing vat first, in no less than the pumps take for it', () => {
    const [first] = emergency?.deliveries ?? [];
    expect((first?.volumeL ?? 0) / design.mixedL).toBeGreaterThan(0.95);
    expect((first?.volumeL ?? 0) / design.mixedL).toBeLessThan(1.05);
    const pumpedHours = design.mixedL / (design.supply.flowLpm ?? 1) / 60;
    expect((first?.toHours ?? 0) - (first?.fromHours ?? 0)).toBeGreaterThan(pumpedHours);
  });

  it('brings what was asked for', () => {
    const allL = emergency?.deliveries.reduce((sum, { volumeL }) => sum + volumeL, 0) ?? 0;
    // By the core's own count within a step of 4 L; the twin's meter loses 50 mL at each start, 120 times.
    expect(allL).toBeGreaterThan(480);
    expect(allL).toBeLessThan(480 + 120 * 0.05 + 4);
    expect(emergency?.saltKg).toBeGreaterThan(design.batch.saltKg);
    expect(emergency?.hours).toBeCloseTo(emergency?.deliveries.at(-1)?.toHours ?? 0, 0);
  });

  it('weighs warm against cold and small steps against large, and says when to stop and who has to be there', () => {
    const [drafted, unheated, larger] = said.tables.find(({ id }) => id === 'ways')?.rows ?? [];
    expect(Number(unheated?.[1])).toBeLessThan(Number(drafted?.[1]) - 0.5);
    // 18.1 % of the water is new, and the room is 6 K colder.
    expect(Number(unheated?.[4])).toBeCloseTo(0.181 * 6, 1);
    expect(Number(larger?.[1])).toBeLessThan(Number(drafted?.[1]));
    expect(said.says.join(' ')).toMatch(/Stop before the last batch/u);
    expect(said.says.join(' ')).toMatch(/On the shelf: 19\.\d kg of salt, 1 bag of 20 kg/u);
  });
});
