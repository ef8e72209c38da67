// One test for each kind of row: from a healthy station at rest, make its hazard true and nothing else, and see that it
// forbids what it should, latches if it is a trip, refuses a reset while the cause stands, and lets go afterwards.

import { describe, expect, test } from 'vitest';
import { deriveRows, isAllowed, judge, rowOf } from '../../src/control/guard/interlocks.ts';
import { resetTrip } from '../../src/control/guard/resets.ts';
import { ROW_KINDS } from '../../src/control/guard/rows.ts';
import type { State } from '../../src/control/process/state.ts';
import { say } from '../tools/english.ts';
import { baseline, STATIONS } from './baseline.ts';

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

const ANN = { who: 'Ann', seen: 'looked at it, and it is mended' };

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
      Object.assign(s.batch, { accepted: false });
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
      Object.assign(s.batch, { ageMs: 1e10 });
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
    row: 'I-28/transfer/I-05',
    says: 'a low float that nobody tried for far too long blocks its pump',
    make: (s) => {
      Object.assign(s.proofs, { sinceStartMs: 300 * 86_400_000, beyondGrace: 1 });
    },
    forbids: ['transfer'],
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
  {
    row: 'I-33/fresh/I-02',
    says: 'while a person moves a float, nothing moves at its vessel',
    make: (s) => {
      s.proofs.test = {
        row: 'I-02/fresh',
        sensor: 'fresh-overflow',
        vessel: 'fresh',
        who: 'Ada',
        phase: 'waiting',
        forMs: 0,
        saidMs: null,
        answeredMs: null,
        shown: [],
      };
    },
    forbids: ['refill', 'transfer'],
    leaves: ['circulate', 'drain'],
  },
  {
    row: `I-36/${plant.id}`,
    says: 'a memory that was lost trips everything that moves water or heats',
    make: (s) => Object.assign(s, { lost: ['the state file is missing'] }),
    forbids: ['refill', 'transfer', 'circulate', 'supply', 'drain', 'heater'],
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
    if (known?.action !== 'trip') {
      expect(state.trips[row]).toBeUndefined();
      return;
    }
    expect(state.trips[row]).toBe(0);
    const later = { ...draft(), trips: { ...state.trips } };
    judge(plant, later, 60_000);
    expect(isAllowed(later, forbids[0] as string), 'stays off after the cause is gone').toBe(false);
    expect(resetTrip(plant, later, row, ANN)).toBeNull();
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
      for (const witness of [null, ANN])
        expect(say(resetTrip(plant, state, row, witness), plant)).toMatch(/still there/);
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

  test.each([
    ['I-34/to-system', 'the pump is not proven off', { provenOff: false }, 'exercise:to-system'],
    ['I-34/to-system', 'somebody else commands the pump', { foreignMs: 1 }, 'exercise:to-system'],
  ] as const)('%s: %s', (row, _, change, target) => {
    const { plant, draft } = baseline('unequal-vats');
    const state = draft();
    judge(plant, state, 0);
    expect(isAllowed(state, target)).toBe(true);
    device(state, 'pump', change);
    judge(plant, state, 0);
    expect(state.verdicts[target]).toContain(row);
  });

  test('I-34: nothing is exercised while a person moves a float by hand', () => {
    const { plant, draft } = baseline('unequal-vats');
    const state = draft();
    state.proofs.test = {
      row: 'I-11/pump-leak',
      sensor: 'pump-leak',
      vessel: null,
      who: 'Ada',
      phase: 'waiting',
      forMs: 0,
      saidMs: null,
      answeredMs: null,
      shown: [],
    };
    judge(plant, state, 0);
    expect(state.verdicts['exercise:draw-fresh']).toContain('I-34/draw-fresh');
  });

  test('I-35: while a valve is exercised, and until it is proven shut, nothing on its ways runs', () => {
    const { plant, draft } = baseline('unequal-vats');
    const state = draft();
    const row = 'I-35/to-system';
    const run = { valve: 'to-system', phase: 'open', forMs: 0, broken: false } as const;
    state.exercises = { ...state.exercises, run };
    judge(plant, state, 0);
    for (const target of ['transfer', 'circulate', 'supply', 'exercise:draw-fresh'])
      expect(state.verdicts[target], target).toContain(row);
    for (const target of ['drain', 'refill', 'exercise:to-system'])
      expect(state.verdicts[target] ?? [], target).not.toContain(row);
    state.exercises = { ...state.exercises, run: null, seized: { 'to-system': 'open' } };
    device(state, 'to-system', { provenOff: false });
    judge(plant, state, 0);
    expect(state.verdicts.circulate).toContain(row);
    device(state, 'to-system', { provenOff: true });
    judge(plant, state, 0);
    expect(state.verdicts.circulate ?? []).not.toContain(row);
  });

  test('a trip of a route, a person and a foreign command forbid the exercise of its valves as well', () => {
    const { plant, draft } = baseline('unequal-vats');
    const target = 'exercise:draw-fresh';
    const accidents: readonly [string, (state: State) => void][] = [
      ['I-11/pump-leak', (s) => contact(s, 'pump-leak', true)],
      ['I-24/draw-fresh', (s) => device(s, 'draw-fresh', { foreignMs: 1 })],
      ['I-25/unequal', (s) => Object.assign(s.link, { up: false })],
      ['I-27/unequal', (s) => Object.assign(s.link, { journalWritable: false })],
      ['I-32/draw-fresh', (s) => Object.assign(s.outOfService, { 'draw-fresh': 'rewired' })],
      ['I-12/draw-fresh', (s) => device(s, 'draw-fresh', { feedbackLive: false })],
      ['I-04/transfer', (s) => route(s, 'transfer', { running: 'yes', runMs: 2, runBudgetMs: 1 })],
    ];
    for (const [row, make] of accidents) {
      const state = draft();
      make(state);
      judge(plant, state, 0);
      const ids = (state.verdicts[target] ?? []).map((key) => key.split('/')[0]);
      expect(ids, row).toContain(row.split('/')[0]);
    }
  });

  test.each(ROW_KINDS.map((kind) => [[kind.id, kind.suffix].filter(Boolean).join('/'), kind] as const))(
    '%s lacks no column: hazard, hardware, pattern, reset, bypass, and a proof test or why there is none',
    (_, kind) => {
      for (const words of [kind.hazard, kind.hardware, kind.pattern, kind.reset, kind.bypass.because])
        expect(say(words).length).toBeGreaterThan(3);
      expect(kind.forbids).toBeTypeOf('function');
      if (kind.action === 'trip') {
        expect(say(kind.reset)).toMatch(/^by a person/);
        expect([kind.priority, kind.action, kind.cleared]).not.toContain(undefined);
      } else if (kind.id !== 'I-32') expect(say(kind.reset)).toMatch(/^by itself/);
      expect(kind.proof === undefined, 'a proof test has a contact').toBe(kind.proves === undefined);
      expect(kind.proof === undefined, 'a proof test, or why not').toBe(kind.unproven !== undefined);
    },
  );

  test.each(Object.keys(STATIONS))('no row of %s lacks a column', (name) => {
    for (const row of deriveRows(baseline(name).plant)) {
      const { hazard, bypass, words, hardware, pattern, reset } = row;
      for (const told of [hazard, bypass.because, words, hardware, pattern, reset])
        expect(say(told).length, row.key).toBeGreaterThan(3);
      expect(row.proof === null, row.key).toBe(row.proves === null);
      expect(row.proof === null, row.key).toBe(say(row.unproven) !== '');
      if (row.priority !== null) expect(say(row.response), row.key).not.toBe('');
    }
  });

  test('every kind of row in the table has a test here, and every row named here exists', () => {
    const named = new Set([...CASES.map(({ row }) => row.split('/')[0]), 'I-14', 'I-34', 'I-35', 'I-42']);
    const inTable = new Set(ROW_KINDS.map(({ id }) => id));
    // I-42 is about systems without floats, which no example has: see exchange.test.ts.
    expect([...inTable].filter((id) => !named.has(id))).toEqual([]);
    const keys = new Set(deriveRows(plant).map(({ key }) => key));
    expect(CASES.filter(({ row }) => !keys.has(row)).map(({ row }) => row)).toEqual([]);
  });
});
