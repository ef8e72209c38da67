// 5a. Promises: refill, batch and each exchange owe something. Where one makes no headway for longer than its wait may last
// (`waits.ts`) that is an alarm, whatever the reason, with the first thing that stands in its way. One alarm for each unit;
// it goes by itself as soon as the unit makes headway. It decides nothing.

import type { Plant } from '../../station/plant.ts';
import { forbiddenBy, type Row, rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { sidesOf } from '../guard/ledger.ts';
import { AGE_CAP_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { checking, clears, respond } from '../guard/response.ts';
import type { Meaning } from '../guard/row-kinds.ts';
import type { Priority } from '../guard/types.ts';
import { isLinked } from '../guard/watched.ts';
import { starterOf } from './commissioned.ts';
import type { PromiseState, State } from './state.ts';
import { targetsOf, unitSaid } from './units.ts';
import { overdueAfterMs, type UnitId, unitOf, WAITS, type Wait, waitOf } from './waits.ts';

/** Counts how long each unit has been in its wait. */
export function passPromises(plant: Plant, draft: State, elapsedMs: number): void {
  for (const unit of unitsOf(plant)) {
    draft.promises[unit] ??= { wait: '', inMs: 0, stillMs: 0 };
    pass(plant, draft, unit, known(draft.promises, unit), elapsedMs);
  }
}

const unitsOf = perPlant((plant): readonly UnitId[] => [
  ...(plant.process.refill === null ? [] : ['refill']),
  'batch',
  ...Object.keys(plant.process.exchange),
]);

function pass(plant: Plant, draft: State, unit: UnitId, promise: PromiseState, elapsedMs: number): void {
  const wait = waitOf(plant, draft, unit)?.id ?? '';
  const isNew = wait !== promise.wait;
  promise.inMs = wait === '' || isNew ? 0 : Math.min(promise.inMs + elapsedMs, AGE_CAP_MS);
  // What was held, by whomever, begins anew once it goes on.
  const goesOn = isNew && IS_HELD.has(promise.wait);
  const moves = wait === '' || goesOn || (unit === 'batch' ? isNew : flows(plant, draft, unit));
  promise.stillMs = moves ? 0 : Math.min(promise.stillMs + elapsedMs, AGE_CAP_MS);
  promise.wait = wait;
}

const IS_HELD: ReadonlySet<string> = new Set(WAITS.filter(({ of }) => of === 'any').map(({ id }) => id));

/** Water has moved for certain by one of its routes. */
const flows = (plant: Plant, draft: State, unit: UnitId): boolean =>
  waysOf(plant, unit).some((id) => known(draft.routes, id).movedLeastL > 0);

function waysOf(plant: Plant, unit: UnitId): readonly string[] {
  if (unit === 'refill' || unit === 'batch') return targetsOf(plant)[unit];
  const { drain, supply } = known(sidesOf(plant), unit);
  return [drain, supply].flatMap((route) => route?.id ?? []);
}

export interface PromiseNews {
  readonly alarm: string;
  readonly active: boolean;
  readonly priority: Priority;
  readonly words: Message;
  readonly response: Message;
}

/** Everything there is to say now, and what was said until now and is over. */
export function promiseNews(plant: Plant, state: State): readonly PromiseNews[] {
  const found: PromiseNews[] = [];
  for (const unit of unitsOf(plant)) {
    const alarm = known(alarmsOf(plant), unit);
    const wait = overdue(plant, state, unit);
    if (wait === null && state.alarms[alarm] === undefined) continue;
    found.push({
      alarm,
      active: wait !== null,
      priority: wait?.priority ?? 'soon',
      words:
        wait === null
          ? message('nothing')
          : message('unit-overdue', {
              unit: unitSaid(state, unit),
              why: wait.why ?? blockerOf(plant, state, unit),
            }),
      response: wait === null ? message('nothing') : (wait.person ?? MEND),
    });
  }
  return found;
}

const alarmsOf = perPlant(
  (plant): Readonly<Record<string, string>> =>
    Object.fromEntries(unitsOf(plant).map((unit) => [unit, `A-10/${unit}`])),
);

const MEND = respond(
  checking(message('check-what-it-waits-for')),
  clears(message('clears-when-nothing-is-in-the-way')),
);

/** The wait that has lasted too long, where it is this file that tells of it. Without a link everything waits for that. */
function overdue(plant: Plant, state: State, unit: UnitId): Wait | null {
  const promise = state.promises[unit];
  const wait = promise === undefined ? undefined : waitOf(plant, state, unit);
  if (promise === undefined || wait === undefined || wait.told !== 'A-10' || !isLinked(plant, state))
    return null;
  const isLate =
    promise.inMs > wait.longestMs(plant, state, unit) || promise.stillMs > overdueAfterMs(plant, unit);
  return isLate && !isToldByRow(plant, state, unit) ? wait : null;
}

/** A row that stands in its way has an alarm of its own: nobody needs a second one before that is over. */
const isToldByRow = (plant: Plant, state: State, unit: UnitId): boolean =>
  rowsInTheWay(plant, state, unit).some(({ key }) => {
    const told = state.alarms[key]?.state ?? 'normal';
    return told !== 'normal' && told !== 'returned-unacknowledged';
  });

/** The worst first; without those that only belong to the way of things. */
const rowsInTheWay = (plant: Plant, state: State, unit: UnitId): readonly Row[] =>
  waysOf(plant, unit)
    .flatMap((target) => forbiddenBy(state, target))
    .flatMap((key) => rowOf(plant, key) ?? [])
    .filter((row) => rank(row) < LAST)
    .toSorted((a, b) => rank(a) - rank(b));

const FOR_A_BATCH: readonly Message['id'][] = ['waiting-for-batch', 'waiting-for-next-batch'];
const FOR_WATER: readonly Message['id'][] = ['waiting-for-fresh-water-to-begin', 'moved-so-far'];

/** What stands in a unit's way, the first that a person could do something about. */
export function blockerOf(plant: Plant, state: State, unit: UnitId): Message {
  const { procedure, words } = unitOf(state, unit);
  if (procedure !== 'running' && procedure !== 'idle') return words;
  const task = state.tasks[unit] ?? (unit === 'batch' ? state.tasks[plant.mixingId] : null) ?? null;
  if (task !== null) return task.words;
  // Whether the batch is ready is the batch's own matter, and what its water waits for is the refill's.
  if (unit !== 'refill' && unit !== 'batch' && FOR_A_BATCH.includes(words.id))
    return state.batch.procedure === 'idle' && starterOf(plant, state, 'batch') === 'person'
      ? message('person-starts-batch')
      : message('because-of-batch', { why: blockerOf(plant, state, 'batch') });
  if (unit === 'batch' && FOR_WATER.includes(words.id) && plant.process.refill !== null)
    return message('because-of-refill', { why: blockerOf(plant, state, 'refill') });
  return rowsInTheWay(plant, state, unit)[0]?.words ?? words;
}

/** A trip, what is silent, then every other row; what only rests, or belongs to the way of things, is no reason. */
function rank({ means, action }: Row): number {
  if (action === 'trip') return 0;
  if (means !== null && SILENT.includes(means)) return 1;
  return means === 'passing' || means === 'resting' ? LAST : 2;
}
const SILENT: readonly Meaning[] = ['silent', 'unattended', 'unlinked'];
const LAST = 3;
