// A float that lies, and everything else that is true: water moves through a vessel in steps of any size, one float hangs, lies
// or comes loose late, and the true contents stay inside the core's interval, or row I-10 has its contradiction. The water is
// this file's own: it shares nothing with the core but the plant.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { account, forgetBooks, swell } from '../../src/control/guard/contents.ts';
import { AGE_CAP_MS, CHATTER_LIMIT } from '../../src/control/guard/limits.ts';
import type { VesselState } from '../../src/control/guard/state.ts';
import { batch } from '../../src/control/process/batch.ts';
import { initial, restored } from '../../src/control/process/initial.ts';
import type { FloatPosition, Plant, Vessel } from '../../src/station/plant.ts';
import '../seed.ts';
import { plantAt } from '../tools/coupled.ts';

interface Kind {
  readonly capacityL: number;
  readonly marks: Readonly<Partial<Record<FloatPosition, number>>>;
  readonly toleranceL: number;
  /** What the meters into it and out of it may be wrong by; null: there are none. */
  readonly error: number | null;
  readonly level?: number;
  readonly handDrawn?: Vessel['handDrawn'];
  readonly onChange?: true;
}

const SMALL = { capacityL: 40, marks: { low: 5, high: 33 }, toleranceL: 1.5 } as const;
const METERED: Kind = { ...SMALL, error: 0.05 };
const FLOWS = { least: 8, most: 12 } as const;

const base = plantAt('schemas/examples/marram-point.json');

/** Marram Point with a fresh vat of this kind; the refill and the transfer move water in and out of it. */
function plantOf(kind: Kind): Plant {
  const fresh = base.vessels.fresh as Vessel;
  const floats = Object.fromEntries(
    Object.keys(kind.marks).map((position) => [position, `fresh-${position}`]),
  );
  const floatsOf = Object.entries(kind.marks).map(([position, markL]) => {
    const sensor = base.sensors[`fresh-${position}`];
    const republishesMs = kind.onChange ? null : 1_000;
    return [
      `fresh-${position}`,
      { ...sensor, markL, toleranceL: kind.toleranceL, republishesMs, maxAgeMs: AGE_CAP_MS },
    ];
  });
  const level = kind.level === undefined ? null : 'fresh-level';
  const levelOf = { ...base.sensors['fresh-level'], uncertaintyL: kind.level ?? 0, maxAgeMs: AGE_CAP_MS };
  return {
    ...base,
    vessels: {
      ...base.vessels,
      fresh: { ...fresh, capacityL: kind.capacityL, floats, level, handDrawn: kind.handDrawn ?? null },
    },
    sensors: { ...base.sensors, ...Object.fromEntries(floatsOf), 'fresh-level': levelOf as never },
  } as Plant;
}

