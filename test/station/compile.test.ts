import '../seed.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Plant, Shape } from '../../src/station/plant.ts';
import { purposeOf } from '../../src/station/purpose.ts';
import { contentsAt, heightOf, tableOf } from '../../src/station/shape.ts';
import { EXAMPLES, example, least, plantFrom, spoilt, textOf } from './stations.ts';

const UNEQUAL = plantFrom(example('unequal-vats'));

describe('What a route is for follows from the roles at its ends', () => {
  it.each([
    ['purified-water', 'fresh', true, 'refill'],
    ['fresh', 'mixing', true, 'transfer'],
    ['purified-water', 'mixing', false, 'transfer'],
    ['purified-water', 'mixing', true, 'other'],
    ['mixing', 'system', true, 'supply'],
    ['system', 'waste', true, 'drain'],
    ['purified-water', 'waste', true, 'flush'],
    ['mixing', 'waste', true, 'other'],
    ['fresh', 'system', true, 'other'],
    ['system', 'mixing', true, 'other'],
  ] as const)('%s to %s, with a fresh vat: %s, is %s', (from, to, hasFresh, purpose) => {
    expect(purposeOf({ from, to, hasFresh, loop: false })).toBe(purpose);
  });

  it('A route from a vessel to itself circulates, whatever the vessel', () => {
    for (const role of ['fresh', 'mixing', 'system'] as const) {
      expect(purposeOf({ from: role, to: role, hasFresh: true, loop: true })).toBe('circulate');
    }
  });
});

describe('Routes that must not run together', () => {
  const pairs = (plant: Plant) =>
    Object.values(plant.routes).flatMap(({ id, excludes }) => excludes.map((other) => `${id}-${other}`));

  it('are the three that share the one pump, and the two that "notWith" names', () => {
    expect(pairs(UNEQUAL).toSorted()).toEqual(
      [
        'transfer-circulate',
        'circulate-transfer',
        'transfer-supply',
        'supply-transfer',
        'circulate-supply',
        'supply-circulate',
        'refill-flush',
        'flush-refill',
      ].toSorted(),
    );
  });

  it('are always so both ways round', () => {
    for (const name of EXAMPLES) {
      const found = pairs(plantFrom(example(name)));
      for (const pair of found) expect(found).toContain(pair.split('-').toReversed().join('-'));
    }
  });

  const shared = (master: string, valve: string) => {
    const station = least();
    const actuator = station.actuators.inlet as (typeof station.actuators)[string];
    const open = { topic: `t/${valve}/set`, on: 'on', off: 'off' };
    return {
      ...station,
      actuators: {
        ...station.actuators,
        inlet: { ...actuator, upstream: 'master' },
        master: { ...actuator, kind: master, command: { topic: 't/master/set', on: 'on', off: 'off' } },
        [valve]: { ...actuator, command: open, upstream: 'master' },
      },
      routes: {
        ...station.routes,
        refill: { ...station.routes.refill, through: ['master', 'inlet'] },
        flush: {
          from: 'purifier',
          to: 'waste',
          through: ['master', valve],
          flow: { least: '1 L/min', most: '2 L/min' },
        },
      },
    };
  };

  it('are not those that share nothing but a master valve above a valve of their own', () => {
    expect(plantFrom(shared('valve', 'flush-valve')).routes.flush?.excludes).toEqual([]);
  });

  it('are those that share a pump, even where it is named as upstream of their valves', () => {
    expect(plantFrom(shared('pump', 'flush-valve')).routes.flush?.excludes).toEqual(['refill']);
  });

  it('are those of which one needs off what the other needs on', () => {
    const station = spoilt(least(), '/routes/refill/shut', ['drain-pump']);
    const { routes } = plantFrom(station);
    expect([routes.refill?.excludes, routes.drain?.excludes]).toEqual([['drain'], ['refill']]);
  });
});

it('What lies upstream of a route is listed nearest first and once', () => {
  const marram = example('marram-point');
  const deeper = spoilt(marram, '/actuators/master-valve/upstream', 'pump-contactor');
  expect(plantFrom(deeper).routes.refill?.upstream).toEqual(['master-valve', 'pump-contactor']);
  expect(UNEQUAL.routes.transfer?.upstream).toEqual(['pump-contactor']);
});

it('A route runs on unasked for as long as the longest lease among its actuators', () => {
  const station = spoilt(example('unequal-vats'), '/actuators/to-mixing/lease/lasts', '25 s');
  expect(plantFrom(station).routes.transfer?.leaseMs).toBe(25_000);
});

