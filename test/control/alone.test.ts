// One output by itself: what gives way to a load that is isolated, for how long, and what never does. The verdicts are written
// down by the test; what comes of them is a command or none.
import { describe, expect, test } from 'vitest';
import { stepCommissioning } from '../../src/control/commissioning.ts';
import { forbiddenAlone, isAlone } from '../../src/control/guard/alone.ts';
import { command } from '../../src/control/guard/commands.ts';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { ISOLATED_MOST_MS, RENEWAL_SHARE } from '../../src/control/guard/limits.ts';
import type { DeviceState } from '../../src/control/guard/state.ts';
import { initial } from '../../src/control/process/initial.ts';
import { plantAt } from '../tools/coupled.ts';

const PLANT = plantAt('schemas/examples/marram-point.json');
const PUMP = 'supply-pump';
const HEATER = Object.values(PLANT.heaters)[0]?.actuator as string;

function station() {
  const plant = { ...PLANT };
  const draft = initial(plant);
  Object.assign(draft.link, { up: true, echoAgeMs: 0 });
  for (const state of Object.values(draft.devices)) state.provenOff = true;
  const device = (id: string) => draft.devices[id] as DeviceState;
  const alone = (output: string, isolated = true, renewed = true) => ({ output, isolated, renewed });
  return {
    plant,
    draft,
    device,
    alone,
    /** A row of this id forbids what uses the output. */
    forbid: (id: string, output: string) => {
      const row = deriveRows(plant).find(
        (one) => one.id === id && one.forbids.some((target) => uses(target, output)),
      );
      if (row === undefined) throw new Error(`no ${id} about ${output}`);
      for (const target of row.forbids) draft.verdicts[target] = [row.key];
    },
    told: (output: string, isolated = true, renewed = true) =>
      command(
        plant,
        draft,
        { targets: [], signals: [], alone: alone(output, isolated, renewed) },
        true,
      ).flatMap((effect) =>
        effect.do === 'command' && effect.actuator !== plant.alive
          ? [`${effect.actuator} ${effect.on ? 'on' : 'off'}`]
          : [],
      ),
  };
}
const uses = (target: string, output: string): boolean =>
  [...(PLANT.routes[target]?.through ?? []), PLANT.heaters[target]?.actuator].includes(output);

describe('one output by itself', () => {
  test('is told on, and nothing beside it', () => {
    expect(station().told(PUMP)).toEqual([`${PUMP} on`]);
  });

  test('waits until every other output is proven off', () => {
    const s = station();
    s.device('fill-valve' in PLANT.actuators ? 'fill-valve' : 'inlet-valve').provenOff = false;
    expect(isAlone(s.plant, s.draft, PUMP)).toBe(false);
    expect(s.told(PUMP)).not.toContain(`${PUMP} on`);
  });

  test.each(['I-05', 'I-07', 'I-12', 'I-15', 'I-20'])(
    '%s gives way to an isolated load, and to no other',
    (id) => {
      const s = station();
      s.forbid(id, PUMP);
      expect(s.told(PUMP, false)).toEqual([]);
      expect(s.told(PUMP, true)).toEqual([`${PUMP} on`]);
    },
  );

  test.each(['I-11', 'I-21', 'I-23', 'I-24', 'I-25', 'I-27'])('%s never gives way', (id) => {
    const s = station();
    s.forbid(id, PUMP);
    expect(forbiddenAlone(s.plant, s.draft, s.alone(PUMP))).toHaveLength(1);
    expect(s.told(PUMP)).toEqual([]);
  });

  test.each(['I-01', 'I-02', 'I-03', 'I-04'])('%s, against overflow, never gives way', (id) => {
    const s = station();
    s.forbid(id, 'inlet-valve');
    expect(s.told('inlet-valve')).toEqual([]);
  });

  test.each(['I-12', 'I-16', 'I-18'])(
    '%s never gives way for a heater: it is isolated and under water, both',
    (id) => {
      const s = station();
      s.forbid(id, HEATER);
      expect(s.told(HEATER)).toEqual([]);
    },
  );

  test('they give way for 10 s and no longer, but for one unrenewed on that takes longer', () => {
    const s = station();
    s.forbid('I-05', PUMP);
    const { leaseMs } = PLANT.actuators[PUMP] as (typeof PLANT.actuators)[string];
    expect(leaseMs).toBeGreaterThan(ISOLATED_MOST_MS);
    Object.assign(s.device(PUMP), { on: true, sinceMs: ISOLATED_MOST_MS, sinceSentMs: 0 });
    expect(s.told(PUMP)).toEqual([]);
    s.device(PUMP).sinceMs = ISOLATED_MOST_MS + 1;
    expect(s.told(PUMP)).toEqual([`${PUMP} off`]);
    Object.assign(s.device(PUMP), { on: true, sinceMs: leaseMs, sinceSentMs: leaseMs });
    expect(s.told(PUMP, true, false)).toEqual([]);
    s.device(PUMP).sinceMs = leaseMs + 1;
    expect(s.told(PUMP, true, false)).toEqual([`${PUMP} off`]);
  });

  test('unrenewed it is told once; renewed it is told again when a third is used', () => {
    const s = station();
    const { leaseMs } = PLANT.actuators[PUMP] as (typeof PLANT.actuators)[string];
    expect(s.told(PUMP, true, false)).toEqual([`${PUMP} on`]);
    s.device(PUMP).sinceSentMs = leaseMs * RENEWAL_SHARE;
    expect(s.told(PUMP, true, false)).toEqual([]);
    expect(s.told(PUMP, true, true)).toEqual([`${PUMP} on`]);
  });
});

test('While a station is commissioned no phase works: what would start by itself does not, and nobody can start it', () => {
  const plant = PLANT;
  let state = initial(plant);
  const go = (inputs: Parameters<typeof stepCommissioning>[2]['inputs']) => {
    const done = stepCommissioning(plant, state, { elapsedMs: 1_000, inputs, tick: true }, null);
    state = done.state;
    return done.effects;
  };
  go([{ type: 'link', up: true }, { type: 'echo' }]);
  const effects = go([
    { type: 'echo' },
    { type: 'request', id: 'start', request: { ask: 'start', unit: 'refill' } },
  ]);
  expect(effects.find((effect) => effect.do === 'answer')).toMatchObject({
    accepted: false,
    words: { id: 'commissioning-under-way' },
  });
  for (let n = 0; n < 30; n++)
    expect(
      go([{ type: 'echo' }]).filter(
        (effect) => effect.do === 'command' && effect.on && effect.actuator !== plant.alive,
      ),
    ).toEqual([]);
  expect([state.refill.procedure, state.batch.procedure]).toEqual(['idle', 'idle']);
});
