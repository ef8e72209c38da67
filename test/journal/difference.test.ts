import { afterEach, describe, expect, it } from 'vitest';
import type { Effect, Event } from '../../src/control/guard/types.ts';
import { initial, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { type Start, startSum, startsIn } from '../../src/journal/reading.ts';
import { firstDifference, type Verdict } from '../../src/journal/replay.ts';
import { BENCH_RIG, fileIn, newFolder, removeFolders, replayed } from './driven.ts';

afterEach(removeFolders);

const link: Event = { elapsedMs: 0, inputs: [{ type: 'link', up: true }], tick: false };
const quiet: Event = { elapsedMs: 1_000, inputs: [], tick: true };

interface Lie {
  readonly at: number;
  readonly effects?: (said: readonly Effect[]) => readonly Effect[];
  readonly state?: (state: State) => State;
}

/** Ten steps, of which the journal is told one otherwise than the core said it. */
function recordedWith(lie: Lie, snapshotAt = 0): Verdict {
  const directory = newFolder();
  const journal = openJournal(directory, BENCH_RIG, { software: '0.9' });
  let state = initial(BENCH_RIG);
  journal.begin(state);
  for (let count = 1; count <= 10; count++) {
    const event = count === 1 ? link : quiet;
    const done = step(BENCH_RIG, state, event);
    state = done.state;
    const isLie = lie.at === count;
    const effects = isLie && lie.effects ? lie.effects(done.effects) : done.effects;
    const told = isLie && lie.state ? lie.state(state) : state;
    journal.append({ event, effects, state: told });
    if (count === snapshotAt) journal.snapshot();
  }
  journal.close();
  return replayed(fileIn(directory));
}

describe('a replay that differs', () => {
  it('names the first step whose effects differ, with the event and both sides', () => {
    const extra: Effect = { do: 'command', actuator: 'fill', on: true, leaseMs: 3_000 };
    const { difference } = recordedWith({ at: 4, effects: (said) => [...said, extra] });
    expect(difference).toMatchObject({ step: 4, about: 'effects', event: quiet, software: '0.9' });
    const { recorded, replayed: said } = difference as { recorded: Effect[]; replayed: Effect[] };
    expect(recorded).toEqual([...said, extra]);
  });

  it('notices an effect that is missing, and two in another order', () => {
    expect(recordedWith({ at: 1, effects: () => [] }).difference).toMatchObject({ step: 1, recorded: [] });
    expect(recordedWith({ at: 1, effects: (said) => said.toReversed() }).difference).toMatchObject({
      step: 1,
    });
  });

  it('notices a state that went astray though every effect agrees', () => {
    const { difference } = recordedWith({
      at: 5,
      state: (state) => ({ ...state, outOfService: { fill: 'rust' } }),
    });
    expect(difference).toMatchObject({ step: 5, about: 'state' });
    expect(difference?.words).toContain('although the effects agree');
  });

  it('shows where the states differ, when a snapshot was taken there', () => {
    const astray = (state: State): State => ({ ...state, refill: { ...state.refill, flushMs: 777 } });
    const { difference } = recordedWith({ at: 5, state: astray }, 5);
    expect(difference?.words).toContain('refill.flushMs');
    expect(difference).toMatchObject({ recorded: 777, replayed: 0 });
  });

  it('takes the steps before the difference, and none after it', () => {
    expect(recordedWith({ at: 7, effects: () => [] })).toMatchObject({ lastStep: 6 });
  });

  it('notices a restart after which the core began with another state than this release makes of the saved one', () => {
    const directory = newFolder();
    const first = openJournal(directory, BENCH_RIG);
    first.begin(initial(BENCH_RIG));
    first.append({ event: link, ...step(BENCH_RIG, initial(BENCH_RIG), link) });
    first.close();
    const second = openJournal(directory, BENCH_RIG);
    const saved = second.restore();
    second.begin(restored(BENCH_RIG, saved?.state ?? initial(BENCH_RIG), saved?.gapMs ?? null));
    second.close();
    expect(replayed(fileIn(directory)).difference).toBeNull();
    // As if the release that recorded it had known another gap.
    const db = openDatabase(fileIn(directory));
    const start = startsIn(db).at(-1) as Start;
    const gapMs = 3_600_000;
    db.prepare('UPDATE starts SET gap = ?, sum = ? WHERE id = 2').run(gapMs, startSum({ ...start, gapMs }));
    db.close();
    expect(replayed(fileIn(directory)).difference).toMatchObject({ about: 'restart', step: 2, event: null });
  });
});

describe('the first difference of two values', () => {
  it('is none for equal ones, whatever the order of their keys', () => {
    expect(firstDifference({ a: 1, b: [true, null] }, { b: [true, null], a: 1 })).toBeNull();
    expect(firstDifference(0, -0)).toBeNull();
  });

  it('is a value, a missing key or a key too many, by its path', () => {
    expect(firstDifference({ a: { b: [1, 2] } }, { a: { b: [1, 3] } })).toEqual({
      path: 'a.b.1',
      recorded: 2,
      replayed: 3,
    });
    expect(firstDifference({ a: 1 }, {})).toEqual({ path: 'a', recorded: 1, replayed: null });
    expect(firstDifference({}, { a: undefined })).toMatchObject({ path: 'a' });
    expect(firstDifference(1, '1')).toMatchObject({ recorded: 1, replayed: '1' });
  });
});
