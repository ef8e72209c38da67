// The contents of a vessel as an interval, each rule by itself and by hand-worked figures: what flows, hands, levels, floats,
// salt and a fluttering float do to it. No water moves here; the expected litres stand in the tests.
import { describe, expect, test } from 'vitest';
import { account, forgetBook, middleL, mismatchBoundL, swell } from '../../src/control/guard/contents.ts';
import { BOOK_MS, CHATTER_LIMIT, CONTRADICTION_MS, DOUBT_STANDS_MS } from '../../src/control/guard/limits.ts';
import type { RouteState, VesselState } from '../../src/control/guard/state.ts';
import { initial } from '../../src/control/process/initial.ts';
import { message } from '../../src/language/message.ts';
import { plantAt } from '../tools/coupled.ts';

// Fresh vat: 320 L, low float at 24, high at 288, overflow at 300, each +-3.2 L; level +-3 L; hands 6 L/min, 20 L a day.
const plant = plantAt('schemas/examples/marram-point.json');

function station() {
  const draft = initial(plant);
  draft.link.up = true;
  const part = <T>(of: Record<string, T>, id: string): T => {
    const found = of[id];
    if (found === undefined) throw new Error(id);
    return found;
  };
  // At rest, and each meter just at the edge of a count.
  for (const pipe of Object.values(draft.routes)) Object.assign(pipe, { running: 'no', pendingMostL: 0 });
  const fresh = part(draft.vessels, 'fresh');
  const mixing = part(draft.vessels, 'mixing');
  fresh.handBudgetL = 0;
  const hears = (id: string, value: boolean | number) =>
    Object.assign(part(draft.sensors, id), { value, live: true, ageMs: 0, fault: null });
  return {
    draft,
    fresh,
    mixing,
    refill: part(draft.routes, 'refill'),
    transfer: part(draft.routes, 'transfer'),
    holds: (vessel: VesselState, leastL: number, mostL: number) =>
      Object.assign(vessel, { leastL, mostL, settledLeastL: leastL, settledMostL: mostL }),
    moves: (pipe: RouteState, movedLeastL: number, movedMostL: number) =>
      Object.assign(pipe, { movedLeastL, movedMostL }),
    mayMove: (pipe: RouteState, pendingLeastL: number, pendingMostL: number) =>
      Object.assign(pipe, { pendingLeastL, pendingMostL }),
    sensor: (id: string) => part(draft.sensors, id),
    hears,
    /** The level speaks now. */
    level: (litres: number, elapsedMs = 0) => {
      hears('fresh-level', litres);
      account(plant, draft, elapsedMs, new Set(['fresh-level']));
    },
    passes: (elapsedMs: number, heard: readonly string[] = []) =>
      account(plant, draft, elapsedMs, new Set(heard)),
  };
}
type Station = ReturnType<typeof station>;

const interval = (held: VesselState) => [held.leastL, held.mostL];
const settled = (held: VesselState) => [held.settledLeastL, held.settledMostL];
const near = (...litres: number[]) => litres.map((each) => expect.closeTo(each, 9));

describe('flows move it', () => {
  test('least falls by the most that may have left, most rises by the most that may have come', () => {
    const s = station();
    s.holds(s.mixing, 100, 110);
    s.moves(s.transfer, 1, 2);
    s.moves(s.draft.routes.supply as RouteState, 3, 5);
    s.passes(1_000);
    expect(settled(s.mixing)).toEqual(near(96, 109));
    expect(interval(s.mixing)).toEqual(near(96, 109));
  });

  test('what the meters have yet to tell counts for the interval and is not settled', () => {
    const s = station();
    s.holds(s.fresh, 100, 110);
    s.mayMove(s.refill, 0.5, 1);
    s.mayMove(s.transfer, 4, 8);
    s.passes(0);
    expect(interval(s.fresh)).toEqual(near(92.5, 107));
    expect(settled(s.fresh)).toEqual(near(100, 110));
  });

  test('a vessel holds no less than nothing and no more than its brim', () => {
    const s = station();
    s.holds(s.fresh, 2, 319);
    s.moves(s.refill, 0, 5);
    s.moves(s.transfer, 0, 5);
    s.mayMove(s.refill, 0, 50);
    s.mayMove(s.transfer, 0, 50);
    s.passes(0);
    expect(settled(s.fresh)).toEqual([0, 320]);
    expect(interval(s.fresh)).toEqual([0, 320]);
  });
});

