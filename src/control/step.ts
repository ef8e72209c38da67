// The core's one door: step(plant, state, event) -> { state, effects }. Pure: no clock, no randomness, no IO; the same
// state and event give the same answer, byte for byte. One pass, in one order, each a file that reads top to bottom:
//
//   evidence -> flows and contents -> phases -> interlocks -> alarms -> commands
//
// The phases say what the process wants next; the interlocks, which never see those wishes, say what is allowed; only the
// commands see both. Inside a pass the stages write on one draft, which nobody else has seen; the state handed in stays
// as it was.
import type { Plant } from '../station/plant.ts';
import { alarms } from './alarms.ts';
import { batch } from './batch.ts';
import { passBypasses } from './bypass.ts';
import { command } from './commands.ts';
import { account } from './contents.ts';
import { age, measureSalinity, take } from './evidence.ts';
import { exchange } from './exchange.ts';
import { extendBudgets, meter, proveOff, run, settleRunning } from './flows.ts';
import { watchHeaters } from './heaters.ts';
import { judge } from './interlocks.ts';
import { invariant } from './invariant.ts';
import { passProofTime, watchProofTest } from './proof-tests.ts';
import { refill } from './refill.ts';
import { answer } from './requests.ts';
import { draftOf, type State } from './state.ts';
import type { Effect, Event } from './types.ts';
import type { Wants } from './units.ts';

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
  const before = { units: wordsOf(draft), trips: Object.keys(draft.trips), tasks: { ...draft.tasks } };

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
  extendBudgets(plant, draft);
  measureSalinity(plant, draft, elapsedMs);
  watchHeaters(plant, draft, elapsedMs);

  passProofTime(plant, draft, elapsedMs);
  const ended = passBypasses(draft, elapsedMs);

  const answers = inputs.flatMap((input) =>
    input.type === 'request' ? answer(plant, draft, input.id, input.request) : [],
  );
  const wants: Wants = { targets: [], signals: [] };
  refill(plant, draft, elapsedMs, wants);
  exchange(plant, draft, elapsedMs, wants);
  batch(plant, draft, elapsedMs, wants);

  const holding = judge(plant, draft, elapsedMs);
  const tested = watchProofTest(plant, draft, elapsedMs, holding);
  const raised = alarms(plant, draft, elapsedMs, holding);
  const commands = command(plant, draft, wants, tick);
  // What was just told to run may run from now on: the next event's meters are judged with that.
  settleRunning(plant, draft, 0);
  return {
    state: draft,
    effects: [...commands, ...answers, ...ended, ...tested, ...raised, ...report(draft, before)],
  };
}

type Before = { readonly units: string[]; readonly trips: string[]; readonly tasks: State['tasks'] };

/** What is worth keeping of this pass: phases that moved, trips that latched, tasks that changed. */
function report(draft: State, before: Before): Effect[] {
  const moved = wordsOf(draft)
    .filter((words, index) => words !== before.units[index])
    .map((words): Effect => ({ do: 'record', about: 'phase', words }));
  const latched = Object.keys(draft.trips)
    .filter((key) => !before.trips.includes(key))
    .map((key): Effect => ({ do: 'record', about: 'trip', words: key }));
  const reset = before.trips
    .filter((key) => draft.trips[key] === undefined)
    .map((key): Effect => ({ do: 'record', about: 'trip', words: `${key} was reset` }));
  const tasks = Object.keys(draft.tasks).flatMap((vessel): Effect[] => {
    const task = draft.tasks[vessel] ?? null;
    const same = JSON.stringify(task) === JSON.stringify(before.tasks[vessel] ?? null);
    return same ? [] : [{ do: 'ask', vessel, task }];
  });
  return [...moved, ...latched, ...reset, ...tasks];
}

function wordsOf(draft: State): string[] {
  const { refill, batch, exchange } = draft;
  return [
    `refill ${refill.procedure}`,
    `batch ${batch.procedure}, ${batch.stage}`,
    ...Object.entries(exchange).map(([id, work]) => `exchange of ${id} ${work.procedure}, ${work.step}`),
  ];
}
