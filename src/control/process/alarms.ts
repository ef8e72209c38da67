// 5. Alarms: how each condition of `alarm-conditions.ts` moves through the states of `alarm-states.ts`. An alarm may be
// delayed, shelved or out of service; a row never is: the rows were judged before this file is asked, and nothing here can
// take a verdict back.

import type { Plant } from '../../station/plant.ts';
import type { Row } from '../guard/interlocks.ts';
import { AGE_CAP_MS, ALARM_QUIET_MS, ANNOUNCED_KEPT, FLOOD_MS } from '../guard/limits.ts';
import { type Message, sameMessage } from '../guard/message.ts';
import type { Effect, Priority } from '../guard/types.ts';
import { type Condition, conditions } from './alarm-conditions.ts';
import { ALARM_STATES, returned } from './alarm-states.ts';
import type { AlarmRecord, State } from './state.ts';
import { comingAfter } from './telling.ts';
import { leaveForLater } from './upkeep.ts';

/** @param holding the rows that hold now, in their order */
export function alarms(plant: Plant, draft: State, elapsedMs: number, holding: readonly Row[]): Effect[] {
  if (draft.announced.length > 0) forget(draft, elapsedMs);
  if (draft.telling.coming !== null) {
    const coming = comingAfter(draft.telling.coming, elapsedMs);
    draft.telling = { ...draft.telling, coming };
  }
  const effects: Effect[] = [];
  for (const condition of conditions(plant, draft, holding)) {
    const news = settle(draft, condition, elapsedMs);
    if (news !== null) effects.push(news);
  }
  return effects;
}

/** What was announced more than ten minutes ago counts no longer. */
function forget(draft: State, elapsedMs: number): void {
  draft.announced = draft.announced
    .map(({ alarm, agoMs }) => ({ alarm, agoMs: agoMs + elapsedMs }))
    .filter(({ agoMs }) => agoMs < FLOOD_MS);
}

/** An alarm that nobody knows of yet. */
export const quiet = (priority: Priority, words: Message, response: Message): AlarmRecord => ({
  state: 'normal',
  active: false,
  pendingMs: 0,
  quietMs: 0,
  forMs: 0,
  priority,
  words,
  response,
  shelvedMs: 0,
  silenced: '',
});

function settle(draft: State, condition: Condition, elapsedMs: number): Effect | null {
  const known = draft.alarms[condition.alarm];
  if (known === undefined && !condition.active && !condition.latched) return null;
  const record = known ?? quiet(condition.priority, condition.words, condition.response);
  const before = record.state;
  record.forMs = Math.min(record.forMs + elapsedMs, AGE_CAP_MS);
  record.pendingMs = condition.active ? Math.min(record.pendingMs + elapsedMs, AGE_CAP_MS) : 0;
  record.quietMs = condition.active ? 0 : Math.min(record.quietMs + elapsedMs, AGE_CAP_MS);
  const gone = !condition.active && (condition.latched || condition.trip || record.quietMs >= ALARM_QUIET_MS);
  if (condition.active && !record.active && (record.pendingMs >= condition.afterMs || condition.latched)) {
    Object.assign(record, { active: true, words: condition.words, response: condition.response });
    record.state = ALARM_STATES[record.state].occur;
    if (!condition.suppressed) leaveForLater(draft, condition.alarm, condition.response);
  } else if (gone && record.active) {
    record.active = false;
    record.state = ALARM_STATES[record.state][condition.latched ? 'latch' : 'clear'];
  } else if (gone && !condition.latched && record.state.startsWith('latched')) {
    record.state = ALARM_STATES[record.state].reset;
  }
  const isReworded =
    (condition.follows ?? false) && condition.active && !sameMessage(record.words, condition.words);
  if (isReworded) {
    Object.assign(record, { words: condition.words, response: condition.response });
    leaveForLater(draft, condition.alarm, condition.response);
  }
  silence(record, condition, elapsedMs);
  if (record.state !== before) record.forMs = 0;
  if (record.state === 'unacknowledged' && before !== 'unacknowledged') remember(draft, condition.alarm);
  if (record.state === 'normal' && !condition.active && !record.active) delete draft.alarms[condition.alarm];
  else draft.alarms[condition.alarm] = record;
  return record.state === before && !isReworded ? null : announce(condition.alarm, record);
}

/** Suppressed by design comes and goes with its reason; shelving ends by itself. */
function silence(record: AlarmRecord, { suppressed = false, latched }: Condition, elapsedMs: number): void {
  if (suppressed) record.state = ALARM_STATES[record.state].suppress;
  else if (record.state === 'suppressed-by-design') comeBack(record, latched);
  if (record.state !== 'shelved') return;
  record.shelvedMs = Math.max(0, record.shelvedMs - elapsedMs);
  if (record.shelvedMs === 0) comeBack(record, latched);
}

/** An alarm is silenced no longer. */
export function comeBack(record: AlarmRecord, isLatched: boolean): void {
  Object.assign(record, {
    state: returned(record.state, record.active, isLatched),
    shelvedMs: 0,
    silenced: '',
  });
}

function remember(draft: State, alarm: string): void {
  draft.announced = [...draft.announced, { alarm, agoMs: 0 }].slice(-ANNOUNCED_KEPT);
}

export const announce = (alarm: string, record: AlarmRecord): Effect => ({
  do: 'alarm',
  alarm,
  state: record.state,
  priority: record.priority,
  words: record.words,
  response: record.response,
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