it('Units of the file become house units: gallons and degF of the small station are litres and degC', () => {
  const plant = plantFrom(example('one-vat'));
  // 1 gal = 3.785411784 L exactly (231 in3; NIST SP 811, appendix B).
  expect(plant.vessels.mixing?.capacityL).toBeCloseTo(16 * 3.785411784, 9);
  expect(plant.routes.fill?.flowUsualLpm).toBeCloseTo((50 * 3.785411784) / 1440, 9);
  expect(plant.vessels.mixing?.initial.temperatureC).toBeCloseTo(20, 9);
  expect([plant.freshId, plant.routes.fill?.purpose, plant.process.refill]).toEqual([null, 'transfer', null]);
});

it('Words are what payloads print as, and pulses are litres with a scale', () => {
  const rig = plantFrom(JSON.parse(textOf('test/stations/bench-rig.json')));
  expect(rig.sensors['mixing-high']).toMatchObject({ yes: ['true'], no: ['false'] });
  expect(rig.sensors['fresh-overflow']).toMatchObject({ yes: ['open'], no: ['closed'], at: '/contact' });
  expect(rig.sensors['transfer-meter']).toMatchObject({ unit: 'L', scale: 1 / 450, wrapsAtL: null });
  const marram = plantFrom(example('marram-point'));
  expect(marram.sensors['transfer-meter']).toMatchObject({ wrapsAtL: 65_536 / 60 });
});

it('A level in a length is read by the table, else by the shape of its vessel; in litres by neither', () => {
  const table = (plant: Plant, id: string) => {
    const sensor = plant.sensors[id];
    return sensor?.measures === 'level' ? sensor.table : undefined;
  };
  expect(table(UNEQUAL, 'mixing-level')).toEqual([
    [0, 0],
    [100, 24],
    [700, 180],
    [810, 210],
  ]);
  const marram = plantFrom(example('marram-point'));
  expect(table(marram, 'fresh-level')?.[1]?.[1]).toBeCloseTo((Math.PI * 7 ** 2 * 8.5) / 4, 9);
  expect(table(marram, 'mixing-level')).toBeNull();
});

it('A plant survives JSON but for the vessels without limit', () => {
  const plant = plantFrom(example('marram-point'));
  const unlimited = Object.values(plant.vessels).filter(
    ({ capacityL }) => capacityL === Number.POSITIVE_INFINITY,
  );
  expect(unlimited.map(({ id }) => id)).toEqual(['purifier', 'waste']);
  const again = JSON.parse(JSON.stringify(plant)) as Plant;
  expect(again.routes).toEqual(plant.routes);
  expect(again.sensors).toEqual(plant.sensors);
  expect(again.process).toEqual(plant.process);
});

describe('The table of a shape', () => {
  const size = fc.integer({ min: 50, max: 3000 });
  const shapes: fc.Arbitrary<Shape> = fc.oneof(
    fc.record({ kind: fc.constant('box' as const), lengthMm: size, widthMm: size, heightMm: size }),
    fc.record({ kind: fc.constant('upright-cylinder' as const), diameterMm: size, heightMm: size }),
    fc.record({ kind: fc.constant('lying-cylinder' as const), diameterMm: size, lengthMm: size }),
  );

  it('rises, and between its rows is off by less than a thousandth of what the vessel holds', () => {
    fc.assert(
      fc.property(shapes, fc.double({ min: 0, max: 1, noNaN: true }), (shape, share) => {
        const table = tableOf(shape);
        const height = heightOf(shape);
        const level = share * height;
        const above = table.findIndex(([rowLevel]) => rowLevel >= level);
        const [l1, c1] = table[Math.max(0, above)] ?? [0, 0];
        const [l0, c0] = table[Math.max(0, above - 1)] ?? [0, 0];
        const between = l1 === l0 ? c1 : c0 + ((c1 - c0) * (level - l0)) / (l1 - l0);
        const full = contentsAt(shape, height);
        expect(Math.abs(between - contentsAt(shape, level))).toBeLessThan(full / 1000);
        for (const [index, [rowLevel, contents]] of table.entries()) {
          const [levelBelow, contentsBelow] = table[index - 1] ?? [-1, -1];
          expect(rowLevel > levelBelow && contents > contentsBelow).toBe(true);
        }
      }),
      { numRuns: 200 },
    );
  });
});