describe('hands draw from it', () => {
  test('at their flow, while the day has water left for them', () => {
    const s = station();
    s.holds(s.fresh, 100, 110);
    s.fresh.handBudgetL = 20;
    s.passes(30_000);
    expect(settled(s.fresh)).toEqual(near(97, 110));
    expect(s.fresh.handAssumedL).toBeCloseTo(3, 9);
    s.passes(60_000);
    expect(settled(s.fresh)).toEqual(near(91, 110));
    // What the day gives back beyond its amount may be drawn again: 20 L x 60 s / 86,400 s.
    expect(s.fresh.handAssumedL).toBeCloseTo(9 - (20 * 60) / 86_400, 9);
  });

  test('no more than what is left of the day', () => {
    const s = station();
    s.holds(s.fresh, 100, 110);
    Object.assign(s.fresh, { handBudgetL: 10, handAssumedL: 9 });
    s.passes(60_000);
    // The day gives back 20 L x 60 s / 86,400 s.
    const backL = (20 * 60) / 86_400;
    expect(s.fresh.handBudgetL).toBeCloseTo(10 + backL, 9);
    expect(settled(s.fresh)).toEqual(near(100 - 1 - backL, 110));
    expect(s.fresh.handAssumedL).toBeCloseTo(10 + backL, 9);
  });

  test('nothing where more was assumed than the day allows', () => {
    const s = station();
    s.holds(s.fresh, 100, 110);
    Object.assign(s.fresh, { handBudgetL: 5, handAssumedL: 9 });
    s.passes(60_000);
    expect(settled(s.fresh)).toEqual([100, 110]);
    expect(s.fresh.handAssumedL).toBe(9);
  });

  test('the day never gives back more than its amount', () => {
    const s = station();
    s.fresh.handBudgetL = 19.9;
    s.passes(60 * 60_000);
    expect(s.fresh.handBudgetL).toBe(20);
  });

  test('nobody draws from a vessel whose file says nothing of it', () => {
    const s = station();
    s.holds(s.mixing, 100, 110);
    s.passes(60 * 60_000);
    expect(settled(s.mixing)).toEqual([100, 110]);
    expect(s.mixing.handAssumedL).toBe(0);
  });
});

describe('a level sets it', () => {
  test('to the reading within its uncertainty, less what is still pending', () => {
    const s = station();
    s.holds(s.fresh, 10, 300);
    s.fresh.handAssumedL = 4;
    s.mayMove(s.refill, 0.5, 1);
    s.mayMove(s.transfer, 2, 5);
    s.level(200);
    expect(interval(s.fresh)).toEqual(near(197, 203));
    // pending: least 0.5 - 5 = -4.5, most 1 - 2 = -1
    expect(settled(s.fresh)).toEqual(near(198, 207.5));
    expect(s.fresh.handAssumedL).toBe(0);
  });

  test('less what may still come', () => {
    const s = station();
    s.mayMove(s.refill, 2, 6);
    s.level(200);
    expect(interval(s.fresh)).toEqual(near(197, 203));
    expect(settled(s.fresh)).toEqual(near(191, 201));
  });

  test('inside the vessel', () => {
    const s = station();
    s.level(1);
    expect(interval(s.fresh)).toEqual([0, 4]);
    const full = station();
    full.level(319);
    expect(interval(full.fresh)).toEqual([316, 320]);
  });

  test.each([
    ['did not speak now', (s: Station) => s.hears('fresh-level', 200), []],
    [
      'is faulty',
      (s: Station) => Object.assign(s.hears('fresh-level', 200), { fault: 'range' }),
      ['fresh-level'],
    ],
    [
      'is too old',
      (s: Station) => Object.assign(s.hears('fresh-level', 200), { ageMs: 90_001 }),
      ['fresh-level'],
    ],
  ])('but not while it %s', (_, prepare, heard) => {
    const s = station();
    s.holds(s.fresh, 10, 300);
    s.fresh.handAssumedL = 4;
    prepare(s);
    s.passes(0, heard);
    expect(interval(s.fresh)).toEqual([10, 300]);
    expect(s.fresh.handAssumedL).toBe(4);
    expect(s.fresh.bookLeastL).toBeNull();
  });
});

