// The last file of a step by itself: from what is wanted, and what is allowed, to commands. No other stage runs here: the
// wishes and the verdicts are written down by the test, and so is every command that must come of them.
import { describe, expect, test } from 'vitest';
import { command } from '../../src/control/guard/commands.ts';
import { AGE_CAP_MS, OFF_REPEAT_MS, OFF_REPEATS, OFF_SLOW_MS } from '../../src/control/guard/limits.ts';
import type { DeviceState } from '../../src/control/guard/state.ts';
import type { Effect } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import { plantAt } from '../tools/coupled.ts';

const STATIONS = {
  'marram-point': plantAt('schemas/examples/marram-point.json'),
  'unequal-vats': plantAt('schemas/examples/unequal-vats.json'),
} as const;

/** Everything is proven off, the link is up and its echo fresh; nothing is forbidden. */
function station(name: keyof typeof STATIONS = 'marram-point') {
  // One of its own: what the core works out once for a plant is worked out for each test.
  const plant = { ...STATIONS[name] };
  const draft = initial(plant);
  Object.assign(draft.link, { up: true, echoAgeMs: 0 });
  const device = (id: string): DeviceState => {
    const found = draft.devices[id];
    if (!found) throw new Error(id);
    return found;
  };
  for (const state of Object.values(draft.devices)) state.provenOff = true;
  const say = (effect: Effect): string => {
    if (effect.do !== 'command') return effect.do;
    return effect.on ? `${effect.actuator} on ${effect.leaseMs}` : `${effect.actuator} off ${effect.leaseMs}`;
  };
  return {
    plant,
    draft,
    device,
    /** Is on, and says so. */
    runs: (id: string, sinceSentMs = 0) =>
      Object.assign(device(id), {
        on: true,
        provenOff: false,
        sinceSentMs,
        feedback: true,
        feedbackLive: true,
        feedbackAgeMs: 0,
      }),
    tick: (targets: readonly string[] = [], signals: readonly string[] = []) =>
      command(plant, draft, { targets: [...targets], signals: [...signals] }, true).map(say),
    between: (targets: readonly string[] = [], signals: readonly string[] = []) =>
      command(plant, draft, { targets: [...targets], signals: [...signals] }, false).map(say),
  };
}

describe('what is granted', () => {
  test('what is wanted and not forbidden, from the supply downwards', () => {
    const s = station();
    expect(s.tick(['refill'])).toEqual([
      'alive-lamp on 90000',
      'inlet-valve on 60000',
      'master-valve on 90000',
    ]);
  });

  test('not what a row forbids', () => {
    const s = station();
    s.draft.verdicts = { refill: ['I-01/refill'] };
    expect(s.tick(['refill'])).toEqual(['alive-lamp on 90000']);
  });

  test('of two that exclude each other the one that is wanted first', () => {
    const first = station('unequal-vats');
    expect(first.tick(['refill', 'flush'])).toEqual(['inlet-valve on 20000', 'master-valve on 60000']);
    const second = station('unequal-vats');
    expect(second.tick(['flush', 'refill'])).toEqual(['flush-valve on 20000', 'master-valve on 60000']);
    const forbidden = station('unequal-vats');
    forbidden.draft.verdicts = { refill: ['I-01/refill'] };
    expect(forbidden.tick(['refill', 'flush'])).toEqual(['flush-valve on 20000', 'master-valve on 60000']);
  });

  test('a wish that stands twice is one, and others beside it stay', () => {
    const s = station('unequal-vats');
    expect(s.tick(['refill', 'refill', 'drain'])).toEqual([
      'inlet-valve on 20000',
      'master-valve on 60000',
      'drain-pump on 20000',
    ]);
  });

  test('a signal needs no row', () => {
    const s = station();
    expect(s.tick([], ['top-off-inhibit'])).toEqual(['alive-lamp on 90000', 'top-off-inhibit on 90000']);
  });
});

describe('the sign of life', () => {
  test.each([
    ['the link is down', { up: false }, []],
    ['the echo is older than the station allows', { echoAgeMs: 30_001 }, []],
    ['the echo is just young enough', { echoAgeMs: 30_000 }, ['alive-lamp on 90000']],
    ['the service is late', { lateMs: 1 }, []],
  ])('%s', (_, link, expected) => {
    const s = station();
    Object.assign(s.draft.link, link);
    expect(s.tick()).toEqual(expected);
  });

  test('a station without one has none', () => {
    expect(station('unequal-vats').tick()).toEqual([]);
  });
});

