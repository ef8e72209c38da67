// 5. Alarms: the nine states of ISA-18.2 / IEC 62682 and every transition, as one literal table; and what raises an alarm:
// rows that hold or are latched, and units that wait for a person. An alarm may be delayed, a row never is.
import type { Plant } from '../station/plant.ts';
import { type Row, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS, ALARM_QUIET_MS, PERSON_PATIENCE_MS, RESERVE_PATIENCE_MS } from './limits.ts';
import { reserveShareOf } from './on-hand.ts';
import type { State, UnitState } from './state.ts';
import type { AlarmState, Effect, Priority } from './types.ts';
import { isLinked } from './units.ts';

export type AlarmEvent =
  | 'occur'
  /** The condition is gone, and nothing is latched. */
  | 'clear'
  /** The condition is gone, but the trip stays until a person resets it. */
  | 'latch'
  | 'acknowledge'
  | 'reset'
  | 'shelve'
  | 'suppress'
  | 'out'
  /** Shelving ends, suppression ends, the alarm is back in service: the condition decides. */
  | 'return-active'
  | 'return-clear';

// biome-ignore format: a table reads as a table
export const ALARM_STATES: Readonly<Record<AlarmState, Readonly<Record<AlarmEvent, AlarmState>>>> = {
  normal:                    { occur: 'unacknowledged', clear: 'normal', latch: 'normal', acknowledge: 'normal', reset: 'normal', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'normal' },
  unacknowledged:            { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'acknowledged', reset: 'unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'returned-unacknowledged' },
  acknowledged:              { occur: 'acknowledged', clear: 'normal', latch: 'latched-acknowledged', acknowledge: 'acknowledged', reset: 'acknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'acknowledged', 'return-clear': 'normal' },
  'returned-unacknowledged': { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'normal', reset: 'returned-unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'returned-unacknowledged' },
  'latched-unacknowledged':  { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'latched-acknowledged', reset: 'returned-unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'latched-unacknowledged' },
  'latched-acknowledged':    { occur: 'acknowledged', clear: 'normal', latch: 'latched-acknowledged', acknowledge: 'latched-acknowledged', reset: 'normal', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'acknowledged', 'return-clear': 'latched-acknowledged' },
  shelved:                   { occur: 'shelved', clear: 'shelved', latch: 'shelved', acknowledge: 'shelved', reset: 'shelved', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'normal' },
  'suppressed-by-design':    { occur: 'suppressed-by-design', clear: 'suppressed-by-design', latch: 'suppressed-by-design', acknowledge: 'suppressed-by-design', reset: 'suppressed-by-design', shelve: 'suppressed-by-design', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'normal' },
  'out-of-service':          { occur: 'out-of-service', clear: 'out-of-service', latch: 'out-of-service', acknowledge: 'out-of-service', reset: 'out-of-service', shelve: 'out-of-service', suppress: 'out-of-service', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-clear': 'normal' },
};

/** One thing that may be an alarm, as it stands now. */
interface Condition {
  readonly alarm: string;
  readonly active: boolean;
  readonly latched: boolean;
  /** A trip's alarm follows it at once; any other waits for quiet. */
  readonly trip: boolean;
  readonly priority: Priority;
  readonly afterMs: number;
  readonly words: string;
  readonly mend: string;
}

/** @param holding the rows that hold now, in their order */
export function alarms(plant: Plant, draft: State, elapsedMs: number, holding: readonly Row[]): Effect[] {
  const effects: Effect[] = [];
  for (const condition of conditions(plant, draft, holding))
    effects.push(...settle(draft, condition, elapsedMs));
  return effects;
}

function settle(draft: State, condition: Condition, elapsedMs: number): Effect[] {
  const known = draft.alarms[condition.alarm];
  if (known === undefined && !condition.active && !condition.latched) return [];
  const record = known ?? {
    state: 'normal' as AlarmState,
    active: false,
    pendingMs: 0,
    quietMs: 0,
    forMs: 0,
    priority: condition.priority,
    words: condition.words,
    mend: condition.mend,
  };
  const before = record.state;
  record.forMs = Math.min(record.forMs + elapsedMs, AGE_CAP_MS);
  record.pendingMs = condition.active ? Math.min(record.pendingMs + elapsedMs, AGE_CAP_MS) : 0;
  record.quietMs = condition.active ? 0 : Math.min(record.quietMs + elapsedMs, AGE_CAP_MS);
  const gone = !condition.active && (condition.latched || condition.trip || record.quietMs >= ALARM_QUIET_MS);
  if (condition.active && !record.active && (record.pendingMs >= condition.afterMs || condition.latched)) {
    Object.assign(record, { active: true, words: condition.words, mend: condition.mend });
    record.state = ALARM_STATES[record.state].occur;
  } else if (gone && record.active) {
    record.active = false;
    record.state = ALARM_STATES[record.state][condition.latched ? 'latch' : 'clear'];
  } else if (gone && !condition.latched && record.state.startsWith('latched')) {
    record.state = ALARM_STATES[record.state].reset;
  }
  if (record.state !== before) record.forMs = 0;
  if (record.state === 'normal' && !condition.active && !record.active) delete draft.alarms[condition.alarm];
  else draft.alarms[condition.alarm] = record;
  return record.state === before ? [] : [announce(condition.alarm, record)];
}

const announce = (alarm: string, record: State['alarms'][string]): Effect => ({
  do: 'alarm',
  alarm,
  state: record.state,
  priority: record.priority,
  words: record.words,
  mend: record.mend,
});

/** A person has seen it. @returns the effects, empty where there is nothing to acknowledge */
export function acknowledge(draft: State, which: string): Effect[] {
  const ids = which === 'all' ? Object.keys(draft.alarms) : [which];
  return ids.flatMap((id) => {
    const record = draft.alarms[id];
    if (record === undefined) return [];
    const next = ALARM_STATES[record.state].acknowledge;
    if (next === record.state) return [];
    Object.assign(record, { state: next, forMs: 0 });
    if (next === 'normal' && !record.active) delete draft.alarms[id];
    return [announce(id, record)];
  });
}

const SILENT: readonly string[] = ['I-12', 'I-13'];

function conditions(plant: Plant, draft: State, holding: readonly Row[]): Condition[] {
  const found: Condition[] = [];
  const linked = isLinked(plant, draft);
  for (const row of concerned(plant, draft, holding)) {
    const { key, priority, afterMs, words, mend } = row;
    if (priority === null) continue;
    // Without a link every sensor is silent: that is one alarm, not one for each.
    const active = holding.includes(row) && (linked || !SILENT.includes(row.id));
    const latched = draft.trips[key] !== undefined;
    const trip = row.response === 'trip';
    found.push({ alarm: key, active, latched, trip, priority, afterMs, words, mend });
  }
  found.push(waits(draft.refill, 'refill'), waits(draft.batch, 'batch'));
  for (const id in draft.exchange) found.push(waits(known(draft.exchange, id), id));
  found.push(taskWaits(plant, draft), reserveShort(plant, draft));
  return found;
}

/** The rows that hold, are latched, or have an alarm that is not over yet, in their order. */
function concerned(plant: Plant, draft: State, holding: readonly Row[]): readonly Row[] {
  const rows = [...holding];
  const add = (key: string) => {
    const row = rowOf(plant, key);
    if (row !== undefined && !rows.includes(row)) rows.push(row);
  };
  for (const key in draft.trips) add(key);
  for (const key in draft.alarms) add(key);
  return rows.length === holding.length ? rows : rows.sort((a, b) => a.place - b.place);
}

/** A unit that goes on only with a person: held by its process, or by a policy, or its restarts are used up. */
function waits(unit: UnitState, name: string): Condition {
  const held = unit.procedure === 'held' && unit.cause !== 'person' && unit.cause !== 'trip';
  const usedUp = held && unit.restarts < 1;
  return {
    alarm: `A-01/${name}`,
    active: held,
    latched: false,
    trip: false,
    priority: 'soon',
    // What may go on by itself gets the time to do so.
    afterMs: unit.cause === 'process' || usedUp ? 0 : 10 * 60_000,
    words: `${name} is held: ${unit.words}${usedUp ? ' (its restarts for the day are used up)' : ''}`,
    mend: 'Look at the station, mend what the words say, then restart it.',
  };
}

function taskWaits(plant: Plant, draft: State): Condition {
  const task = draft.tasks[plant.mixingId] ?? null;
  return {
    alarm: 'A-02/task',
    active: task !== null,
    latched: false,
    trip: false,
    priority: 'notice',
    afterMs: PERSON_PATIENCE_MS,
    words: `somebody is still needed: ${task?.words ?? ''}`,
    mend: 'Do what is asked and confirm it; until then the batch waits.',
  };
}

function reserveShort(plant: Plant, draft: State): Condition {
  const share = reserveShareOf(plant, draft);
  const percent = (part: number) => `${(100 * part).toFixed(0)} %`;
  return {
    alarm: 'A-03/reserve',
    active: share < plant.process.reserveShare,
    latched: false,
    trip: false,
    priority: 'notice',
    afterMs: Math.max(RESERVE_PATIENCE_MS, plant.process.refill?.longestRunMs ?? 0),
    words: `water on hand is ${percent(share)} of the system, less than ${percent(plant.process.reserveShare)}`,
    mend: 'Let the purifier fill the fresh vat; if it can not keep up, exchange less or find out why it is slow.',
  };
}