/** The vat, what its instruments say, and the core's contents of it. */
function vatOf(kind: Kind, startL: number) {
  const plant = plantOf(kind);
  const vessel = plant.vessels.fresh as Vessel;
  const draft = initial(plant);
  draft.link.up = true;
  for (const pipe of Object.values(draft.routes)) pipe.running = 'no';
  const held = draft.vessels.fresh as NonNullable<typeof draft.vessels.fresh>;
  Object.assign(held, { leastL: startL, settledLeastL: startL, mostL: startL, settledMostL: startL });
  for (const position in kind.marks)
    held.floats[`fresh-${position}`] = {
      leastL: startL,
      mostL: startL,
      handLeftL: kind.handDrawn?.perDayL ?? 0,
      wet: null,
    };
  const wet = new Map<string, boolean>();
  const self = {
    held,
    vessel,
    trueL: startL,
    /** What the instruments had to leave open since the beginning: the core can't know better than this. */
    openL: 0,
    handLeftL: kind.handDrawn?.perDayL ?? 0,
    contradicted: false,
    /** A float that lies: what it says now, or null for the truth. */
    lies: (_position: string): boolean | null => null,
    floatNow(position: FloatPosition): boolean {
      const markL = kind.marks[position] ?? 0;
      const was = wet.get(position) ?? self.trueL >= markL;
      // Real floats fall back a little lower than they rise, within their tolerance.
      const now = was
        ? self.trueL > markL - 0.8 * kind.toleranceL
        : self.trueL > markL + 0.8 * kind.toleranceL;
      wet.set(position, now);
      return now;
    },
    /** This much runs in and out for so long; everything speaks at the end. */
    pass(ms: number, inLpm: number, outLpm: number, handL = 0, wrong = 0, silent = false): void {
      const minutes = ms / 60_000;
      const inL = inLpm * minutes;
      const outL = Math.min(outLpm * minutes, self.trueL + inL);
      self.trueL = Math.min(Math.max(self.trueL + inL - outL - handL, 0), kind.capacityL);
      for (const [id, litres, lpm] of [
        ['refill', inL, inLpm],
        ['transfer', outL, outLpm],
      ] as const) {
        const pipe = draft.routes[id];
        if (pipe === undefined) throw new Error(id);
        pipe.running = lpm > 0 ? 'yes' : 'no';
        const seenL = litres * (1 + wrong * (kind.error ?? 0));
        const [least, most] =
          lpm === 0
            ? [0, 0]
            : kind.error === null
              ? [FLOWS.least * minutes, FLOWS.most * minutes]
              : [seenL / (1 + kind.error), seenL / (1 - kind.error)];
        Object.assign(pipe, { movedLeastL: least, movedMostL: most });
        self.openL += most - Math.min(least, litres);
      }
      const heard = new Set<string>();
      for (const position of Object.keys(kind.marks) as FloatPosition[]) {
        const id = `fresh-${position}`;
        const value = self.lies(position) ?? self.floatNow(position);
        const seen = draft.sensors[id];
        if (seen === undefined) throw new Error(id);
        const isNews = seen.value !== value;
        Object.assign(seen, { value, live: true, ageMs: 0 });
        if (!silent && (!kind.onChange || isNews)) heard.add(id);
      }
      if (kind.level !== undefined) {
        Object.assign(draft.sensors['fresh-level'] ?? {}, {
          value: self.trueL + wrong * kind.level,
          live: true,
          ageMs: 0,
        });
        heard.add('fresh-level');
      }
      account(plant, draft, ms, heard);
      self.contradicted ||= held.contradiction !== null;
    },
    plant,
    draft,
  };
  return self;
}
type Vat = ReturnType<typeof vatOf>;

const PERIODS = [100, 1_000, 10_000, 60_000] as const;
const fill = (vat: Vat, litres: number, periodMs: number, lpm = 10, wrong = 0): void => {
  for (let at = 0; at < (litres / lpm) * 60_000; at += periodMs) vat.pass(periodMs, lpm, 0, 0, wrong);
};
const draw = (vat: Vat, litres: number, periodMs: number, lpm = 10): void => {
  for (let at = 0; at < (litres / lpm) * 60_000; at += periodMs) vat.pass(periodMs, 0, lpm);
};

describe.each(PERIODS)('a float that hangs, with messages every %d ms', (periodMs) => {
  test.each([
    ['metered', METERED],
    ['metered, floats that speak only on change', { ...METERED, onChange: true }],
    ['unmetered', { ...SMALL, error: null }],
    ['with a third float', { ...METERED, marks: { ...SMALL.marks, overflow: 37 } }],
    ['with a level', { ...METERED, level: 1 }],
  ] as const)('dry while the vat fills, %s: a contradiction, and the interval holds the truth', (_, kind) => {
    const vat = vatOf(kind, 10);
    vat.lies = (position) => (position === 'high' ? false : null);
    vat.pass(periodMs, 0, 0);
    fill(vat, 60, periodMs);
    expect(vat.contradicted).toBe(true);
    expect([vat.trueL, vat.held.mostL]).toEqual([40, 40]);
    expect(vat.held.leastL).toBeLessThan(40);
  });

  test.each([
    ['metered', METERED],
    ['unmetered', { ...SMALL, error: null }],
    ['hands may draw', { ...METERED, handDrawn: { flowLpm: 2, perDayL: 3 } }],
  ] as const)(
    'wet while the vat is emptied, %s: a contradiction, and a pump finds that nothing may be left',
    (_, kind) => {
      const vat = vatOf(kind, 30);
      vat.lies = (position) => (position === 'low' ? true : null);
      vat.pass(periodMs, 0, 0);
      draw(vat, 40, periodMs);
      expect(vat.contradicted).toBe(true);
      expect(vat.held.leastL).toBe(0);
    },
  );
});