describe('a pump waits until everything on its way is open', () => {
  const ways = ['pump-contactor', 'draw-fresh', 'to-mixing'];

  test('its valves and its supply first', () => {
    const s = station('unequal-vats');
    expect(s.tick(['transfer'])).toEqual([
      'pump-contactor on 60000',
      'to-mixing on 20000',
      'draw-fresh on 20000',
    ]);
    expect(s.tick(['transfer'])).toEqual([]);
    for (const id of ways)
      Object.assign(s.device(id), { feedback: true, feedbackLive: true, feedbackAgeMs: 0 });
    expect(s.tick(['transfer'])).toEqual(['pump on 20000']);
  });

  test.each(ways)('not while %s says nothing, or says off', (missing) => {
    for (const wrong of [{ feedback: false }, { feedbackLive: false }]) {
      const s = station('unequal-vats');
      for (const id of ways) s.runs(id);
      Object.assign(s.device(missing), wrong);
      expect(s.tick(['transfer'])).toEqual([]);
    }
  });

  test('a valve of another way does not open this one', () => {
    const s = station('unequal-vats');
    for (const id of ['pump-contactor', 'draw-mixing', 'to-mixing']) s.runs(id);
    expect(s.tick(['transfer'])).toEqual(['draw-mixing off 0', 'draw-fresh on 20000']);
  });

  test('of two ways through one pump, one that is open is enough', () => {
    const s = station('unequal-vats');
    const plant = structuredClone(s.plant);
    Object.assign(plant.routes.transfer as object, { excludes: [] });
    Object.assign(plant.routes.supply as object, { excludes: [] });
    for (const id of ways) s.runs(id);
    const told = command(plant, s.draft, { targets: ['transfer', 'supply'], signals: [] }, true);
    expect(told).toContainEqual({ do: 'command', actuator: 'pump', on: true, leaseMs: 20_000 });
    expect(told).toContainEqual({ do: 'command', actuator: 'to-system', on: true, leaseMs: 20_000 });
  });

  test('an open way of another target is not enough', () => {
    const s = station();
    for (const id of ['master-valve', 'inlet-valve']) s.runs(id);
    expect(s.tick(['refill', 'transfer'])).toEqual(['alive-lamp on 90000', 'pump-contactor on 90000']);
  });

  test('a doser waits as a pump does', () => {
    const s = station('unequal-vats');
    const plant = structuredClone(s.plant);
    Object.assign(plant.actuators.pump as object, { kind: 'doser' });
    const told = command(plant, s.draft, { targets: ['transfer'], signals: [] }, true);
    expect(told.map((each) => each.do === 'command' && each.actuator)).not.toContain('pump');
  });

  test('a heater waits for its contactor', () => {
    const s = station();
    expect(s.tick(['heater'])).toEqual(['alive-lamp on 90000', 'heater-contactor on 90000']);
    s.runs('heater-contactor');
    expect(s.tick(['heater'])).toEqual(['heater-relay on 60000']);
  });

  test('what runs goes on when a feedback on its way fails: that is for the rows to judge', () => {
    const s = station('unequal-vats');
    for (const id of [...ways, 'pump']) s.runs(id, 10_000);
    s.device('to-mixing').feedbackLive = false;
    expect(s.tick(['transfer'])).toContain('pump on 20000');
  });

  test('what has no feedback counts as open once it was told to be', () => {
    const s = station('unequal-vats');
    const plant = structuredClone(s.plant);
    for (const id of ways) Object.assign(plant.actuators[id] as object, { feedback: null });
    for (const id of ways) Object.assign(s.device(id), { on: true, provenOff: false });
    const told = command(plant, s.draft, { targets: ['transfer'], signals: [] }, true);
    expect(told).toContainEqual({ do: 'command', actuator: 'pump', on: true, leaseMs: 20_000 });
  });
});