describe('floats cut it', () => {
  const cut = (
    from: [number, number],
    said: Readonly<Record<string, boolean>>,
    prepare?: (s: Station) => void,
  ) => {
    const s = station();
    s.holds(s.fresh, ...from);
    prepare?.(s);
    for (const [id, wet] of Object.entries(said)) s.hears(id, wet);
    s.passes(0);
    return s.fresh;
  };

  test('wet: at least the mark less its tolerance', () => {
    const held = cut([0, 320], { 'fresh-low': true });
    expect(interval(held)).toEqual(near(20.8, 320));
    expect(settled(held)).toEqual(near(20.8, 320));
  });

  test('dry: at most the mark and its tolerance', () => {
    const held = cut([0, 320], { 'fresh-high': false });
    expect(interval(held)).toEqual(near(0, 291.2));
    expect(settled(held)).toEqual(near(0, 291.2));
  });

  test('several at once, and what is known better stays', () => {
    const held = cut([100, 110], { 'fresh-low': true, 'fresh-high': false, 'fresh-overflow': false });
    expect(interval(held)).toEqual([100, 110]);
    expect(held.contradiction).toBeNull();
  });

  test('what is settled allows for what is pending', () => {
    const held = cut([0, 320], { 'fresh-low': true, 'fresh-high': false }, (s) => {
      s.mayMove(s.refill, 1, 2);
      s.mayMove(s.transfer, 5, 9);
    });
    // pending: least 1 - 9 = -8, most 2 - 5 = -3
    expect(interval(held)).toEqual(near(20.8, 291.2));
    expect(settled(held)).toEqual(near(23.8, 299.2));
  });

  test('settled ends never cross', () => {
    const held = cut([100, 100], {}, (s) => s.mayMove(s.refill, 3, 3));
    expect(held.settledMostL).toBeGreaterThanOrEqual(held.settledLeastL);
    const s = station();
    s.holds(s.fresh, 100, 100);
    Object.assign(s.fresh, { settledLeastL: 101, settledMostL: 99 });
    s.passes(0);
    expect(settled(s.fresh)).toEqual([101, 101]);
  });

  test('a wet float above what can be there: both may be wrong, and the interval covers both', () => {
    const held = cut([100, 110], { 'fresh-high': true });
    expect(interval(held)).toEqual(near(100, 284.8));
    expect(settled(held)).toEqual(near(100, 284.8));
    expect(held).toMatchObject({
      contradiction: message('float-says-wet', { sensor: 'fresh-high' }),
      contradictionMs: CONTRADICTION_MS,
    });
  });

  test('a dry float below what must be there likewise', () => {
    const held = cut([100, 110], { 'fresh-low': false });
    expect(interval(held)).toEqual(near(27.2, 110));
    expect(settled(held)).toEqual(near(27.2, 110));
    expect(held).toMatchObject({
      contradiction: message('float-says-dry', { sensor: 'fresh-low' }),
      contradictionMs: CONTRADICTION_MS,
    });
  });

  test('within the tolerance they do not contradict, and the interval gives way', () => {
    // 284.8 against 281.6: just within 3.2; against 281.5: beyond.
    const wet = cut([100, 281.7], { 'fresh-high': true });
    expect(interval(wet)).toEqual(near(100, 284.8));
    expect(wet.contradiction).toBeNull();
    expect(cut([100, 281.5], { 'fresh-high': true }).contradiction).toEqual(
      message('float-says-wet', { sensor: 'fresh-high' }),
    );
    const dry = cut([30.3, 110], { 'fresh-low': false });
    expect(interval(dry)).toEqual(near(27.2, 110));
    expect(dry.contradiction).toBeNull();
    expect(cut([30.5, 110], { 'fresh-low': false }).contradiction).toEqual(
      message('float-says-dry', { sensor: 'fresh-low' }),
    );
  });

  test('nor just at the tolerance', () => {
    const s = station();
    const system = s.draft.vessels.system as VesselState;
    s.holds(system, 2_360, 2_440);
    s.hears('system-high', true);
    s.hears('system-low', false);
    s.passes(0);
    expect(system.contradiction).toBeNull();
    expect(interval(system)).toEqual([2_350, 2_450]);
  });

  test('a float of a system that turns over: its keeper brought water or took some, and how much nobody knows', () => {
    const turned = (leastL: number, mostL: number, low: boolean, high: boolean, id: string) => {
      const s = station();
      const system = s.draft.vessels.system as VesselState;
      s.holds(system, leastL, mostL);
      Object.assign(s.hears('system-low', low), { standsMs: 9_000 });
      Object.assign(s.hears('system-high', high), { standsMs: 9_000 });
      Object.assign(s.sensor(id), { standsMs: 0, chatter: 1 });
      s.passes(1_000, [id]);
      return { held: interval(system), contradiction: system.contradiction };
    };
    // Topped up from 2310 L: between the marks of low and high. Bailed out from 2400 L: anything below low.
    expect(turned(2_300, 2_310, true, false, 'system-low')).toEqual({
      held: [2_330, 2_470],
      contradiction: null,
    });
    expect(turned(2_395, 2_405, false, false, 'system-low')).toEqual({
      held: [0, 2_350],
      contradiction: null,
    });
    // One that goes on saying what it said while the water left does hang.
    const s = station();
    const system = s.draft.vessels.system as VesselState;
    s.holds(system, 2_300, 2_310);
    Object.assign(s.hears('system-low', true), { standsMs: 9_000 });
    s.passes(1_000, ['system-low']);
    expect(system.contradiction).toEqual(message('float-says-wet', { sensor: 'system-low' }));
  });

  test('settled ends that already reach further stay there', () => {
    const wet = cut([100, 110], { 'fresh-high': true }, (s) => {
      s.fresh.settledMostL = 300;
      s.mayMove(s.transfer, 190, 190);
    });
    // 300 - 190 = 110 can be there; the float lifts that to 284.8 and nothing that is settled comes down for it.
    expect(wet.settledMostL).toBeCloseTo(300, 9);
  });

  test('a float that a person moves by hand tells nothing about the water', () => {
    const proving = (vessel: string) =>
      cut([0, 320], { 'fresh-low': true }, ({ draft }) => {
        draft.proofs.test = { vessel } as NonNullable<typeof draft.proofs.test>;
      });
    expect(interval(proving('fresh'))).toEqual([0, 320]);
    expect(interval(proving('mixing'))).toEqual(near(20.8, 320));
  });

  test('a faulty or a silent one tells nothing', () => {
    expect(
      interval(cut([0, 320], {}, (s) => Object.assign(s.hears('fresh-low', true), { fault: 'chatter' }))),
    ).toEqual([0, 320]);
    expect(
      interval(cut([0, 320], {}, (s) => Object.assign(s.hears('fresh-low', true), { live: false }))),
    ).toEqual([0, 320]);
  });
});

