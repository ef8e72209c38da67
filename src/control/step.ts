// The core's one door: step(plant, state, event) -> { state, effects }. Pure: no clock, no randomness, no IO; the same
// state and event give the same answer, byte for byte. One pass, in one order, each a file that reads top to bottom:
//
//   evidence -> flows and contents -> phases -> interlocks -> alarms -> commands
//
// The phases say what the process wants next; the interlocks, which never see those wishes, say what is allowed; only the
// commands see both. Inside a pass the stages write on one draft, which nobody else has seen; the state handed in stays
// as it was.
import type { Plant } from '../station/plant.ts';
import { passBypasses } from './guard/bypass.ts';
import { command, type Wants } from './guard/commands.ts';
import { account } from './guard/contents.ts';
import { age, measureSalinity, take } from './guard/evidence.ts';
import { extendBudgets, run, settleRunning } from './guard/flows.ts';
import { watchHeaters } from './guard/heaters.ts';
import { judge } from './guard/interlocks.ts';
import { invariant, known } from './guard/invariant.ts';
import { meter } from './guard/meters.ts';
import { proveOff } from './guard/off-proof.ts';
import { passProofTime, watchProofTest } from './guard/proof-tests.ts';
import { balanceSalt } from './guard/salt-balance.ts';
import type { Effect, Event, Task } from './guard/types.ts';
import { alarms } from './process/alarms.ts';
import { batch } from './process/batch.ts';
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

  age(plant, draft, elapsedMs);
  run(plant, draft, elapsedMs);
  const heard = new Set<string>();
  for (const input of inputs) {
    take(plant, draft, input);
    if (input.type !== 'reading' || !input.live) continue;
    heard.add(input.sensor);
    meter(plant, draft, input);
  }
  if (tick) draft.link.tickAgeMs = 0;
  proveOff(plant, draft, elapsedMs);
  settleRunning(plant, draft, elapsedMs);
  account(plant, draft, elapsedMs, heard);
  balanceSalt(plant, draft, elapsedMs);
  extendBudgets(plant, draft);
  measureSalinity(plant, draft, elapsedMs);
  watchHeaters(plant, draft, elapsedMs);

  passProofTime(plant, draft, elapsedMs);
  const ended = passBypasses(draft, elapsedMs);

  const answers: Effect[] = [];
  for (const input of inputs)
    if (input.type === 'request') answers.push(...answer(plant, draft, input.id, input.request));
  const wants: Wants = { targets: [], signals: [] };
  refill(plant, draft, elapsedMs, wants);
  exchange(plant, draft, elapsedMs, wants);
  batch(plant, draft, elapsedMs, wants);
  const exercised = exercise(plant, draft, elapsedMs, wants);

  passPromises(plant, draft, elapsedMs);

  const holding = judge(plant, draft, elapsedMs);
  const tested = watchProofTest(plant, draft, elapsedMs, holding);
  const raised = alarms(plant, draft, elapsedMs, holding);
  const commands = command(plant, draft, wants, tick);
  // What was just told to run may run from now on: the next event's meters are judged with that.
  settleRunning(plant, draft, 0);
  const effects = commands;
  for (const told of [answers, ended, exercised, tested, raised, report(state, draft)])
    for (const effect of told) effects.push(effect);
  return { state: draft, effects };
}

/** What is worth keeping of this pass: phases that moved, trips that latched, tasks that changed. */
function report(before: State, after: State): Effect[] {
  const kept: Effect[] = [];
  const record = (about: string, words: string) => kept.push({ do: 'record', about, words });
  if (before.refill.procedure !== after.refill.procedure) record('phase', `refill ${after.refill.procedure}`);
  const { batch } = after;
  if (before.batch.procedure !== batch.procedure || before.batch.stage !== batch.stage)
    record('phase', `batch ${batch.procedure}, ${batch.stage}`);
  for (const id in after.exchange) {
    const was = known(before.exchange, id);
    const is = known(after.exchange, id);
    if (was.procedure !== is.procedure || was.step !== is.step)
      record('phase', `exchange of ${id} ${is.procedure}, ${is.step}`);
  }
  for (const key in after.trips) if (before.trips[key] === undefined) record('trip', key);
  for (const key in before.trips) if (after.trips[key] === undefined) record('trip', `${key} was reset`);
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
    a.words === b.words &&
    a.vessel === b.vessel);
