// The core's one door: step(plant, state, event) -> { state, effects }. Pure: no clock, no randomness, no IO; the same
// state and event give the same answer, byte for byte. One pass, in one order, and a wall through it:
//
//   the guard observes -> the process wants -> the guard forbids -> alarms -> the guard acts
//
// The phases say what the process wants next; the rows, which never see those wishes, say what is allowed; only the commands
// see both. Inside a pass the stages write on one draft, which nobody else has seen; the state handed in stays as it was.

import type { Plant } from '../station/plant.ts';
import type { Wants } from './guard/commands.ts';
import { act, forbid, observe } from './guard/guard.ts';
import { invariant, known } from './guard/invariant.ts';
import { type Message, message, sameMessage } from './guard/message.ts';
import type { Effect, Event, Task } from './guard/types.ts';
import { alarms } from './process/alarms.ts';
import { batch } from './process/batch.ts';
import { passWaiver } from './process/commissioned.ts';
import { draftOf } from './process/draft.ts';
import { exchange } from './process/exchange.ts';
import { exercise } from './process/exercise.ts';
import { passPromises } from './process/promises.ts';
import { refill } from './process/refill.ts';
import { answer } from './process/requests.ts';
import type { State } from './process/state.ts';

export interface Stepped {
  readonly state: State;
  readonly effects: readonly Effect[];
}

export function step(plant: Plant, state: State, event: Event): Stepped {
  const { elapsedMs, inputs, tick } = event;
  invariant(Number.isInteger(elapsedMs) && elapsedMs >= 0, 'time is a whole number of milliseconds', {
    elapsedMs,
  });
  const draft = draftOf(state);
  const ended = observe(plant, draft, event);

  const answers: Effect[] = [];
  for (const input of inputs)
    if (input.type === 'request') answers.push(...answer(plant, draft, input.id, input.request));
    else if (input.type === 'sinks') draft.telling = { ...draft.telling, failing: input.failing };
  const wants: Wants = { targets: [], signals: [] };
  refill(plant, draft, elapsedMs, wants);
  exchange(plant, draft, elapsedMs, wants);
  batch(plant, draft, elapsedMs, wants);
  const waived = passWaiver(draft, elapsedMs);
  const exercised = exercise(plant, draft, elapsedMs, wants);
  passPromises(plant, draft, elapsedMs);

  const { holding, tested } = forbid(plant, draft, elapsedMs);
  const raised = alarms(plant, draft, elapsedMs, holding);
  const effects = act(plant, draft, wants, tick);
  for (const told of [answers, ended, waived, exercised, tested, raised, report(state, draft)])
    for (const effect of told) effects.push(effect);
  return { state: draft, effects };
}

/** What is worth keeping of this pass: phases that moved, trips that latched, tasks that changed. */
export function report(before: State, after: State): Effect[] {
  const kept: Effect[] = [];
  const record = (about: string, words: Message) => kept.push({ do: 'record', about, words });
  if (before.refill.procedure !== after.refill.procedure)
    record('phase', message('refill-phase', { procedure: after.refill.procedure }));
  const { batch } = after;
  if (before.batch.procedure !== batch.procedure || before.batch.stage !== batch.stage)
    record('phase', message('batch-phase', { procedure: batch.procedure, stage: batch.stage }));
  for (const id in after.exchange) {
    const was = known(before.exchange, id);
    const is = known(after.exchange, id);
    if (was.procedure !== is.procedure || was.step !== is.step)
      record('phase', message('exchange-phase', { what: id, procedure: is.procedure, step: is.step }));
  }
  for (const key in after.trips)
    if (before.trips[key] === undefined) record('trip', message('trip-latched', { row: key }));
  for (const key in before.trips)
    if (after.trips[key] === undefined) record('trip', message('trip-was-reset', { row: key }));
  for (const vessel in after.tasks) {
    const task = after.tasks[vessel] ?? null;
    if (!sameTask(task, before.tasks[vessel] ?? null)) kept.push({ do: 'ask', vessel, task });
  }
  return kept;
}

const sameTask = (a: Task | null, b: Task | null): boolean =>
  a === b ||
  (a !== null &&
    b !== null &&
    a.task === b.task &&
    a.massKg === b.massKg &&
    sameMessage(a.words, b.words) &&
    a.vessel === b.vessel);