test('a contradiction counts for a while and is then forgotten', () => {
  const s = station();
  Object.assign(s.fresh, {
    contradiction: message('float-says-dry', { sensor: 'fresh-low' }),
    contradictionMs: 2_000,
  });
  s.passes(1_500);
  expect(s.fresh).toMatchObject({
    contradiction: message('float-says-dry', { sensor: 'fresh-low' }),
    contradictionMs: 500,
  });
  s.passes(501);
  expect(s.fresh).toMatchObject({ contradiction: null, contradictionMs: 0 });
});

describe('a float caught fluttering', () => {
  const flutters = (from: [number, number], said: object = {}, heard = ['fresh-high']) => {
    const s = station();
    s.holds(s.fresh, ...from);
    Object.assign(s.hears('fresh-high', true), { fault: 'chatter', chatter: CHATTER_LIMIT + 1, ...said });
    s.passes(0, heard);
    return s.fresh;
  };

  test('what may rest on its word is given up', () => {
    expect(interval(flutters([284.8, 291.2]))).toEqual([0, 320]);
    expect(settled(flutters([284.8, 291.2]))).toEqual([0, 320]);
    expect(interval(flutters([291.2, 300]))).toEqual([0, 300]);
    expect(settled(flutters([291.2, 300]))).toEqual([0, 300]);
    expect(interval(flutters([100, 284.8]))).toEqual([100, 320]);
    expect(settled(flutters([100, 284.8]))).toEqual([100, 320]);
  });

  test('what can not rest on its word stays', () => {
    expect(interval(flutters([100, 200]))).toEqual([100, 200]);
    expect(interval(flutters([284.7, 291.3]))).toEqual([284.7, 291.3]);
    expect(interval(flutters([291.3, 300]))).toEqual([291.3, 300]);
    expect(interval(flutters([100, 284.7]))).toEqual([100, 284.7]);
  });

  test('only once, only when it speaks, and only for this fault', () => {
    expect(interval(flutters([286, 290], { chatter: CHATTER_LIMIT + 1.1 }))).toEqual([286, 290]);
    expect(interval(flutters([286, 290], {}, []))).toEqual([286, 290]);
    expect(interval(flutters([286, 290], { fault: 'range' }))).toEqual([286, 290]);
  });
});

