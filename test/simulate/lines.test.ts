import { describe, expect, it } from 'vitest';
import { linesOf } from '../../src/simulate/lines.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { verdictOf } from '../../src/simulate/verdict.ts';
import type { Plant } from '../../src/station/plant.ts';
import { driversOf, marram, unequal } from './stations.ts';

function on(twin: Twin, ids: readonly string[], seconds: number): void {
  for (let second = 0; second < seconds; second++) {
    for (const id of ids) twin.command(id, true, 5000);
    twin.advance(1000);
  }
}

const moved = (twin: Twin, line: string) => twin.world.ledger.moved[line]?.litres ?? 0;

describe('behind a shared pump', () => {
  it('every suction meets every discharge: three listed routes and the one that nobody meant', () => {
    const behind = linesOf(unequal, 1).filter(({ pumps }) => pumps.includes('pump'));
    expect(behind.map(({ route }) => route.id)).toEqual([
      'transfer',
      'circulate',
      'supply',
      'fresh>system by pump',
    ]);
  });

  it('a valve left open lets fresh water into the system, and the judge calls it off spec', () => {
    const twin = makeTwin(unequal, 1, ['stuck-on:draw-fresh@0']);
    on(twin, driversOf(unequal, 'supply'), 60);
    const crossed = moved(twin, 'fresh>system by pump');
    expect(crossed).toBeGreaterThan(3);
    const verdict = verdictOf(twin);
    expect(verdict.deliveredOffSpecL).toBeGreaterThanOrEqual(crossed);
    expect(verdict.litresMoved['fresh>system by pump']).toBe(crossed);
    expect(verdict.balanceErrorShare).toBeLessThan(1e-9);
    expect(verdict.found).toContainEqual(expect.stringMatching(/were delivered outside/u));
  });

  it('the meter of the supply sees both waters, and the pump moves no more than one line would', () => {
    const flow = (faults: readonly string[]) => {
      const twin = makeTwin(unequal, 1, faults);
      twin.pour('mixing', 0.1);
      on(twin, driversOf(unequal, 'transfer'), 300);
      on(twin, [], 20);
      const before = ['supply', 'fresh>system by pump'].map((line) => moved(twin, line));
      on(twin, driversOf(unequal, 'supply'), 120);
      const [supply = 0, crossed = 0] = ['supply', 'fresh>system by pump'].map(
        (line, at) => moved(twin, line) - (before[at] ?? 0),
      );
      const truth = (twin.world.flowLpm.supply ?? 0) + (twin.world.flowLpm['fresh>system by pump'] ?? 0);
      return { supply, crossed, seenShare: Number(twin.present('supply-meter')) / truth };
    };
    const sound = flow([]);
    const faulty = flow(['stuck-on:draw-fresh@310']);
    expect(sound.crossed).toBe(0);
    expect(faulty.crossed).toBeGreaterThan(3);
    expect(Math.abs(faulty.seenShare - 1)).toBeLessThan(0.06);
    expect(faulty.supply / sound.supply).toBeCloseTo(0.5, 1);
    expect((faulty.supply + faulty.crossed) / sound.supply).toBeGreaterThan(0.85);
    expect((faulty.supply + faulty.crossed) / sound.supply).toBeLessThan(1.15);
  });

  it('a listed route alone moves as its file says', () => {
    const twin = makeTwin(unequal, 3);
    on(twin, driversOf(unequal, 'transfer'), 120);
    const { flowLeastLpm, flowMostLpm } = unequal.routes.transfer ?? { flowLeastLpm: 0, flowMostLpm: 0 };
    expect(twin.world.flowLpm.transfer).toBeGreaterThanOrEqual(flowLeastLpm);
    expect(twin.world.flowLpm.transfer).toBeLessThanOrEqual(flowMostLpm);
    expect(verdictOf(twin).litresMoved['fresh>system by pump']).toBeUndefined();
  });
});

describe('a three-way valve', () => {
  /** The circulation pump with a valve that, when on, sends its water to the system instead of round. */
  const { circulate, supply } = marram.routes;
  if (circulate === undefined || supply === undefined) throw new Error('two routes');
  const valve = marram.actuators['supply-pump'];
  if (valve === undefined) throw new Error('an actuator');
  const through = [...circulate.through];
  const plant: Plant = {
    ...marram,
    actuators: { ...marram.actuators, 'supply-pump': { ...valve, kind: 'valve', upstream: null } },
    routes: {
      ...marram.routes,
      circulate: { ...circulate, shut: ['supply-pump'] },
      supply: { ...supply, through: [...through, 'supply-pump'], upstream: circulate.upstream },
    },
  };

  it('sends the water one way or the other, never both', () => {
    const round = makeTwin(plant, 1);
    on(round, driversOf(plant, 'circulate'), 30);
    expect(moved(round, 'circulate')).toBeGreaterThan(1);
    expect(moved(round, 'supply')).toBe(0);
    const away = makeTwin(plant, 1);
    on(away, driversOf(plant, 'supply'), 30);
    expect(moved(away, 'supply')).toBeGreaterThan(1);
    expect(moved(away, 'circulate')).toBe(0);
  });
});

describe('a purifier', () => {
  it('that is open to the vat and to the drain gives each half of what it gives one', () => {
    const alone = makeTwin(unequal, 1);
    on(alone, driversOf(unequal, 'refill'), 600);
    const both = makeTwin(unequal, 1, ['stuck-on:flush-valve@0']);
    on(both, driversOf(unequal, 'refill'), 600);
    expect(moved(both, 'refill') / moved(alone, 'refill')).toBeCloseTo(0.5, 1);
    expect(moved(both, 'flush')).toBeGreaterThan(0);
  });
});
