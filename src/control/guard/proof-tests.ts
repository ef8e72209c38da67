// Proof tests: a person moves a contact by hand, and the row that it guards must answer. Diagnostics can't see a float that
// salt has glued down; only trying can. The schedule is durations since the last test that was passed; a test is a watch:
//
//   stopping -> waiting -> returning -> passed
//
// It energises nothing: row I-33 keeps everything that the contact concerns off from the first moment, and the watch begins
// only when that is proven. A trip that the test provoked stays latched until a person resets it, like any other; its
// alarm is suppressed while the test lasts, because it is expected. A test that the link or the service does not survive
// has no result.

import type { Plant } from '../../station/plant.ts';
import { sinceProven, vesselOf } from './about-rows.ts';
import { contact, rawContact, stopWord } from './evidence.ts';
import { deriveRows, type Row, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { PROOF_AGE_CAP_MS, PROOF_ANSWER_MS, PROOF_FOLD_MS, PROOF_WAIT_MS, PROOF_WARN_MS } from './limits.ts';
import { type Message, message } from './message.ts';
import { perPlant } from './per-plant.ts';
import type { ProofTestState } from './proof-state.ts';
import { actuatorsOf } from './row-kinds.ts';
import type { GuardState } from './state.ts';
import type { Effect } from './types.ts';
import { isLinked } from './watched.ts';

/** A row that has a proof test. */
export type Provable = Row & { readonly proof: Message; readonly proves: string };

export const provable = perPlant((plant): readonly Provable[] =>
  deriveRows(plant).filter((row): row is Provable => row.proof !== null && row.proves !== null),
);

export const dueInMs = (plant: Plant, state: GuardState, row: string): number =>
  plant.policy.proofTests.everyMs - sinceProven(state, row);

const isDueSoon = (plant: Plant, leftMs: number): boolean =>
  leftMs >= 0 && leftMs <= Math.min(PROOF_WARN_MS, plant.policy.proofTests.everyMs / 4);

export type Standing = 'never-tried' | 'proven' | 'due-soon' | 'overdue';

/** How a row's proof test stands. Nobody has proven what nobody has tried, though its time counts from commissioning. */
export function standingOf(plant: Plant, state: GuardState, row: string): Standing {
  const leftMs = dueInMs(plant, state, row);
  if (leftMs < 0) return 'overdue';
  if (state.proofs.sinceMs[row] === undefined) return 'never-tried';
  return isDueSoon(plant, leftMs) ? 'due-soon' : 'proven';
}

/** Time passes for the schedule. */
export function passProofTime(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const { proofs } = draft;
  proofs.pendingMs += elapsedMs;
  if (proofs.pendingMs < PROOF_FOLD_MS) return;
  const older = (ms: number): number => Math.min(ms + proofs.pendingMs, PROOF_AGE_CAP_MS);
  proofs.sinceStartMs = older(proofs.sinceStartMs);
  proofs.sinceMs = Object.fromEntries(Object.entries(proofs.sinceMs).map(([row, ms]) => [row, older(ms)]));
  proofs.pendingMs = 0;
  count(plant, draft);
}

function count(plant: Plant, draft: GuardState): void {
  const leftMs = provable(plant).map(({ key }) => dueInMs(plant, draft, key));
  draft.proofs.dueSoon = leftMs.filter((ms) => isDueSoon(plant, ms)).length;
  const { everyMs, graceMs } = plant.policy.proofTests;
  const beyond = provable(plant).filter(({ key }) => sinceProven(draft, key) > everyMs + graceMs);
  draft.proofs.beyondGrace = beyond.length;
  draft.proofs.overdue = leftMs.filter((ms) => ms < 0).length;
}

/**
 * What is known from elsewhere about the tests of a station whose own memory begins anew.
 * @param sinceStartMs since commissioning, null where nobody knows
 * @param sinceMs since the last test that was passed, by row; rows without a proof test are passed over
 */
export function provenBefore<S extends GuardState>(
  plant: Plant,
  state: S,
  sinceStartMs: number | null,
  sinceMs: Readonly<Record<string, number>>,
): S {
  const within = (ms: number): number => Math.min(Math.max(0, Math.round(ms)), PROOF_AGE_CAP_MS);
  const mine = provable(plant).filter(({ key }) => sinceMs[key] !== undefined);
  const next: S = {
    ...state,
    proofs: {
      ...state.proofs,
      pendingMs: 0,
      sinceStartMs: within(sinceStartMs ?? state.proofs.sinceStartMs),
      sinceMs: Object.fromEntries(mine.map(({ key }) => [key, within(sinceMs[key] ?? 0)])),
    },
  };
  count(plant, next);
  return next;
}

/** Starts the watch. @returns null, or why not */
export function beginProofTest(plant: Plant, draft: GuardState, key: string, who: string): Message | null {
  const row = provable(plant).find((one) => one.key === key);
  if (row === undefined) return message('no-such-proof-test', { row: key });
  if (who.trim() === '') return message('say-who-tests');
  if (draft.proofs.test !== null) return message('another-proof-test', { row: draft.proofs.test.row });
  if (draft.trips[key] !== undefined) return message('proof-test-of-tripped-row');
  const said = contact(plant, draft, row.proves);
  if (said.kind !== 'fresh') return message('sensor-silent-mend-first', { sensor: row.proves });
  if (said.value === stopWord(known(plant.sensors, row.proves)) || row.holds(draft))
    return message('proof-test-of-holding-row');
  draft.proofs.test = {
    row: key,
    sensor: row.proves,
    vessel: vesselOf(plant, row.proves),
    who: who.trim(),
    phase: 'stopping',
    forMs: 0,
    saidMs: null,
    answeredMs: null,
    shown: [],
  };
  return null;
}

/** What the person is to do now, or waits for. */
export function proofWords(plant: Plant, test: ProofTestState): Message {
  if (test.phase === 'stopping') return message('proof-stopping');
  if (test.phase === 'waiting')
    return message('proof-now', {
      proof: rowOf(plant, test.row)?.proof ?? message('the-row', { row: test.row }),
    });
  return message('proof-let-go', { sensor: test.sensor });
}

/** After the rows were judged. @param holding the rows that hold now */
export function watchProofTest(
  plant: Plant,
  draft: GuardState,
  elapsedMs: number,
  holding: readonly Row[],
): readonly Effect[] {
  const before = draft.proofs.test;
  if (before === null) return NOTHING;
  const test = { ...before, forMs: before.forMs + elapsedMs };
  draft.proofs.test = test;
  if (!isLinked(plant, draft)) return abandon(draft, message('link-was-lost'));
  if (test.phase === 'stopping') return stopping(plant, draft, test);
  const raw = rawContact(plant, draft, test.sensor);
  const says = raw === stopWord(known(plant.sensors, test.sensor));
  if (raw === null) return finish(plant, draft, test, false, message('contact-fell-silent'));
  if (test.phase === 'returning') return returning(plant, draft, test, says || isAmong(holding, test.row));
  return waiting(plant, draft, test, says ? (test.saidMs ?? -elapsedMs) + elapsedMs : test.saidMs, holding);
}
const NOTHING: readonly Effect[] = [];

const isAmong = (holding: readonly Row[], key: string): boolean => holding.some((row) => row.key === key);

function stopping(plant: Plant, draft: GuardState, test: ProofTestState): readonly Effect[] {
  const rests = concerned(plant, test.row).every((target) => {
    const pipe = draft.routes[target];
    if (pipe) return pipe.running === 'no';
    return actuatorsOf(plant, target).some((id) => known(draft.devices, id).provenOff);
  });
  if (rests) Object.assign(test, { phase: 'waiting', forMs: 0 });
  else if (test.forMs > PROOF_WAIT_MS) return abandon(draft, message('not-proven-off-for-test'));
  return NOTHING;
}

const concerned = (plant: Plant, key: string): readonly string[] =>
  deriveRows(plant).find((row) => row.means === 'tested' && row.tests === key)?.forbids ?? [];

function waiting(
  plant: Plant,
  draft: GuardState,
  test: ProofTestState,
  saidMs: number | null,
  holding: readonly Row[],
): readonly Effect[] {
  test.saidMs = saidMs;
  const allowedMs = allowed(plant, test.sensor);
  if (isAmong(holding, test.row) && saidMs !== null && saidMs <= allowedMs) {
    const shown = provable(plant).filter(
      ({ key, proves }) => proves === test.sensor && isAmong(holding, key),
    );
    Object.assign(test, {
      phase: 'returning',
      forMs: 0,
      answeredMs: saidMs,
      shown: shown.map(({ key }) => key),
    });
    return NOTHING;
  }
  if (saidMs !== null && saidMs > allowedMs)
    return finish(plant, draft, test, false, message('row-did-not-answer'));
  if (test.forMs > PROOF_WAIT_MS) return finish(plant, draft, test, false, message('contact-said-nothing'));
  return NOTHING;
}

function returning(plant: Plant, draft: GuardState, test: ProofTestState, isUp: boolean): readonly Effect[] {
  if (!isUp) return finish(plant, draft, test, true, message('row-answered'));
  if (test.forMs > PROOF_WAIT_MS) return finish(plant, draft, test, false, message('contact-stayed'));
  return NOTHING;
}

/** What a row's answer may take: what the file lets the contact stand, and what the instruction says. */
function allowed(plant: Plant, sensorId: string): number {
  const sensor = known(plant.sensors, sensorId);
  return PROOF_ANSWER_MS + ('believeStopMs' in sensor ? sensor.believeStopMs : 0);
}

function finish(
  plant: Plant,
  draft: GuardState,
  test: ProofTestState,
  passed: boolean,
  seen: Message,
): readonly Effect[] {
  draft.proofs.test = null;
  if (passed) {
    const now = Object.fromEntries(test.shown.map((row) => [row, 0]));
    draft.proofs.sinceMs = { ...draft.proofs.sinceMs, ...now };
    draft.proofs.failed = Object.fromEntries(
      Object.entries(draft.proofs.failed).filter(([row]) => !test.shown.includes(row)),
    );
    count(plant, draft);
  } else draft.proofs.failed = { ...draft.proofs.failed, [test.row]: seen };
  const seconds = test.answeredMs === null ? null : test.answeredMs / 1000;
  const expected = message('answer-within', { durationMs: allowed(plant, test.sensor) });
  const { row, sensor, who } = test;
  const results = (passed ? test.shown : [row]).map(
    (key): Effect => ({ do: 'proof-test', row: key, sensor, who, expected, seen, passed, seconds }),
  );
  const words = message('proof-test-ended', { row, who, result: passed ? 'passed' : 'failed', why: seen });
  return [...results, { do: 'record', about: 'proof-test', words }];
}

/** Ends a test without a result. */
export function abandon(draft: GuardState, why: Message): readonly Effect[] {
  const { test } = draft.proofs;
  if (test === null) return NOTHING;
  draft.proofs.test = null;
  return [
    { do: 'record', about: 'proof-test', words: message('proof-test-abandoned', { row: test.row, why }) },
  ];
}