const KINDS: readonly (readonly [string, Kind])[] = [
  ['metered', METERED],
  ['metered exactly', { ...METERED, error: 0 }],
  ['unmetered', { ...SMALL, error: null }],
  ['three floats, on change only', { ...METERED, marks: { low: 5, high: 33, overflow: 37 }, onChange: true }],
  ['level and floats', { ...METERED, level: 1 }],
  ['drawn by hand', { ...METERED, handDrawn: { flowLpm: 3, perDayL: 6 } }],
];

interface Piece {
  readonly minutes: number;
  readonly way: 'in' | 'out' | 'both' | 'rest';
  readonly lpm: number;
  readonly wrong: number;
}
const pieces = fc.array(
  fc.record({
    minutes: fc.integer({ min: 1, max: 4 }),
    way: fc.constantFrom('in', 'out', 'both', 'rest'),
    lpm: fc.double({ min: FLOWS.least, max: FLOWS.most, noNaN: true }),
    wrong: fc.double({ min: -0.95, max: 0.95, noNaN: true }),
  }),
  { minLength: 3, maxLength: 12 },
) as fc.Arbitrary<Piece[]>;

/** Plays the pieces; the hands take what the file lets them. @returns the first moment at which `wrongAt` finds something */
function play(
  vat: Vat,
  kind: Kind,
  played: readonly Piece[],
  periodMs: number,
  wrongAt: () => string | null,
): string | null {
  for (const { minutes, way, lpm, wrong } of played)
    for (let ms = 0; ms < minutes * 60_000; ms += periodMs) {
      const handL =
        way === 'rest'
          ? Math.min(vat.handLeftL, vat.trueL, (periodMs / 60_000) * (kind.handDrawn?.flowLpm ?? 0))
          : 0;
      vat.handLeftL -= handL;
      vat.pass(
        periodMs,
        way === 'in' || way === 'both' ? lpm : 0,
        way === 'out' || way === 'both' ? lpm : 0,
        handL,
        wrong,
      );
      const found = wrongAt();
      if (found !== null)
        return `${found}, after ${ms} ms of ${JSON.stringify({ minutes, way, lpm, wrong })}`;
    }
  return null;
}