describe('the book beside it, by flows alone', () => {
  const opened = (): Station => {
    const s = station();
    s.level(200);
    return s;
  };
  const book = ({ fresh }: Station) => [fresh.bookLeastL, fresh.bookMostL];

  test('opens at the first level', () => {
    const s = station();
    Object.assign(s.fresh, { bookMs: 77, bookRan: true, mismatchL: 5 });
    s.level(200);
    expect(book(s)).toEqual([197, 203]);
    expect(s.fresh).toMatchObject({ bookMs: 0, bookRan: false, mismatchL: 0 });
  });

  test('half a book is none', () => {
    for (const half of [{ bookLeastL: 10 }, { bookMostL: 10 }]) {
      const s = station();
      Object.assign(s.fresh, half);
      s.moves(s.refill, 1, 1);
      s.passes(1_000);
      expect(s.fresh).toMatchObject(half);
      s.level(200);
      expect(book(s)).toEqual([197, 203]);
    }
  });

  test('moves by flows, and a share of the vessel in an hour for waves and warmth', () => {
    const s = opened();
    s.moves(s.refill, 1, 2);
    s.moves(s.transfer, 5, 7);
    s.passes(30 * 60_000);
    // Half an hour of 1 % of 320 L: 1.6 L either way.
    expect(book(s)).toEqual(near(197 + 1 - 7 - 1.6, 203 + 2 - 5 + 1.6));
    expect(s.fresh.bookMs).toBe(30 * 60_000);
  });

  test('notes whether anything to do with it may have run', () => {
    for (const [running, ran] of [
      ['no', false],
      ['maybe', true],
      ['yes', true],
    ] as const) {
      for (const pipe of ['refill', 'transfer'] as const) {
        const s = opened();
        s[pipe].running = running;
        s.passes(0);
        expect({ pipe, running, ran: s.fresh.bookRan }).toEqual({ pipe, running, ran });
      }
    }
  });

  test('a level within the book is no mismatch', () => {
    const s = opened();
    s.level(206);
    expect(s.fresh.mismatchL).toBe(0);
    s.level(194);
    expect(s.fresh.mismatchL).toBe(0);
    expect(book(s)).toEqual([197, 203]);
  });

  test('water above it is a mismatch upwards, water missing one downwards', () => {
    const s = opened();
    s.level(208);
    expect(s.fresh.mismatchL).toBeCloseTo(2, 9);
    s.level(204);
    expect(s.fresh.mismatchL).toBe(0);
    s.level(190);
    expect(s.fresh.mismatchL).toBeCloseTo(-4, 9);
    expect(book(s)).toEqual([197, 203]);
  });

  test('a level beyond the bound is believed when a second reading, a while later, shows it', () => {
    const s = opened();
    s.level(201);
    s.level(216);
    expect(s.fresh.mismatchL).toBe(0);
    // The same message again, and another one too soon.
    s.level(216);
    s.level(216, DOUBT_STANDS_MS - 1);
    expect(s.fresh.mismatchL).toBe(0);
    s.level(216, 1);
    expect(s.fresh.mismatchL).toBeCloseTo(10, 1);
  });

  test('until then the contents are what either says; a single wrong reading is forgotten', () => {
    const s = opened();
    s.level(201);
    s.level(40);
    expect(interval(s.fresh)).toEqual([37, 204]);
    s.level(320);
    expect(interval(s.fresh)).toEqual([37, 320]);
    s.level(201, 1);
    expect(interval(s.fresh)).toEqual([198, 204]);
    s.level(216, DOUBT_STANDS_MS);
    expect(s.fresh.mismatchL).toBe(0);
  });

  test('of two readings that begin a book neither is believed before a third', () => {
    const s = opened();
    s.level(40, DOUBT_STANDS_MS);
    expect(interval(s.fresh)).toEqual([37, 203]);
    expect(book(s)).toEqual([37, 43]);
    s.level(41, DOUBT_STANDS_MS);
    expect(interval(s.fresh)).toEqual([38, 44]);
    expect(s.fresh.mismatchL).toBe(0);
  });

  test('what is pending may explain it', () => {
    const up = opened();
    up.mayMove(up.refill, 0, 6);
    up.level(216);
    expect(up.fresh.mismatchL).toBeCloseTo(4, 9);
    const down = opened();
    down.mayMove(down.transfer, 0, 6);
    down.level(180);
    expect(down.fresh.mismatchL).toBeCloseTo(-8, 9);
  });

  test('what hands may draw explains a fall, counts against the day, and moves both ends of the book', () => {
    const s = opened();
    s.fresh.handBudgetL = 20;
    s.level(184);
    expect(s.fresh).toMatchObject({ mismatchL: 0, handBudgetL: 10, handDrawnL: 10 });
    expect(book(s)).toEqual(near(187, 193));
    s.passes(0);
    expect(s.fresh.handDrawnL).toBe(0);
  });

  test('a fall beyond that is a mismatch by what exceeds it, and nothing is taken from the day', () => {
    const s = opened();
    s.fresh.handBudgetL = 4;
    s.level(184);
    expect(s.fresh.mismatchL).toBeCloseTo(-6, 9);
    expect(s.fresh).toMatchObject({ handBudgetL: 4, handDrawnL: 0 });
    expect(book(s)).toEqual([197, 203]);
  });

  test('is opened anew after its time', () => {
    const s = opened();
    s.transfer.running = 'maybe';
    s.passes(0);
    s.transfer.running = 'no';
    s.level(210, BOOK_MS - 1);
    expect(s.fresh).toMatchObject({ bookMs: BOOK_MS - 1, bookRan: true });
    s.level(210, 1);
    expect(s.fresh).toMatchObject({ bookMs: 0, bookRan: false, mismatchL: 0 });
    expect(book(s)).toEqual([207, 213]);
  });

  test('is forgotten whole', () => {
    const s = opened();
    Object.assign(s.fresh, { bookMs: 5, bookRan: true, mismatchL: 3 });
    forgetBook(s.fresh);
    expect(s.fresh).toMatchObject({
      bookLeastL: null,
      bookMostL: null,
      bookMs: 0,
      bookRan: false,
      mismatchL: 0,
    });
  });
});

