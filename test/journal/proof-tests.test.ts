// Proof tests in the journal: what the core's watch found is kept with the step that found it, replays, and is known again
// to a station whose state began anew.
import { afterEach, expect, it } from 'vitest';
import { withProofTests } from '../../src/cli/record.ts';
import { sinceProven } from '../../src/control/guard/about-rows.ts';
import type { Effect, Input } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { BENCH_RIG, fileIn, handClock, newFolder, removeFolders, replayed, START_MS } from './driven.ts';

afterEach(removeFolders);

const DAY_MS = 86_400_000;
const ROW = 'I-11/tray-leak';

/** Every contact says dry, except the leak sensor, which says what it is told; every feedback says off. */
function inputsOf(wet: boolean): Input[] {
  const contacts = Object.values(BENCH_RIG.sensors).map((sensor): Input => {
    const isContact = 'yes' in sensor;
    return {
      type: 'reading',
      sensor: sensor.id,
      value: isContact ? sensor.id === 'tray-leak' && wet : 0,
      live: true,
    };
  });
  const feedback = Object.values(BENCH_RIG.actuators).flatMap((actuator): Input[] =>
    actuator.feedback === null ? [] : [{ type: 'feedback', actuator: actuator.id, on: false, live: true }],
  );
  return [{ type: 'echo' }, ...contacts, ...feedback];
}

it('What the watch found is kept, replays, and counts for a state that begins anew', () => {
  const directory = newFolder();
  const clock = handClock();
  const journal = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
  let state: State = initial(BENCH_RIG);
  expect(journal.begin(state)).toEqual({ ok: true });
  const found: Effect[] = [];
  const go = (inputs: readonly Input[]) => {
    const event = { elapsedMs: 1_000, inputs, tick: true };
    const done = step(BENCH_RIG, state, event);
    state = done.state;
    clock.nowMs += 1_000;
    found.push(...done.effects);
    expect(journal.append({ event, effects: done.effects, state })).toEqual({ ok: true });
  };
  go([{ type: 'link', up: true }, ...inputsOf(false)]);
  for (let i = 0; i < 120; i++) go(inputsOf(false));
  go([
    { type: 'request', id: 'a', request: { ask: 'proof-test', row: ROW, who: 'Ada' } },
    ...inputsOf(false),
  ]);
  for (let i = 0; i < 60 && state.proofs.test?.phase === 'stopping'; i++) go(inputsOf(false));
  expect(state.proofs.test?.phase).toBe('waiting');
  go(inputsOf(true));
  for (let i = 0; i < 60 && state.proofs.test !== null; i++) go(inputsOf(false));
  expect(found).toContainEqual(expect.objectContaining({ do: 'proof-test', row: ROW, passed: true }));
  const [kept] = journal.proofTests();
  expect(kept).toMatchObject({
    row: ROW,
    who: 'Ada',
    passed: true,
    words: expect.stringMatching(
      /expected: an answer within 5 s; seen: the interlock answered.*after 0\.0 s/,
    ),
  });
  journal.close();
  expect(replayed(fileIn(directory))).toMatchObject({ difference: null });

  const again = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
  const nowMs = (kept?.wallMs ?? 0) + 10 * DAY_MS;
  const anew = withProofTests(BENCH_RIG, initial(BENCH_RIG), again, nowMs);
  expect(sinceProven(anew, ROW)).toBe(10 * DAY_MS);
  // Never tried: since the journal knows of the station.
  expect(sinceProven(anew, 'I-02/fresh')).toBe(nowMs - START_MS);
  again.close();
});

it('A failed test counts for nothing', () => {
  const directory = newFolder();
  const clock = handClock();
  const journal = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
  journal.begin(initial(BENCH_RIG));
  journal.addProofTest({ row: ROW, who: 'Ada', passed: true, words: '' });
  clock.nowMs += 5 * DAY_MS;
  journal.addProofTest({ row: ROW, who: 'Ada', passed: false, words: 'stuck' });
  const anew = withProofTests(BENCH_RIG, initial(BENCH_RIG), journal, START_MS + 6 * DAY_MS);
  expect(sinceProven(anew, ROW)).toBe(6 * DAY_MS);
  journal.close();
});
