import { describe, expect, it } from 'vitest';
import type { Asked, Told } from '../../src/simulate/person.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { salinityOf } from '../../src/simulate/world.ts';
import { marram } from './stations.ts';

const MINUTE_MS = 60_000;
const asked = (task: Asked['task'], massKg: number | null = null): Asked => ({
  task,
  vessel: 'mixing',
  massKg,
  message: { text: 'please' },
});

/** Minutes until the person speaks, and what they say. */
function waited(twin: Twin, mostMinutes: number): [number, readonly Told[]] {
  for (let minute = 1; minute <= mostMinutes; minute++) {
    twin.advance(MINUTE_MS);
    const told = twin.told();
    if (told.length > 0) return [minute, told];
  }
  return [Number.POSITIVE_INFINITY, []];
}

describe('the person', () => {
  it('pours what is asked within two to ten minutes, by a scale that is half a percent off at most', () => {
    for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
      const twin = makeTwin(marram, seed);
      twin.ask('mixing', asked('add-salt', 8.567));
      const [minutes, told] = waited(twin, 15);
      expect(minutes).toBeGreaterThanOrEqual(2);
      expect(minutes).toBeLessThanOrEqual(11);
      expect(told).toEqual([{ ask: 'salt-added', massKg: 8.57 }]);
      expect(Math.abs((twin.world.bodies.mixing?.undissolvedKg ?? 0) / 8.57 - 1)).toBeLessThanOrEqual(0.005);
    }
  });

  it('does not pour twice when nobody seems to have heard: only the words are said again, and not for ever', () => {
    const twin = makeTwin(marram, 1);
    twin.ask('mixing', asked('add-salt', 2));
    let times = 0;
    for (let minute = 0; minute < 600; minute++) {
      twin.advance(MINUTE_MS);
      times += twin.told().length;
    }
    expect(times).toBe(5);
    expect(twin.world.ledger.productAddedKg.mixing).toBeCloseTo(2, 1);
  });

  it('does not pour again when the same sheet is hung up once more, and does when another dose is asked', () => {
    const twin = makeTwin(marram, 1);
    twin.ask('mixing', asked('add-salt', 2));
    waited(twin, 15);
    twin.ask('mixing', { ...asked('add-salt', 2), message: { text: 'pretty please' } });
    twin.advance(5 * MINUTE_MS);
    expect(twin.world.ledger.productAddedKg.mixing).toBeCloseTo(2, 1);
    twin.ask('mixing', asked('add-salt', 0.3));
    waited(twin, 15);
    expect(twin.world.ledger.productAddedKg.mixing).toBeCloseTo(2.3, 1);
  });

  it('pours the same dose again when the first task was taken away and a new one appears', () => {
    const twin = makeTwin(marram, 1);
    for (const _ of [1, 2]) {
      twin.ask('mixing', asked('add-salt', 2));
      waited(twin, 15);
      twin.ask('mixing', null);
    }
    expect(twin.world.ledger.productAddedKg.mixing).toBeCloseTo(4, 1);
  });

  it('does nothing for a task that was taken away before they came', () => {
    const twin = makeTwin(marram, 1);
    twin.ask('mixing', asked('add-salt', 2));
    twin.advance(MINUTE_MS);
    twin.ask('mixing', null);
    expect(waited(twin, 60)[1]).toEqual([]);
    expect(twin.world.ledger.productAddedKg.mixing).toBe(0);
  });

  it('measures what is true, within what their instrument is worth', () => {
    for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
      const twin = makeTwin(marram, seed);
      twin.ask('system', { ...asked('measure-salinity'), vessel: 'system' });
      const [, [told]] = waited(twin, 15);
      if (told?.ask !== 'salinity-measured') throw new Error('a measurement');
      const body = twin.world.bodies.system;
      expect(body).toBeDefined();
      expect(Math.abs(told.salinity - (body === undefined ? 0 : salinityOf(body)))).toBeLessThan(0.16);
    }
  });

  it('looks when asked to look, and says nothing', () => {
    const twin = makeTwin(marram, 1);
    twin.ask('mixing', asked('look'));
    expect(waited(twin, 60)[1]).toEqual([]);
    expect(twin.person.looks()).toBe(1);
  });
});