describe.each(PERIODS)('any water, with messages every %d ms', (periodMs) => {
  const numRuns = { 100: 2, 1000: 20, 10000: 100, 60000: 300 }[periodMs];

  test.each(KINDS)('%s: nothing lies, nothing contradicts, and the truth is inside', (_, kind) => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 40, noNaN: true }), pieces, (startL, played) => {
        const vat = vatOf(kind, startL);
        const reason = play(vat, kind, played, periodMs, () => {
          if (vat.contradicted) return `${vat.held.contradiction} at ${vat.trueL} L`;
          // At the brim what hands may draw in one step is not followed.
          const slackL = 0.01;
          const { leastL, mostL } = vat.held;
          return vat.trueL < leastL - slackL || vat.trueL > mostL + slackL
            ? `${vat.trueL} L outside [${leastL}, ${mostL}]`
            : null;
        });
        expect(reason).toBeNull();
      }),
      { numRuns },
    );
  });

  test.each(KINDS)(
    '%s: one float lies, and the truth is inside as far as the meters know it, or I-10 holds',
    (_, kind) => {
      const lie = fc.record({
        position: fc.constantFrom(...(Object.keys(kind.marks) as FloatPosition[])),
        wet: fc.boolean(),
        fromPiece: fc.integer({ min: 0, max: 4 }),
        toPiece: fc.integer({ min: 5, max: 20 }),
      });
      let told = 0;
      fc.assert(
        fc.property(
          fc.double({ min: 0, max: 40, noNaN: true }),
          pieces,
          lie,
          (startL, played, { position, wet, fromPiece, toPiece }) => {
            const vat = vatOf(kind, startL);
            let at = 0;
            vat.lies = (asked) => (asked === position && at >= fromPiece && at < toPiece ? wet : null);
            for (const piece of played) {
              const reason = play(vat, kind, [piece], periodMs, () => {
                if (vat.contradicted) return 'told';
                // Within the tolerance a float is forgiven, and hands are taken to draw whenever they may.
                const handL = kind.handDrawn?.perDayL ?? 0;
                const openL = vat.openL + 2 * kind.toleranceL + handL + (kind.level ?? 0) + 0.5;
                const { leastL, mostL } = vat.held;
                return vat.trueL < leastL - openL || vat.trueL > mostL + openL
                  ? `${vat.trueL} L outside [${leastL}, ${mostL}] by more than ${openL}`
                  : null;
              });
              if (reason?.startsWith('told')) {
                told += 1;
                return;
              }
              expect(reason).toBeNull();
              at += 1;
            }
          },
        ),
        { numRuns },
      );
      if (numRuns >= 100) expect(told).toBeGreaterThan(0);
    },
  );
});