test('salt makes a vat fuller by half a litre a kilogram, at its upper end alone, and the book is forgotten', () => {
  const s = station();
  s.holds(s.mixing, 200, 210);
  Object.assign(s.mixing, { settledMostL: 212, bookLeastL: 1, bookMostL: 2 });
  swell(plant.vessels.mixing as never, s.mixing, 8);
  expect(s.mixing).toMatchObject({
    leastL: 200,
    mostL: 214,
    settledLeastL: 200,
    settledMostL: 216,
    bookLeastL: null,
  });
  swell(plant.vessels.mixing as never, s.mixing, 1_000);
  expect(s.mixing).toMatchObject({ mostL: 320, settledMostL: 320 });
});

test('unexplained water counts above a fiftieth of the vessel or three uncertainties, whichever is more', () => {
  const vessel = plant.vessels.fresh;
  const sensor = plant.sensors['fresh-level'];
  if (!vessel || sensor?.measures !== 'level') throw new Error('fresh-level');
  expect(mismatchBoundL(plant, vessel)).toBe(9);
  expect(mismatchBoundL(plant, { ...vessel, level: null })).toBeCloseTo(6.4, 9);
  expect(mismatchBoundL(plant, { ...vessel, capacityL: 1_000 })).toBeCloseTo(20, 9);
});

test('for amounts of the process the middle counts', () => {
  expect(middleL({ leastL: 100, mostL: 120 } as VesselState)).toBe(110);
});
