// Every route and heater x every wet / dry / stale / faulty combination of the contacts that guard it: exactly one verdict,
// and off whenever a needed input is not fresh or says stop. The expectation is worked out here from the plumbing alone.

import { describe, expect, test } from 'vitest';
import { deriveRows, forbiddenBy, isAllowed, judge } from '../../src/control/guard/interlocks.ts';
import { all } from '../../src/control/guard/row-kinds.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Plant } from '../../src/station/plant.ts';
import { say as english } from '../tools/english.ts';
import { baseline, STATIONS } from './baseline.ts';

type Said = 'wet' | 'dry' | 'stale' | 'faulty';
const SAID: readonly Said[] = ['wet', 'dry', 'stale', 'faulty'];

function say(draft: State, sensor: string, said: Said): void {
  const seen = draft.sensors[sensor];
  if (!seen) throw new Error(sensor);
  Object.assign(seen, {
    value: said !== 'dry',
    believed: said !== 'dry',
    live: said !== 'stale',
    fault: said === 'faulty' ? 'unparsable' : null,
    standsMs: 60_000,
    ageMs: 0,
  });
}

/** The contacts that guard a target, each with the one word that permits it. */
function guards(plant: Plant, target: string): [string, Said][] {
  const found = new Map<string, Said>();
  for (const sensor of Object.values(plant.sensors))
    if (sensor.measures === 'leak') found.set(sensor.id, 'dry');
  const floats = (vessel: string) => plant.vessels[vessel]?.floats ?? {};
  const route = plant.routes[target];
  if (route) {
    const { high, overflow } = floats(route.to);
    if (!route.loop && high) found.set(high, 'dry');
    if (!route.loop && overflow) found.set(overflow, 'dry');
    const { low } = floats(route.from);
    if (route.pumped && low) found.set(low, 'wet');
    const topOff = plant.vessels[route.from]?.topOff;
    if (route.purpose === 'drain' && topOff) found.set(topOff, 'dry');
  }
  const heater = plant.heaters[target];
  if (heater) {
    const { low } = floats(heater.vessel);
    if (low) found.set(low, 'wet');
  }
  return [...found];
}

function combinations(count: number): Said[][] {
  if (count === 0) return [[]];
  return combinations(count - 1).flatMap((rest) => SAID.map((said) => [...rest, said]));
}

describe.each(Object.keys(STATIONS))('%s', (name) => {
  const { plant, draft } = baseline(name);
  const targets = [...Object.keys(plant.routes), ...Object.keys(plant.heaters)];

  test.each(targets)('%s runs only while every contact that guards it freshly permits it', (target) => {
    const watched = guards(plant, target);
    expect(watched.length).toBeLessThanOrEqual(7);
    let permitted = 0;
    for (const combination of combinations(watched.length)) {
      const state = draft();
      for (const [index, [sensor]] of watched.entries()) say(state, sensor, combination[index] ?? 'stale');
      judge(plant, state, 0);
      const permits = combination.every((said, index) => said === watched[index]?.[1]);
      const allowed = isAllowed(state, target);
      expect(allowed).toBe(forbiddenBy(state, target).length === 0);
      if (!permits) expect({ target, combination, allowed }).toEqual({ target, combination, allowed: false });
      if (allowed) permitted += 1;
    }
    expect(permitted).toBeLessThanOrEqual(1);
  });

  test('a healthy station at rest forbids no route that its phases may need', () => {
    const state = draft();
    judge(plant, state, 0);
    const needed = Object.values(plant.routes).filter((r) =>
      ['circulate', 'supply', 'drain'].includes(r.purpose),
    );
    for (const route of needed)
      expect({ route: route.id, by: forbiddenBy(state, route.id) }).toEqual({ route: route.id, by: [] });
  });

  test('every row has a key of its own, forbids something that exists, and a trip tells a person what to do', () => {
    const rows = deriveRows(plant);
    expect(new Set(rows.map((row) => row.key)).size).toBe(rows.length);
    const exists = new Set(all(plant));
    for (const row of rows) {
      expect(row.forbids.length, row.key).toBeGreaterThan(0);
      for (const target of row.forbids) expect(exists.has(target), `${row.key} forbids ${target}`).toBe(true);
      expect(english(row.words).length, row.key).toBeGreaterThan(10);
      if (row.priority !== null) expect(english(row.response).length, row.key).toBeGreaterThan(10);
    }
  });
});
