// The exchange: every step ends, two systems take turns at one vat, and a system whose level nothing reports is looked at
// before it can run over.

import { describe, expect, test } from 'vitest';
import { deriveRows, judge, rowOf } from '../../src/control/guard/interlocks.ts';
import { ledgersOf } from '../../src/control/guard/ledger.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Plant } from '../../src/station/plant.ts';
import { type Coupled, couple, fileOf, plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
const work = ({ exchange }: State, id: string) => exchange[id] as State['exchange'][string];
const stationAt = (name: string, otherwise: Readonly<Record<string, unknown>> = {}): Plant =>
  structuredClone(plantAt(fileOf(name), otherwise));

/** The pumps at the ends of what the file says: each step brings more than it takes. */
function biased(plant: Plant): Coupled {
  const coupled = couple(plant, { onEffect: () => {} });
  for (const line of coupled.twin.works.lines) {
    const { id, flowLeastLpm, flowMostLpm } = line.route;
    if (id === 'supply') Object.assign(line, { fullLpm: flowMostLpm });
    if (id === 'drain') Object.assign(line, { fullLpm: flowLeastLpm });
  }
  return coupled;
}

const floorL = ({ twin }: Coupled): number =>
  twin.world.floorL + Object.values(twin.world.ledger.spilled).reduce((sum, { litres }) => sum + litres, 0);

describe('I-42: a system whose level nothing reports', () => {
  test('does not run over by drift, because somebody is asked to look before it can', () => {
    const coupled = biased(stationAt('bare-system'));
    coupled.run(3 * DAY_MS);
    expect(floorL(coupled)).toBe(0);
    expect(coupled.twin.person.looks()).toBeGreaterThan(3);
    expect(coupled.twin.world.ledger.deliveredL).toBeGreaterThan(20);
  });

  test('runs over without that bound', () => {
    const plant = stationAt('bare-system');
    Object.assign(ledgersOf(plant).system ?? {}, { boundL: Number.POSITIVE_INFINITY });
    const coupled = biased(plant);
    expect(coupled.run(4 * DAY_MS, (now) => floorL(now) > 0)).toBe(true);
  });

  test('stops when nobody looks, is told after half an hour, and goes on after the look', () => {
    const coupled = couple(stationAt('bare-system'), { faults: ['nobody-there:all@2h'] });
    const state = coupled.state;
    coupled.run(DAY_MS, () => state().tasks.system?.task === 'look');
    const { steps } = work(state(), 'system');
    coupled.run(3 * HOUR_MS);
    expect(work(state(), 'system').steps).toBe(steps);
    expect(state().alarms['I-42/drain']).toMatchObject({ active: true, priority: 'soon' });
    coupled.request({ ask: 'level-right', system: 'system', who: 'Ada' });
    coupled.run(10_000);
    expect(state().tasks.system).toBeNull();
    expect(work(state(), 'system').differenceErrorL).toBeLessThan(1e-6);
    expect(state().verdicts.drain ?? []).not.toContain('I-42/drain');
  });

  test('is looked at less often the better the routes are known', () => {
    const plain = ledgersOf(stationAt('bare-system')).system;
    const narrow = { least: '0.49 gal/min', most: '0.51 gal/min' };
    const known = ledgersOf(
      stationAt('bare-system', { '/routes/supply/flow': narrow, '/routes/drain/flow': narrow }),
    ).system;
    expect(plain?.daysPerLook).toBeLessThan(0.3);
    expect(known?.daysPerLook).toBeGreaterThan(0.6);
  });

  test.each(['marram-point', 'one-vat', 'unequal-vats', 'bench-rig', 'two-systems'])(
    '%s has floats there, and no such row',
    (name) => {
      expect(deriveRows(stationAt(name)).filter(({ id }) => id === 'I-42')).toEqual([]);
    },
  );

  test('the doubt forbids the drain before a step, and never leaves a step that has begun without its supply', () => {
    const plant = stationAt('bare-system');
    const coupled = couple(plant, { onEffect: () => {} });
    coupled.run(60_000);
    const state = structuredClone(coupled.state());
    const { stepErrorL, boundL } = ledgersOf(plant).system as { stepErrorL: number; boundL: number };
    Object.assign(work(state, 'system'), { differenceErrorL: boundL - stepErrorL + 0.1, step: 'rest' });
    judge(plant, state, 0);
    expect(state.verdicts.drain).toContain('I-42/drain');
    expect(state.verdicts.supply ?? []).not.toContain('I-42/supply');
    Object.assign(work(state, 'system'), { differenceErrorL: boundL - 0.1, step: 'drain', stepL: 3.8 });
    judge(plant, state, 0);
    expect(state.verdicts.drain ?? []).not.toContain('I-42/drain');
    Object.assign(work(state, 'system'), { differenceErrorL: boundL, differenceL: -0.1, step: 'supply' });
    judge(plant, state, 0);
    expect(state.verdicts.supply).toContain('I-42/supply');
    expect(rowOf(plant, 'I-42/supply')?.bypass.may).toBe(false);
  });

  test('is refused a new ledger in the middle of a step, and from nobody', () => {
    const coupled = couple(stationAt('bare-system'));
    coupled.run(DAY_MS, ({ state }) => work(state(), 'system').step === 'drain');
    const ask = (who: string): string | undefined => {
      coupled.request({ ask: 'level-right', system: 'system', who });
      coupled.run(5_000);
      return coupled.log.flatMap(({ effect }) => (effect.do === 'answer' ? [say(effect.words)] : [])).at(-1);
    };
    expect(ask('Ada')).toMatch(/a step is under way/);
    expect(ask(' ')).toBe('say who looked');
  });
});

describe('a step', () => {
  /** Runs until a step drains, and a little on. */
  const draining = (): Coupled => {
    const coupled = couple(stationAt('two-systems'));
    coupled.run(10 * HOUR_MS);
    coupled.request({ ask: 'exchange-now', system: 'system', volumeL: 8 });
    coupled.run(HOUR_MS, ({ state }) => work(state(), 'system').differenceL > 1.5);
    expect(work(coupled.state(), 'system').step).toBe('drain');
    return coupled;
  };

  test('that meets a low system delivers what it has drained', () => {
    const coupled = draining();
    coupled.input({ type: 'reading', sensor: 'system-low', value: false, live: true });
    coupled.run(10_000);
    expect(work(coupled.state(), 'system').step).toBe('supply');
    coupled.run(HOUR_MS / 6, ({ state }) => work(state(), 'system').step === 'rest');
    expect(Math.abs(work(coupled.state(), 'system').differenceL)).toBeLessThan(0.3);
  });

  test('whose supply is forbidden ends, owes the rest, and brings it before it drains again', () => {
    const coupled = draining();
    const state = coupled.state;
    coupled.run(HOUR_MS / 6, () => work(state(), 'system').step === 'supply');
    coupled.request({ ask: 'out-of-service', device: 'supply-pump', reason: 'it squeaks' });
    coupled.run(60_000);
    const owedL = work(state(), 'system').differenceL;
    expect([work(state(), 'system').step, owedL > 2]).toEqual(['rest', true]);
    // The other tank is not kept waiting by it.
    coupled.request({ ask: 'exchange-now', system: 'second', volumeL: 3.7 });
    expect(coupled.run(HOUR_MS, () => work(state(), 'second').requestedL < 0.1)).toBe(true);
    coupled.request({ ask: 'into-service', device: 'supply-pump' });
    const steps = new Set<string>();
    coupled.run(HOUR_MS / 2, () => {
      steps.add(work(state(), 'system').step);
      return work(state(), 'system').differenceL <= 0;
    });
    expect([...steps]).not.toContain('drain');
    expect(work(state(), 'system').differenceL).toBeLessThanOrEqual(0);
  });
});

describe('a request of many steps', () => {
  test('counts what the pump brings while it runs down, and brings what was asked for', () => {
    const coupled = couple(stationAt('marram-point', { '/process/exchange/system/perDay': '0 %' }), {
      stepMs: 2000,
      onEffect: () => {},
    });
    const state = coupled.state;
    expect(coupled.run(DAY_MS, () => state().batch.stage === 'ready')).toBe(true);
    const askedL = 100;
    coupled.request({ ask: 'exchange-now', system: 'system', volumeL: askedL });
    coupled.run(10_000);
    let countedL = 0;
    const count = () => {
      countedL += state().routes.supply?.movedL ?? 0;
      return false;
    };
    coupled.run(DAY_MS, () => {
      count();
      return work(state(), 'system').requestedL <= 0 && work(state(), 'system').step === 'rest';
    });
    coupled.run(60_000, count);
    const { steps } = work(state(), 'system');
    expect(steps).toBeGreaterThan(10);
    expect(countedL).toBeGreaterThan(askedL - 0.1);
    // No more than one tick and the run-down of the last step is beyond it.
    expect(countedL).toBeLessThan(askedL + 2);
    // The twin's meter loses a little at each start, so that a little more is true than is counted.
    expect(coupled.twin.world.ledger.deliveredL / countedL).toBeCloseTo(1, 1);
  });
});

describe('two systems at one vat', () => {
  const coupled = couple(stationAt('two-systems'));
  const state = coupled.state;
  coupled.run(10 * HOUR_MS);
  coupled.request({ ask: 'exchange-now', system: 'second', volumeL: 31 });
  coupled.run(6 * HOUR_MS);
  for (const system of ['system', 'second']) coupled.request({ ask: 'exchange-now', system, volumeL: 3.7 });

  test('are never in a step at the same time, and both get their water', () => {
    let both = 0;
    coupled.run(DAY_MS, () => {
      if (Object.values(state().exchange).every(({ step }) => step !== 'rest')) both += 1;
      return Object.values(state().exchange).every(({ requestedL }) => requestedL < 0.1);
    });
    expect(both).toBe(0);
    for (const id of ['system', 'second']) expect(work(state(), id).requestedL).toBeLessThan(0.1);
  });

  test('take turns: who has rested longest goes first', () => {
    const order: string[] = [];
    for (const system of ['system', 'second']) coupled.request({ ask: 'exchange-now', system, volumeL: 12 });
    let last = '';
    coupled.run(2 * DAY_MS, () => {
      const [now] = Object.entries(state().exchange).find(([, { step }]) => step === 'drain') ?? [''];
      if (now !== '' && now !== last) order.push(now);
      last = now === '' ? '' : now;
      return order.length >= 6;
    });
    for (let at = 1; at < order.length; at++) expect(order[at]).not.toBe(order[at - 1]);
  });
});
