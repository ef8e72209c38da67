// One test for each kind of row: from a healthy station at rest, make its hazard true and nothing else, and see that it
// forbids what it should, latches if it is a trip, refuses a reset while the cause stands, and lets go afterwards.
import { describe, expect, test } from 'vitest';
import { deriveRows, isAllowed, judge, resetTrip, rowOf } from '../../src/control/interlocks.ts';
import { ROW_KINDS } from '../../src/control/rows.ts';
import type { State } from '../../src/control/state.ts';
import { baseline } from './baseline.ts';

const { plant, draft } = baseline('marram-point');
const bound = plant.process.exchange.system?.errorBoundL ?? Number.NaN;

const contact = (state: State, id: string, wet: boolean): void => {
  Object.assign(state.sensors[id] as object, {
    value: wet,
    believed: wet,
    live: true,
    fault: null,
    ageMs: 0,
  });
};
const route = (state: State, id: string, change: object): void => {
  Object.assign(state.routes[id] as object, change);
};
const vessel = (state: State, id: string, change: object): void => {
  Object.assign(state.vessels[id] as object, change);
};
const device = (state: State, id: string, change: object): void => {
  Object.assign(state.devices[id] as object, change);
};
const heater = (state: State): void => device(state, 'heater-relay', { on: true, provenOff: false });
const warm = (state: State, celsius: number): void => {
  Object.assign(state.sensors['mixing-temperature'] as object, {
    value: celsius,
    live: true,
    ageMs: 0,
    fault: null,
  });
};

interface Case {
  readonly row: string;
  readonly says: string;
  readonly make: (state: State) => void;
  readonly forbids: readonly string[];
  /** Targets that the same accident must leave alone. */
  readonly leaves?: readonly string[];
}

const PUMPED = ['transfer', 'circulate', 'supply', 'drain'];

