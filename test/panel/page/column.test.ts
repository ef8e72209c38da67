import '../../seed.ts';
import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { columnOf } from '../../../src/panel/page/drawing/column.ts';
import { boxesOf } from '../../../src/panel/page/drawing/scale.ts';
import { loadStation } from '../../../src/station/load.ts';
import type { Plant, Route, Vessel } from '../../../src/station/plant.ts';

const FILES = [
  ...readdirSync('schemas/examples')
    .filter((name) => name.endsWith('.json'))
    .map((name) => `schemas/examples/${name}`),
  'test/stations/bench-rig.json',
];

function plantIn(file: string): Plant {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(file);
  return loaded.plant;
}

type Plumbing = Pick<Plant, 'vessels' | 'routes' | 'heaters' | 'dosers'>;

/** What a drawing must be, whatever the plumbing. */
function check(plumbing: Plumbing): void {
  const { rows, pieces } = columnOf(plumbing);
  const ids = rows.map(({ kind, id }) => `${kind === 'loop' ? 'route' : kind} ${id}`).toSorted();
  const wanted = [
    ...Object.keys(plumbing.vessels).map((id) => `vessel ${id}`),
    ...Object.keys(plumbing.routes).map((id) => `route ${id}`),
    ...Object.keys(plumbing.heaters).map((id) => `heater ${id}`),
    ...Object.keys(plumbing.dosers).map((id) => `doser ${id}`),
  ].toSorted();
  expect(ids, 'each vessel and target stands there once').toEqual(wanted);
  for (const route of Object.values(plumbing.routes).filter(({ loop }) => !loop)) {
    const at = pieces.flatMap((row, index) =>
      row.filter((piece) => piece.route === route.id).map((piece) => ({ ...piece, index })),
    );
    const rowOf = (kind: string, id: string) => rows.findIndex((row) => row.kind === kind && row.id === id);
    expect(at.map(({ index }) => index)).toEqual(Array.from(at, (_, i) => (at[0]?.index ?? 0) + i));
    expect(at.filter(({ part }) => part === 'leaves')).toHaveLength(1);
    expect(at.find(({ part }) => part === 'leaves')?.index).toBe(rowOf('vessel', route.from));
    expect(at.find(({ part }) => part === 'arrives')?.index).toBe(rowOf('vessel', route.to));
    expect(at.find(({ part }) => part === 'devices')?.index).toBe(rowOf('route', route.id));
    expect(new Set(at.map(({ lane }) => lane)).size, 'one lane from end to end').toBe(1);
  }
  for (const [index, row] of pieces.entries()) {
    const inside = row.filter(({ part }) => part === 'passes' || part === 'devices');
    const lanes = inside.map(({ lane }) => lane);
    expect(new Set(lanes).size, `row ${index}: no pipe lies on another`).toBe(lanes.length);
    if (rows[index]?.kind === 'vessel')
      expect(
        inside.every(({ lane }) => lane > 0),
        'no pipe runs through a vessel',
      ).toBe(true);
  }
}

const vessel = (id: string, role: Vessel['role']): Vessel =>
  ({
    id,
    role,
    capacityL: role === 'waste' || role === 'purified-water' ? Infinity : 100,
    shape: null,
  }) as Vessel;
const route = (id: string, from: string, to: string): Route =>
  ({ id, from, to, loop: from === to, through: [`${id}-pump`] }) as unknown as Route;

/** Any plumbing with at most a dozen vessels; not every one of them could run, but every one must draw. */
const plumbings = fc
  .record({
    sources: fc.integer({ min: 1, max: 3 }),
    systems: fc.integer({ min: 1, max: 4 }),
    hasFresh: fc.boolean(),
    ways: fc.array(fc.tuple(fc.nat(), fc.nat()), { maxLength: 14 }),
  })
  .map(({ sources, systems, hasFresh, ways }): Plumbing => {
    const vessels = [
      ...Array.from({ length: sources }, (_, i) => vessel(`source-${i}`, 'purified-water')),
      ...(hasFresh ? [vessel('fresh', 'fresh')] : []),
      vessel('mixing', 'mixing'),
      ...Array.from({ length: systems }, (_, i) => vessel(`system-${i}`, 'system')),
      vessel('waste', 'waste'),
    ];
    const drawn = vessels.filter(({ role }) => role !== 'waste');
    const filled = vessels.filter(({ role }) => role !== 'purified-water');
    const routes = ways.map(([a, b], i) => {
      const from = drawn[a % drawn.length]?.id ?? 'mixing';
      const to = filled[b % filled.length]?.id ?? 'mixing';
      return route(`way-${i}`, from, to);
    });
    return {
      vessels: Object.fromEntries(vessels.map((one) => [one.id, one])),
      routes: Object.fromEntries(routes.map((one) => [one.id, one])),
      heaters: {},
      dosers: {},
    };
  });

describe('the column', () => {
  test.each(FILES)('%s draws: everything once, no pipe on another or through a vessel', (file) => {
    check(plantIn(file));
  });

  test('any plumbing draws', () => {
    fc.assert(fc.property(plumbings, check));
  });

  test('in the plain station every way falls straight down the middle', () => {
    expect(columnOf(plantIn('schemas/examples/marram-point.json')).sideLanes).toBe(0);
  });

  test('a flush past the vats runs beside them', () => {
    expect(columnOf(plantIn('schemas/examples/unequal-vats.json')).sideLanes).toBeGreaterThan(0);
  });
});

describe('the scale', () => {
  test.each(FILES)('%s: twice the measure is twice the picture, and a full vessel is full', (file) => {
    const { vessels } = plantIn(file);
    const boxes = boxesOf(vessels, 170, 170);
    const finite = Object.values(vessels).filter(({ capacityL }) => Number.isFinite(capacityL));
    expect(Object.keys(boxes).toSorted()).toEqual(finite.map(({ id }) => id).toSorted());
    for (const { id, capacityL } of finite) {
      const box = boxes[id];
      expect(box?.width).toBeLessThanOrEqual(170 + 1e-9);
      expect(box?.surface(0)).toBe(0);
      expect(box?.surface(capacityL)).toBeCloseTo(box?.height ?? 0, 6);
      expect(box?.surface(capacityL / 2)).toBeCloseTo((box?.height ?? 0) / 2, 6);
    }
  });

  test('of two cubes the one with eight times the litres is twice as wide', () => {
    const { small, large } = boxesOf(
      { small: vessel('small', 'fresh'), large: { ...vessel('large', 'system'), capacityL: 800 } },
      400,
      400,
    );
    expect((large?.width ?? 0) / (small?.width ?? 1)).toBeCloseTo(2, 9);
  });
});
