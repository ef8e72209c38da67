// Nothing starts and nothing resumes by itself before commissioning: the same station, with and without.
import { describe, expect, test } from 'vitest';
import {
  type Commissioned,
  commissionedAs,
  isWithheld,
  starterOf,
} from '../../src/control/process/commissioned.ts';
import { initial } from '../../src/control/process/initial.ts';
import { mayRestart } from '../../src/control/process/units.ts';
import { step } from '../../src/control/step.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { walk } from './steps.ts';

const plant = plantAt('test/stations/bench-rig.json');
const NOBODY: Commissioned = { missing: 3, waiver: null };
const waived = (leftMs: number): Commissioned => ({
  missing: 3,
  waiver: { leftMs, who: 'Kim', reason: 'the isolator comes on Monday' },
});

/** Linked, everything heard, the purified water low: a refill and an exchange would begin. */
function begun(commissioned: Commissioned | null) {
  const from = initial(plant);
  const s = walk(plant, commissioned === null ? from : commissionedAs(from, commissioned));
  s.go([{ type: 'link', up: true }]);
  for (const id of Object.keys(plant.sensors)) {
    const { measures } = plant.sensors[id] as (typeof plant.sensors)[string];
    const values: Readonly<Record<string, number | boolean>> = {
      float: id.endsWith('-low'),
      leak: false,
      level: 2,
      temperature: 20,
      conductivity: 0.1,
      flow: 0,
      total: 0,
    };
    s.go([{ type: 'reading', sensor: id, value: values[measures] ?? 0, live: true }]);
  }
  s.wait(8);
  return s;
}

describe('before commissioning', () => {
  test('nothing starts by itself; with everything passed, or where the water is simulated, it does', () => {
    expect(begun(null).state.refill.procedure).toBe('running');
    expect(begun({ missing: 0, waiver: null }).state.refill.procedure).toBe('running');
    const { state, effects } = begun(NOBODY);
    expect([state.refill.procedure, state.batch.procedure, state.exchange.system?.procedure]).toEqual([
      'idle',
      'idle',
      'idle',
    ]);
    expect(effects.filter((effect) => effect.do === 'command' && effect.on)).toEqual([]);
  });

  test('a person may start it', () => {
    const s = begun(NOBODY);
    expect(s.ask({ ask: 'start', unit: 'refill' })).not.toMatch(/^refused/u);
    expect(s.state.refill.procedure).toBe('running');
  });

  test('nothing resumes by itself', () => {
    const unit = { ...initial(plant).refill, procedure: 'held', cause: 'link', restarts: 5 } as const;
    expect(mayRestart(plant, initial(plant), unit)).toBe(true);
    expect(mayRestart(plant, commissionedAs(initial(plant), NOBODY), unit)).toBe(false);
  });

  test('it is said for as long as it is so, and a waiver by whom and why', () => {
    const told = (commissioned: Commissioned) => {
      const alarm = begun(commissioned).state.alarms['A-11/commissioning'];
      return alarm === undefined ? null : [alarm.priority, say(alarm.words, plant)];
    };
    expect(told(NOBODY)).toEqual([
      'soon',
      expect.stringMatching(/^Not commissioned: 3 items have not passed\. Nothing starts/u),
    ]);
    expect(told(waived(60_000))).toEqual([
      'notice',
      expect.stringMatching(/Kim has waived that for a while: the isolator comes on Monday/u),
    ]);
    expect(told({ missing: 0, waiver: null })).toBeNull();
  });

  test('a waiver lets it work, and ends by itself when its time is over', () => {
    expect(begun(waived(3_600_000)).state.refill.procedure).toBe('running');
    let state = commissionedAs(initial(plant), waived(2_500));
    const go = () => {
      const done = step(plant, state, { elapsedMs: 1_000, inputs: [], tick: true });
      state = done.state;
      return done.effects.filter((effect) => effect.do === 'record' && effect.about === 'commissioning')
        .length;
    };
    expect([go(), go(), go(), go()]).toEqual([0, 0, 1, 0]);
    expect([isWithheld(state), starterOf(plant, state, 'batch')]).toEqual([true, 'person']);
  });
});
