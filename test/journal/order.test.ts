import { copyFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Effect, Event } from '../../src/control/guard/types.ts';
import { initial, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { settle } from '../../src/journal/file.ts';
import { openJournal } from '../../src/journal/journal.ts';
import type { Taken } from '../../src/journal/keeping.ts';
import { LIMITS } from '../../src/journal/limits.ts';
import { orderOf } from '../../src/journal/order.ts';
import { endOf, startsIn } from '../../src/journal/reading.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { gapOf } from '../../src/journal/stamp.ts';
import { message } from '../../src/language/message.ts';
import {
  BENCH_RIG,
  copyFiles,
  drive,
  fileIn,
  handClock,
  newFolder,
  removeFolders,
  replayed,
  START_MS,
} from './driven.ts';

afterEach(removeFolders);

const quiet: Event = { elapsedMs: 250, inputs: [], tick: true };
const on: Effect = { do: 'command', actuator: 'fill', on: true, leaseMs: 3_000 };
const off: Effect = { do: 'command', actuator: 'fill', on: false, leaseMs: 0 };

function quietStation() {
  const directory = newFolder();
  const clock = handClock();
  const journal = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
  let state = initial(BENCH_RIG);
  expect(journal.begin(state)).toEqual({ ok: true });
  const taken = (elapsedMs = 250): Taken => {
    const event = { ...quiet, elapsedMs };
    const done = step(BENCH_RIG, state, event);
    state = done.state;
    clock.nowMs += elapsedMs;
    return { event, effects: done.effects, state };
  };
  return { directory, clock, journal, taken, state: () => state };
}

/** What another process finds. */
function durableSteps(directory: string): number {
  const { db, close } = openRecording(fileIn(directory));
  const { step: next } = endOf(db);
  close();
  return next - 1;
}

describe('the order of wire and journal', () => {
  it('puts the record first for every `on` and every answer', () => {
    expect(orderOf([off, on])).toBe('first');
    expect(
      orderOf([
        { do: 'answer', request: 'r-1', accepted: true, words: message('told-before', { what: 'noted' }) },
      ]),
    ).toBe('first');
  });

  it('puts the wire first for an `off`, an alarm, a task and a record', () => {
    expect(orderOf([off])).toBe('soon');
    expect(
      orderOf([{ do: 'record', about: 'phase', words: message('told-before', { what: 'batch running' }) }]),
    ).toBe('soon');
    expect(orderOf([{ do: 'ask', vessel: 'mixing', task: null }])).toBe('soon');
  });

  it('lets a step wait that has no effect', () => {
    expect(orderOf([])).toBe('later');
  });
});

describe('a commit', () => {
  it('is flushed to the disk each time, with a log beside the file', () => {
    const db = openDatabase(join(newFolder(), 'any.db'));
    settle(db);
    expect(db.pragma('synchronous', { simple: true })).toBe(2);
    expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
    db.close();
  });

  it('of `append` can be read by somebody else when the call returns', () => {
    const { directory, journal, taken } = quietStation();
    for (const count of [1, 2, 3]) {
      expect(journal.append(taken())).toEqual({ ok: true });
      expect(durableSteps(directory)).toBe(count);
    }
    journal.close();
  });

  it('of `append` takes along, in order, everything that waited', () => {
    const { directory, journal, taken } = quietStation();
    const steps = [taken(1), taken(2), taken(3), taken(4)];
    for (const one of steps.slice(0, 3)) expect(journal.appendLater(one)).toEqual({ ok: true });
    expect(durableSteps(directory)).toBe(0);
    expect(journal.append(steps[3] as Taken)).toEqual({ ok: true });
    expect(durableSteps(directory)).toBe(4);
    const elapsed: number[] = [];
    replayed(fileIn(directory), {}, ({ event }) => elapsed.push(event.elapsedMs));
    expect(elapsed).toEqual([1, 2, 3, 4]);
    journal.close();
  });

  it('of `appendLater` comes after 2 s of station time, or 64 steps', () => {
    const slow = quietStation();
    for (let count = 1; count <= 7; count++) slow.journal.appendLater(slow.taken(250));
    expect(durableSteps(slow.directory)).toBe(0);
    slow.journal.appendLater(slow.taken(250));
    expect(durableSteps(slow.directory)).toBe(8);
    const quick = quietStation();
    for (let count = 1; count < LIMITS.laterSteps; count++) quick.journal.appendLater(quick.taken(1));
    expect(durableSteps(quick.directory)).toBe(0);
    quick.journal.appendLater(quick.taken(1));
    expect(durableSteps(quick.directory)).toBe(LIMITS.laterSteps);
    slow.journal.close();
    quick.journal.close();
  });

  it('of what waits is made by `flush`, and by closing', () => {
    const { directory, journal, taken } = quietStation();
    journal.appendLater(taken());
    journal.flush();
    expect(durableSteps(directory)).toBe(1);
    journal.appendLater(taken());
    journal.close();
    // The file alone: what may still lie beside it holds nothing.
    const alone = newFolder();
    copyFileSync(fileIn(directory), fileIn(alone));
    expect(durableSteps(alone)).toBe(2);
  });
});

describe('the number of a step, and not the clock,', () => {
  it('orders the record, though the clock is set back a year and forward ten', () => {
    const { directory, clock, journal, taken } = quietStation();
    const year = 365 * 86_400_000;
    const elapsed = [1, 2, 3, 4, 5, 6];
    for (const [index, ms] of elapsed.entries()) {
      clock.jumpMs = [0, -year, 10 * year, -year, 0, 5][index] ?? 0;
      expect(journal.append(taken(ms))).toEqual({ ok: true });
    }
    journal.close();
    const seen: number[] = [];
    expect(replayed(fileIn(directory), {}, ({ event }) => seen.push(event.elapsedMs)).difference).toBeNull();
    expect(seen).toEqual(elapsed);
  });
});

describe('what a journal remembers', () => {
  it('is nothing when it is new', () => {
    const journal = openJournal(newFolder(), BENCH_RIG);
    expect(journal.restore()).toBeNull();
    expect(journal.words).toBeNull();
    journal.close();
  });

  it('is the state after the last durable step, however it ended, and for how long it was away', () => {
    const driven = drive(BENCH_RIG, { seed: 2 });
    driven.run(90_000, 250);
    driven.journal.flush();
    const { state } = driven;
    driven.cut(45_000);
    expect(driven.state).toEqual(restored(BENCH_RIG, state, 45_000));
    driven.run(30_000, 250);
    driven.journal.flush();
    const later = driven.state;
    driven.restart(5_000);
    expect(driven.state).toEqual(restored(BENCH_RIG, later, 5_000));
    driven.journal.close();
    const { starts, close } = openRecording(fileIn(driven.directory));
    close();
    expect(starts.map(({ cause, gapMs }) => [cause, gapMs])).toEqual([
      ['first', null],
      ['restored', 45_000],
      ['restored', 5_000],
    ]);
    expect(replayed(fileIn(driven.directory))).toMatchObject({ difference: null, starts: 3 });
  });

  it('lacks only what waited when the power failed', () => {
    const driven = drive(BENCH_RIG, { seed: 2 });
    driven.run(60_000, 250);
    driven.journal.flush();
    driven.journal.appendLater({ event: quiet, effects: [], state: driven.state });
    const { taken } = driven;
    driven.cut(1_000);
    driven.journal.close();
    expect(replayed(fileIn(driven.directory)).steps).toBe(taken.length);
  });

  it('does not pretend to know a gap that no clock can tell', () => {
    const before = { computerBoot: 'a', monotonicMs: 5_000, wallMs: START_MS };
    expect(gapOf(before, { computerBoot: 'a', monotonicMs: 7_500, wallMs: START_MS - 9 })).toBe(2_500);
    expect(gapOf(before, { computerBoot: 'b', monotonicMs: 10, wallMs: START_MS + 60_000 })).toBe(60_000);
    expect(gapOf(before, { computerBoot: 'b', monotonicMs: 10, wallMs: START_MS - 60_000 })).toBeNull();
    expect(
      gapOf({ ...before, wallMs: 0 }, { computerBoot: 'b', monotonicMs: 10, wallMs: START_MS }),
    ).toBeNull();
    expect(
      gapOf({ ...before, computerBoot: null }, { computerBoot: null, monotonicMs: 9_000, wallMs: 0 }),
    ).toBeNull();
  });

  it('may be worth nothing to the core; then another state is begun with', () => {
    const directory = newFolder();
    const state = initial(BENCH_RIG);
    const { trips: _, ...odd } = state;
    const journal = openJournal(directory, BENCH_RIG);
    journal.begin(odd as State);
    journal.close();
    const again = openJournal(directory, BENCH_RIG);
    const saved = again.restore();
    expect(saved?.state).toEqual(odd);
    expect(() => restored(BENCH_RIG, saved?.state ?? state, 0)).toThrow(TypeError);
    expect(again.begin(state)).toEqual({ ok: true });
    again.close();
    expect(openRecording(fileIn(directory)).starts.map(({ cause }) => cause)).toEqual(['first', 'anew']);
  });

  it('is said to differ where this release decides otherwise about the steps after the last snapshot', () => {
    const { directory, journal, taken } = quietStation();
    const honest = taken();
    journal.append({ ...honest, state: { ...honest.state, outOfService: { fill: 'rust' } } });
    const copy = newFolder();
    copyFiles(directory, copy);
    const again = openJournal(copy, BENCH_RIG);
    expect(again.words).toContain('decided otherwise');
    expect(again.restore()?.state).toEqual(honest.state);
    again.close();
    journal.close();
  });

  it('is nothing where this release can not take the steps after the last snapshot; the file stays', () => {
    const { directory, journal, state } = quietStation();
    const event: Event = { ...quiet, inputs: [{ type: 'bad-reading', sensor: 'gone', reason: 'empty' }] };
    journal.append({ event, effects: [], state: state() });
    const copy = newFolder();
    copyFiles(directory, copy);
    const again = openJournal(copy, BENCH_RIG);
    expect(again.words).toContain("'gone' is not in the plant");
    expect(again.restore()).toBeNull();
    expect(again.begin(initial(BENCH_RIG))).toEqual({ ok: true });
    again.close();
    expect(readdirSync(copy).filter((name) => name.includes('damaged'))).toEqual([]);
    expect(replayed(fileIn(copy)).difference).toMatchObject({ step: 1, about: 'failure' });
    journal.close();
  });

  it('is marked as begun anew when the service chose another state', () => {
    const { directory, journal, taken } = quietStation();
    journal.append(taken());
    journal.close();
    const again = openJournal(directory, BENCH_RIG);
    again.restore();
    again.begin(initial(BENCH_RIG));
    again.close();
    const { db, close } = openRecording(fileIn(directory));
    expect(startsIn(db).map(({ cause }) => cause)).toEqual(['first', 'anew']);
    close();
    expect(replayed(fileIn(directory)).difference).toBeNull();
  });

  it('goes with the plant that the steps were made with, where that is another than the station file says', () => {
    const { directory, journal, taken } = quietStation();
    journal.append(taken());
    journal.close();
    const { starts } = BENCH_RIG.policy;
    const cautious = {
      ...BENCH_RIG,
      policy: { ...BENCH_RIG.policy, starts: { ...starts, refill: 'person', batch: 'person' } as const },
    };
    const again = openJournal(directory, BENCH_RIG);
    const saved = again.restore();
    expect(saved).not.toBeNull();
    let state = restored(cautious, saved?.state ?? initial(cautious), saved?.gapMs ?? null);
    again.begin(state, cautious);
    for (let count = 0; count < 50; count++) {
      const done = step(cautious, state, { ...quiet, elapsedMs: 1_000 });
      state = done.state;
      again.append({ event: { ...quiet, elapsedMs: 1_000 }, effects: done.effects, state });
    }
    again.close();
    expect(replayed(fileIn(directory))).toMatchObject({ difference: null, starts: 2 });
  });
});

describe('a proof test', () => {
  it('is kept with who, when and how it went', () => {
    const { directory, clock, journal } = quietStation();
    clock.nowMs += 1_000;
    const test = {
      row: 'I-02/fresh',
      who: 'the keeper on duty',
      passed: true,
      words: 'lifted it: off in 1 s',
    };
    expect(journal.addProofTest(test)).toEqual({ ok: true });
    journal.close();
    const again = openJournal(directory, BENCH_RIG);
    expect(again.proofTests()).toEqual([{ ...test, wallMs: START_MS + 1_000 }]);
    again.close();
  });

  it('of a row that the station has not, or that has no proof, is refused', () => {
    const { journal } = quietStation();
    for (const row of ['I-02/nothing', 'I-14/transfer', ''])
      expect(journal.addProofTest({ row, who: 'somebody', passed: true, words: '' })).toMatchObject({
        ok: false,
        trouble: 'refused',
      });
    expect(journal.proofTests()).toEqual([]);
    journal.close();
  });
});

it('A journal can be read by its owner alone.', () => {
  const { directory, journal } = quietStation();
  for (const name of readdirSync(directory)) expect(statSync(join(directory, name)).mode & 0o777).toBe(0o600);
  journal.close();
});

it('A journal takes no step before it was begun with a state, and begins once.', () => {
  const journal = openJournal(newFolder(), BENCH_RIG);
  const state = initial(BENCH_RIG);
  expect(() => journal.append({ event: quiet, effects: [], state })).toThrow('begun with a state');
  journal.begin(state);
  expect(() => journal.begin(state)).toThrow('begun once');
  journal.close();
});

it('A journal of less than 64 MiB is refused: the tables beside the steps would not fit.', () => {
  expect(() => openJournal(newFolder(), BENCH_RIG, { fileBytes: 1_000_000 })).toThrow(RangeError);
});
