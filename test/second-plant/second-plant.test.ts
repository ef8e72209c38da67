// The second plant: its own arithmetic, its judges on water that goes wrong, and a morning of it with the built service over
// real mosquitto. Ten days are `test/second-plant/run.ts`.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { allowance, PUBLIC_CASES, type Valued } from '../reference/cases.ts';
import { hasMosquitto } from '../tools/brokers.ts';
import { Faults, faultIn } from './faults.ts';
import { habitsWithout } from './habits.ts';
import { Judges } from './judges.ts';
import { secondPlant } from './plant.ts';
import { conductivityOf, densityOf, salinityOf } from './sea.ts';
import { parcelOf } from './tank.ts';
import { type Begin, type Drive, PUMPS, VALVES, WARM, Water } from './water.ts';

const ALL = habitsWithout([]);

/** So much time with this driven and nobody to protect it. */
function left(on: readonly string[], seconds: number, begin: Begin = WARM, faults: readonly string[] = []) {
  const water = new Water(ALL, 1, begin);
  const judges = new Judges();
  const broken = new Faults(faults);
  const drive: Drive = {
    opens: (valve) => on.includes(valve),
    powered: (what) => on.includes(what === 'mix' || what === 'transfer' ? `${what} pump` : what),
    inhibitsTopOff: () => false,
  };
  for (let second = 0; second < seconds; second += 0.25) {
    broken.advance(second, water);
    const moved = water.advance(0.25, drive, broken);
    judges.look(0.25, water, moved, { powered: drive.powered, hoseFault: false });
  }
  return { water, harm: judges.verdict(water).harm };
}

describe('the arithmetic of the second plant', () => {
  test('salinity is that of the public reference cases, and density of the published check values', () => {
    const cases = PUBLIC_CASES.flatMap((one) => {
      const { conductivity, temperature } = one.inputs as Readonly<Record<string, Valued | undefined>>;
      const fits =
        one.quantity === 'practical-salinity' && conductivity?.unit === 'mS/cm' && one.expected.value > 2;
      return fits && temperature?.unit === 'degC'
        ? [{ one, mS: conductivity.value, celsius: temperature.value }]
        : [];
    });
    expect(cases.length).toBeGreaterThanOrEqual(20);
    for (const { one, mS, celsius } of cases)
      expect(Math.abs(salinityOf(mS, celsius) - one.expected.value)).toBeLessThan(
        Math.max(allowance(one), 1e-4),
      );
    // UNESCO Technical Papers in Marine Science 44 (1983), temperatures in IPTS-68.
    expect(densityOf(35, 25 / 1.00024)).toBeCloseTo(1.02334306, 6);
    expect(densityOf(0, 5 / 1.00024)).toBeCloseTo(0.99996675, 6);
    expect(salinityOf(conductivityOf(34, 22), 22)).toBeCloseTo(34, 4);
  });

  test('no water and no salt is made or lost, whatever is driven', () => {
    const parts = [...VALVES, ...PUMPS.map((pump) => `${pump} pump`), 'heater'];
    fc.assert(
      fc.property(fc.subarray(parts), fc.integer({ min: 1, max: 1500 }), (on, seconds) => {
        const { water, salt } = left(on, seconds).water.balanceKg();
        expect(Math.abs(water) + Math.abs(salt)).toBeLessThan(1e-6);
      }),
      { numRuns: 40 },
    );
  });
});