describe('off', () => {
  test('goes first, pumps and heaters before valves before what cuts off others', () => {
    const s = station();
    for (const id of [
      'master-valve',
      'inlet-valve',
      'pump-contactor',
      'transfer-pump',
      'heater-relay',
      'top-off-inhibit',
    ])
      s.runs(id);
    expect(s.tick()).toEqual([
      'transfer-pump off 0',
      'heater-relay off 0',
      'master-valve off 0',
      'inlet-valve off 0',
      'pump-contactor off 0',
      'top-off-inhibit off 0',
      'alive-lamp on 90000',
    ]);
  });

  test('does not wait for a tick, and an on does', () => {
    const s = station();
    s.runs('transfer-pump');
    expect(s.between(['refill'])).toEqual(['transfer-pump off 0']);
    expect(s.between(['refill'])).toEqual([]);
  });

  test('starts its count and its proof anew', () => {
    const s = station();
    Object.assign(s.runs('transfer-pump'), { offsSent: 5, sinceMs: 77 });
    s.tick();
    expect(s.device('transfer-pump')).toMatchObject({
      on: false,
      sinceMs: 0,
      sinceSentMs: 0,
      offsSent: 1,
      provenOff: false,
    });
  });

  test('is repeated until proven, quickly at first and then slowly', () => {
    const s = station();
    s.runs('transfer-pump');
    expect(s.tick()).toContain('transfer-pump off 0');
    for (let sent = 1; sent < OFF_REPEATS; sent += 1) {
      s.device('transfer-pump').sinceSentMs = OFF_REPEAT_MS - 1;
      expect(s.tick()).toEqual([]);
      s.device('transfer-pump').sinceSentMs = OFF_REPEAT_MS;
      expect(s.tick()).toEqual(['transfer-pump off 0']);
      expect(s.device('transfer-pump')).toMatchObject({ offsSent: sent + 1, sinceSentMs: 0 });
    }
    s.device('transfer-pump').sinceSentMs = OFF_SLOW_MS - 1;
    expect(s.tick()).toEqual([]);
    s.device('transfer-pump').sinceSentMs = OFF_SLOW_MS;
    expect(s.tick()).toEqual(['transfer-pump off 0']);
    expect(s.device('transfer-pump').offsSent).toBe(OFF_REPEATS);
    Object.assign(s.device('transfer-pump'), { provenOff: true, sinceSentMs: OFF_SLOW_MS });
    expect(s.tick()).toEqual([]);
  });

  test('what was never told anything is told at once', () => {
    const s = station();
    Object.assign(s.device('transfer-pump'), { provenOff: false, offsSent: 0, sinceSentMs: 0 });
    expect(s.tick()).toContain('transfer-pump off 0');
  });

  test('without a link nothing is sent or counted as sent, and what was on is meant to be off', () => {
    const s = station();
    s.draft.link.up = false;
    s.runs('transfer-pump');
    expect(s.tick(['refill'])).toEqual([]);
    expect(s.device('transfer-pump')).toMatchObject({ on: false, offsSent: 0, sinceMs: 0 });
  });
});

describe('on is a lease', () => {
  test('given with its length, and remembered', () => {
    const s = station();
    Object.assign(s.device('inlet-valve'), { sinceMs: 9, offsSent: 3, sinceSentMs: 9, leaseLeftMs: 0 });
    s.tick(['refill']);
    expect(s.device('inlet-valve')).toMatchObject({
      on: true,
      sinceMs: 0,
      sinceSentMs: 0,
      offsSent: 0,
      provenOff: false,
      leaseLeftMs: 60_000,
    });
  });

  test('renewed when a third of it is used, without a new beginning', () => {
    const s = station();
    s.runs('master-valve', 29_999);
    Object.assign(s.runs('inlet-valve', 19_999), { sinceMs: 123, leaseLeftMs: 5 });
    expect(s.tick(['refill'])).toEqual(['alive-lamp on 90000']);
    s.device('inlet-valve').sinceSentMs = 20_000;
    s.device('master-valve').sinceSentMs = 30_000;
    expect(s.tick(['refill'])).toEqual(['inlet-valve on 60000', 'master-valve on 90000']);
    expect(s.device('inlet-valve')).toMatchObject({ sinceMs: 123, sinceSentMs: 0, leaseLeftMs: 60_000 });
  });

  test('where the device does not count it, it may stay on for ever', () => {
    const s = station();
    const plant = structuredClone(s.plant);
    Object.assign(plant.actuators['inlet-valve'] as object, { countsLease: false });
    command(plant, s.draft, { targets: ['refill'], signals: [] }, true);
    expect(s.device('inlet-valve').leaseLeftMs).toBe(AGE_CAP_MS);
    expect(s.device('master-valve').leaseLeftMs).toBe(90_000);
  });

  test('a device that somebody else has just commanded is never switched on: the rows must have seen to that', () => {
    const s = station();
    s.device('inlet-valve').foreignMs = 1;
    expect(() => s.tick(['refill'])).toThrow(/a foreign command keeps it off/);
    const signal = station();
    signal.device('top-off-inhibit').foreignMs = 1;
    expect(signal.tick([], ['top-off-inhibit'])).toContain('top-off-inhibit on 90000');
  });
});