describe('the book of a float', () => {
  const book = (vat: Vat, position: FloatPosition) => vat.held.floats[`fresh-${position}`];

  test('is pinned by its own float where it turns over while water runs, at that side alone', () => {
    const vat = vatOf({ ...METERED, error: 0 }, 30);
    Object.assign(book(vat, 'high') ?? {}, { leastL: 0, mostL: 40 });
    fill(vat, 6, 1_000);
    expect(book(vat, 'high')?.leastL).toBeGreaterThan(31.5);
    expect(book(vat, 'high')?.mostL).toBe(40);
    draw(vat, 8, 1_000);
    expect(book(vat, 'high')?.mostL).toBeLessThan(34.5);
  });

  test('not while nothing runs: a hand may have moved it', () => {
    const vat = vatOf({ ...METERED, error: 0 }, 10);
    Object.assign(book(vat, 'high') ?? {}, { leastL: 0, mostL: 40 });
    vat.pass(1_000, 0, 0);
    vat.lies = (position) => (position === 'high' ? true : null);
    vat.pass(1_000, 0, 0);
    expect(book(vat, 'high')?.leastL).toBeLessThan(10);
  });

  test('never by a float that hangs, however long', () => {
    const vat = vatOf({ ...METERED, error: 0 }, 20);
    vat.lies = (position) => (position === 'high' ? false : null);
    for (let hour = 0; hour < 3; hour += 1) {
      fill(vat, 10, 10_000);
      draw(vat, 10, 10_000);
      for (let minute = 0; minute < 60; minute += 1) vat.pass(60_000, 0, 0);
    }
    expect(vat.contradicted).toBe(false);
    // Three hours of one per cent of 40 L, either way.
    expect(book(vat, 'high')?.leastL).toBeCloseTo(20 - 1.2 * (1 + 1 / 90), 0);
    fill(vat, 18, 10_000);
    expect(vat.contradicted).toBe(true);
  });

  test('a float that repeats itself is judged when it speaks, one that speaks only on change always', () => {
    for (const [onChange, expected] of [
      [undefined, false],
      [true, true],
    ] as const) {
      const vat = vatOf({ ...METERED, error: 0, ...(onChange ? { onChange } : {}) }, 30);
      vat.lies = (position) => (position === 'high' ? false : null);
      vat.pass(1_000, 0, 0);
      for (let s = 0; s < 54; s += 1) vat.pass(1_000, 10, 0, 0, 0, true);
      expect(vat.contradicted).toBe(expected);
      // Doubt does not wait: from the mark and its tolerance on the interval covers both.
      expect(vat.held.mostL).toBeGreaterThan(38);
    }
  });

  test('hands draw from it, salt swells it, a person who looked opens it anew, and so does a flutter', () => {
    const vat = vatOf({ ...METERED, handDrawn: { flowLpm: 2, perDayL: 3 } }, 20);
    vat.pass(60_000, 0, 0);
    expect(book(vat, 'high')?.leastL).toBeCloseTo(18, 1);
    swell(vat.vessel, vat.held, 2);
    expect(book(vat, 'high')?.mostL).toBeCloseTo(21, 1);
    Object.assign(book(vat, 'low') ?? {}, { leastL: 33, mostL: 33 });
    Object.assign(vat.draft.sensors['fresh-high'] ?? {}, { fault: 'chatter', chatter: CHATTER_LIMIT + 1 });
    account(vat.plant, vat.draft, 0, new Set(['fresh-high']));
    expect(book(vat, 'low')).toMatchObject({ leastL: 0, mostL: 40 });
    forgetBooks(vat.held);
    expect(vat.held.floats).toEqual({});
    account(vat.plant, vat.draft, 0, new Set());
    expect(book(vat, 'low')).toMatchObject({ leastL: 0, mostL: 40 });
  });

  test('a person who has the vat in hand opens the books of its floats; nobody else, and not while water is sent to it', () => {
    const booksAfter = (work: object, running: 'no' | 'yes') => {
      const draft = initial(base);
      Object.assign(draft.batch, work);
      for (const pipe of Object.values(draft.routes)) Object.assign(pipe, { running: 'no' });
      Object.assign(draft.routes.transfer as object, { running });
      const vat = draft.vessels[base.mixingId] as VesselState;
      vat.floats = { 'mixing-high': { leastL: 100, mostL: 110, handLeftL: 0, wet: false } };
      batch(base, draft, 0, { targets: [], signals: [] });
      return Object.keys(vat.floats);
    };
    expect(booksAfter({ procedure: 'held', cause: 'process' }, 'no')).toEqual([]);
    expect(booksAfter({ procedure: 'aborted', cause: null }, 'no')).toEqual([]);
    expect(booksAfter({ procedure: 'held', cause: 'process' }, 'yes')).toEqual(['mixing-high']);
    expect(booksAfter({ procedure: 'held', cause: 'trip' }, 'no')).toEqual(['mixing-high']);
  });

  test('what hands drew yesterday may be drawn again today, without a level too', () => {
    const vat = vatOf({ ...METERED, handDrawn: { flowLpm: 2, perDayL: 3 } }, 20);
    Object.assign(vat.held, { handBudgetL: 3 });
    for (let minute = 0; minute < 24 * 60; minute += 1) vat.pass(60_000, 0, 0);
    // Three litres at once and three in the day after.
    expect(vat.held.leastL).toBeCloseTo(14, 1);
  });

  test('a system has none: more moves its water than the station knows of', () => {
    const draft = initial(base);
    draft.link.up = true;
    for (const id of ['system-low', 'system-high'])
      Object.assign(draft.sensors[id] ?? {}, { value: true, live: true, ageMs: 0 });
    account(base, draft, 0, new Set(['system-low', 'system-high']));
    expect(draft.vessels.system?.floats).toEqual({});
  });

  test('after a gap it is wider by what evaporates and is drawn meanwhile, after an unknown one it knows nothing', () => {
    const vat = vatOf({ ...METERED, handDrawn: { flowLpm: 2, perDayL: 3 } }, 20);
    const reopened = (gapMs: number | null) =>
      restored(vat.plant, vat.draft, gapMs).vessels.fresh?.floats['fresh-high'];
    // An hour: one per cent of 40 L, and what hands may draw in one day and an hour.
    expect(reopened(3_600_000)).toMatchObject({
      leastL: expect.closeTo(20 - 0.4 - 3.125, 6),
      mostL: expect.closeTo(20.4, 6),
    });
    expect(reopened(null)).toMatchObject({ leastL: 0, mostL: 40 });
  });
});