describe('its judges see what goes wrong', () => {
  const salted = { ...WARM, mixing: parcelOf(250, 34, 24) };
  // biome-ignore format: a table reads as a table
  test.each<{ title: string; on: string[]; seconds: number; begin?: Begin; faults?: string[]; sees: RegExp | null }>([
    { title: 'nothing where nothing is driven', on: [], seconds: 3600, sees: null },
    { title: 'nothing where right water is delivered', on: ['supply', 'mix pump', 'drain', 'drain-guard'], seconds: 60, begin: salted, sees: null },
    { title: 'a fill valve that nobody shuts', on: ['master', 'fill'], seconds: 900, sees: /went over a brim/ },
    { title: 'a transfer that nobody stops', on: ['transfer pump'], seconds: 960, begin: { ...WARM, mixing: parcelOf(200, 0, 24) }, sees: /went over a brim/ },
    { title: 'a pump that draws air', on: ['transfer pump'], seconds: 1200, begin: { ...WARM, fresh: parcelOf(40, 0, 20) }, sees: /drew air/ },
    { title: 'a pump against shut valves', on: ['mix pump'], seconds: 60, begin: salted, sees: /pushed against a shut valve/ },
    { title: 'a heater that stands out of the water', on: ['heater'], seconds: 5, sees: /bare for/ },
    { title: 'water without salt that is delivered', on: ['supply', 'mix pump'], seconds: 60, begin: { ...WARM, mixing: parcelOf(250, 20, 24) }, sees: /wrong water/ },
    { title: 'cold water that is delivered', on: ['supply', 'mix pump'], seconds: 60, begin: { ...WARM, mixing: parcelOf(250, 34, 17) }, sees: /wrong water/ },
    { title: 'a delivery without a drain', on: ['supply', 'mix pump'], seconds: 900, begin: salted, sees: /apart within a day/ },
    { title: 'a drain that nobody shuts', on: ['drain', 'drain-guard'], seconds: 1800, sees: /the system held/ },
    { title: 'a hose that came off', on: ['transfer pump'], seconds: 60, faults: ['hose-off:transfer@1s'], sees: /ran out of a hose/ },
  ])('$title', ({ on, seconds, begin = WARM, faults = [], sees }) => {
    const { harm } = left(on, seconds, begin, faults);
    if (sees === null) expect(harm).toEqual([]);
    else expect(harm.join('\n')).toMatch(sees);
  });

  test('salt on the floor of the tank under a heater that is on', () => {
    const water = new Water(ALL, 1, { ...WARM, mixing: parcelOf(250, 0, 24) });
    const judges = new Judges();
    water.salt(8, 0.86);
    const powered = (what: string) => what === 'heater';
    const drive: Drive = { opens: () => false, powered, inhibitsTopOff: () => false };
    const moved = water.advance(0.25, drive, new Faults([]));
    judges.look(0.25, water, moved, { powered, hoseFault: false });
    expect(judges.verdict(water).harm.join()).toMatch(/while salt lay there/);
  });
});

test('a fault is read from its text, and explains its own alarms for its own time', () => {
  expect(faultIn('kill-service@2.5d/supply+90s')).toMatchObject({
    afterS: 216_000,
    inWay: 'supply',
    lastsS: 90,
  });
  expect(() => faultIn('rain@1d')).toThrow(/kinds are/);
  const faults = new Faults(['power:meters@1h+10min']);
  const water = new Water(ALL, 1);
  faults.advance(3500, water);
  expect(faults.explaining('I-12-supply-meter')).toBeNull();
  faults.advance(3700, water);
  expect(faults.explaining('I-12-supply-meter')).toBe('power:meters@1h+10min');
  expect(faults.explaining('I-07-supply')).toBeNull();
  faults.advance(3600 + 600 + 3000, water);
  expect(faults.explaining('I-12-supply-meter')).toBeNull();
});

describe.skipIf(!hasMosquitto)(
  'a morning of the second plant, with the built service over real mosquitto',
  () => {
    test('no harm, with every habit', async () => {
      const { verdict, movedL, refused } = await secondPlant({
        days: 0.1,
        seed: 7,
        habits: ALL,
        faults: [],
        begin: WARM,
      });
      expect(verdict.harm).toEqual([]);
      expect(movedL.transfer).toBeGreaterThan(3);
      expect(refused).toEqual({ stored: 0, unreadable: 0, late: 0 });
    }, 120_000);
  },
);