const CASES: readonly Case[] = [
  {
    row: 'I-01/refill',
    says: 'a wet high float blocks what fills its vat',
    make: (s) => contact(s, 'fresh-high', true),
    forbids: ['refill'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: 'I-02/fresh',
    says: 'a wet overflow float trips what fills its vat',
    make: (s) => {
      contact(s, 'fresh-high', true);
      contact(s, 'fresh-overflow', true);
    },
    forbids: ['refill'],
    leaves: ['circulate'],
  },
  {
    row: 'I-03/transfer',
    says: 'too little certain room blocks a filling',
    make: (s) => vessel(s, 'mixing', { mostL: 305 }),
    forbids: ['transfer'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: 'I-04/refill',
    says: 'a run longer than filling can take trips',
    make: (s) => route(s, 'refill', { running: 'yes', runMs: 10_000, runBudgetMs: 9_000 }),
    forbids: ['refill'],
    leaves: ['circulate'],
  },
  {
    row: 'I-05/transfer',
    says: 'a dry low float blocks the pump above it',
    make: (s) => contact(s, 'fresh-low', false),
    forbids: ['transfer'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: 'I-06/supply',
    says: 'too little certain water blocks a pump',
    make: (s) => vessel(s, 'mixing', { leastL: 10 }),
    forbids: ['supply', 'circulate'],
    leaves: ['drain'],
  },
  {
    row: 'I-07/transfer',
    says: 'a pump without flow trips',
    make: (s) => route(s, 'transfer', { lowFlowMs: 5_000 }),
    forbids: ['transfer'],
    leaves: ['refill'],
  },
  {
    row: 'I-07/refill/starved',
    says: 'an inlet without water waits and tries again',
    make: (s) => route(s, 'refill', { starvedMs: 60_000 }),
    forbids: ['refill'],
    leaves: ['circulate'],
  },
  {
    row: 'I-08/fresh',
    says: 'a level that does not follow the flows trips them',
    make: (s) => vessel(s, 'fresh', { bookRan: true, mismatchL: -30 }),
    forbids: ['refill', 'transfer'],
  },
  {
    row: 'I-09/fresh/level',
    says: 'a level that moves with nothing told to run trips',
    make: (s) => vessel(s, 'fresh', { bookRan: false, mismatchL: 30 }),
    forbids: ['refill', 'transfer'],
  },
  {
    row: 'I-09/supply',
    says: 'flow with nothing told to run trips what feeds it',
    make: (s) => route(s, 'supply', { strayL: 10 }),
    forbids: ['supply', 'transfer'],
    leaves: ['refill'],
  },
  {
    row: 'I-10/mixing',
    says: 'two floats that can not both be right trip',
    make: (s) => {
      contact(s, 'mixing-high', true);
      contact(s, 'mixing-low', false);
    },
    forbids: ['transfer', 'supply'],
  },
  {
    row: 'I-10/fresh',
    says: 'a float that the contents have passed trips',
    make: (s) => vessel(s, 'fresh', { contradiction: 'fresh-high is dry' }),
    forbids: ['refill', 'transfer'],
  },
  {
    row: 'I-11/tray-leak',
    says: 'a wet tray trips everything',
    make: (s) => contact(s, 'tray-leak', true),
    forbids: ['refill', ...PUMPED, 'heater'],
  },
  {
    row: 'I-12/fresh-high',
    says: 'a float that went silent blocks what needs it',
    make: (s) => {
      Object.assign(s.sensors['fresh-high'] as object, { ageMs: 10_000_000 });
    },
    forbids: ['refill'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: 'I-12/transfer-pump',
    says: 'feedback that went silent blocks its device',
    make: (s) => device(s, 'transfer-pump', { feedbackAgeMs: 10_000_000 }),
    forbids: ['transfer'],
    leaves: ['circulate'],
  },
  {
    row: 'I-13/tray-leak',
    says: 'a silent leak sensor blocks everything unattended',
    make: (s) => {
      Object.assign(s.sensors['tray-leak'] as object, { live: false });
    },
    forbids: ['refill', ...PUMPED, 'heater'],
  },
  {
    row: 'I-15/circulate',
    says: 'a pump rests after its last run',
    make: (s) => route(s, 'circulate', { restMs: 0 }),
    forbids: ['circulate'],
    leaves: ['drain'],
  },
  {
    row: 'I-15/drain',
    says: 'a pump that started too often in the hour waits',
    make: (s) => route(s, 'drain', { starts: 0.5 }),
    forbids: ['drain'],
    leaves: ['circulate'],
  },
  {
    row: 'I-16/heater',
    says: 'a heater that may be bare is blocked',
    make: (s) => vessel(s, 'mixing', { leastL: 20 }),
    forbids: ['heater'],
  },
  {
    row: 'I-16/heater/on',
    says: 'a heater that is on and may be bare trips',
    make: (s) => {
      heater(s);
      contact(s, 'mixing-low', false);
    },
    forbids: ['heater'],
  },
  {
    row: 'I-17/heater',
    says: 'no heat before the salinity is accepted',
    make: (s) => {
      s.batch.accepted = false;
    },
    forbids: ['heater', 'supply'],
  },
  { row: 'I-18/heater', says: 'too hot trips the heater', make: (s) => warm(s, 40), forbids: ['heater'] },
  {
    row: 'I-19/heater',
    says: 'a temperature that does not follow the heater trips it',
    make: (s) => {
      Object.assign(s.heaters.heater as object, { welded: true });
    },
    forbids: ['heater'],
  },
  {
    row: 'I-20/supply',
    says: 'salinity outside tolerance is not delivered',
    make: (s) => {
      Object.assign(s.salinity.mixing as object, { probe: 38 });
    },
    forbids: ['supply'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: 'I-20/supply',
    says: 'an old batch is not delivered',
    make: (s) => {
      s.batch.ageMs = 1e10;
    },
    forbids: ['supply'],
  },
  {
    row: 'I-20/supply',
    says: 'water far too cold is not delivered',
    make: (s) => warm(s, 5),
    forbids: ['supply'],
  },
  {
    row: 'I-21/supply',
    says: 'a system that is high gets no more',
    make: (s) => contact(s, 'system-high', true),
    forbids: ['supply'],
    leaves: ['drain'],
  },
  {
    row: 'I-21/drain/low',
    says: 'a system that is low is not drained further, but may be filled',
    make: (s) => contact(s, 'system-low', false),
    forbids: ['drain'],
    leaves: ['supply'],
  },
  {
    row: 'I-22/drain',
    says: 'more drained than the bound waits',
    make: (s) => {
      Object.assign(s.exchange.system as object, { differenceL: 1.5 * bound, stepL: 0 });
    },
    forbids: ['drain'],
    leaves: ['supply'],
  },
  {
    row: 'I-22/supply/far',
    says: 'twice the bound delivered too much trips',
    make: (s) => {
      Object.assign(s.exchange.system as object, { differenceL: -3 * bound, stepL: 0 });
    },
    forbids: ['supply', 'drain'],
  },
  {
    row: 'I-23/transfer-pump/stays-on',
    says: 'a device that stays on trips what it empties and fills',
    make: (s) => device(s, 'transfer-pump', { on: false, disagreesMs: 60_000 }),
    forbids: ['transfer', 'refill'],
  },
  {
    row: 'I-23/transfer-pump/stays-off',
    says: 'a device that stays off trips its own routes only',
    make: (s) => device(s, 'transfer-pump', { on: true, disagreesMs: 60_000 }),
    forbids: ['transfer'],
    leaves: ['refill', 'circulate'],
  },
  {
    row: 'I-24/circulation-pump',
    says: 'a foreign command keeps its device off',
    make: (s) => device(s, 'circulation-pump', { foreignMs: 1_000, foreignOn: false }),
    forbids: ['circulate'],
    leaves: ['drain'],
  },
  {
    row: 'I-24/transfer-pump/fills',
    says: 'a foreign command that fills a vessel trips',
    make: (s) => device(s, 'transfer-pump', { foreignMs: 1_000, foreignOn: true }),
    forbids: ['transfer'],
  },
  {
    row: 'I-25/marram-point',
    says: 'a link without its echo forbids everything',
    make: (s) => {
      s.link.echoAgeMs = 1e9;
    },
    forbids: ['refill', ...PUMPED, 'heater'],
  },
  {
    row: 'I-26/marram-point',
    says: 'a late tick forbids everything',
    make: (s) => {
      s.link.lateMs = 1;
    },
    forbids: ['refill', ...PUMPED, 'heater'],
  },
  {
    row: 'I-27/marram-point',
    says: 'nothing runs unrecorded',
    make: (s) => {
      s.link.journalWritable = false;
    },
    forbids: ['refill', ...PUMPED, 'heater'],
  },
  {
    row: 'I-29/refill',
    says: 'impure water is kept out of the fresh vat',
    make: (s) => route(s, 'refill', { impureMs: 1_000 }),
    forbids: ['refill'],
    leaves: ['transfer', 'circulate'].slice(1),
  },
  {
    row: 'I-30/drain',
    says: "the system's own top-off keeps the drain off",
    make: (s) => contact(s, 'top-off', true),
    forbids: ['drain'],
    leaves: ['supply'],
  },
  {
    row: 'I-31/heater',
    says: 'a heater that may be on keeps its water',
    make: (s) => {
      device(s, 'heater-relay', { provenOff: false });
      vessel(s, 'mixing', { leastL: 61 });
    },
    forbids: ['supply'],
    leaves: ['circulate'],
  },
  {
    row: 'I-32/drain-pump',
    says: 'a device out of service is not used',
    make: (s) => {
      s.outOfService['drain-pump'] = 'new bearing';
    },
    forbids: ['drain'],
    leaves: ['supply', 'circulate'],
  },
];

describe('interlock rows, one accident each', () => {
  test.each(CASES)('$row: $says', ({ row, make, forbids, leaves = [] }) => {
    const quiet = draft();
    judge(plant, quiet, 0);
    const before = Object.fromEntries(leaves.map((target) => [target, isAllowed(quiet, target)]));

    const state = draft();
    make(state);
    const holding = judge(plant, state, 0);
    expect(holding.map(({ key }) => key)).toContain(row);
    for (const target of forbids) expect(state.verdicts[target], target).toBeDefined();
    expect(state.verdicts[forbids[0] as string]).toContain(row);
    for (const target of leaves) expect([target, isAllowed(state, target)]).toEqual([target, before[target]]);

    const known = rowOf(plant, row);
    if (known?.response !== 'trip') {
      expect(state.trips[row]).toBeUndefined();
      return;
    }
    expect(state.trips[row]).toBe(0);
    const later = { ...draft(), trips: { ...state.trips } };
    judge(plant, later, 60_000);
    expect(isAllowed(later, forbids[0] as string), 'stays off after the cause is gone').toBe(false);
    expect(resetTrip(plant, later, row)).toBeNull();
    delete later.trips[row];
    judge(plant, later, 0);
    expect(later.verdicts[forbids[0] as string] ?? []).not.toContain(row);
  });

  test.each(['I-02/fresh', 'I-11/tray-leak', 'I-16/heater/on', 'I-18/heater'])(
    '%s is not reset while its cause stands',
    (row) => {
      const state = draft();
      for (const { row: key, make } of CASES) if (key === row) make(state);
      judge(plant, state, 0);
      expect(resetTrip(plant, state, row)).toMatch(/still there/);
      expect(state.trips[row]).toBe(0);
    },
  );

  test('I-14: routes that share a way exclude each other until the other is proven off', () => {
    const shared = baseline('unequal-vats');
    const state = shared.draft();
    const pair = Object.values(shared.plant.routes).find((r) => r.excludes.length > 0);
    if (!pair) throw new Error('the example has a shared pump');
    Object.assign(state.routes[pair.excludes[0] as string] as object, { running: 'maybe' });
    judge(shared.plant, state, 0);
    expect(state.verdicts[pair.id]).toContain(`I-14/${pair.id}`);
  });

  test('every kind of row in the table has a test here, and every row named here exists', () => {
    const named = new Set([...CASES.map(({ row }) => row.split('/')[0]), 'I-14']);
    const inTable = new Set([...ROW_KINDS.map(({ id }) => id), 'I-12']);
    expect([...inTable].filter((id) => !named.has(id))).toEqual([]);
    const keys = new Set(deriveRows(plant).map(({ key }) => key));
    expect(CASES.filter(({ row }) => !keys.has(row)).map(({ row }) => row)).toEqual([]);
  });
});
