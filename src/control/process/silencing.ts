// Alarms that a person silences: shelved for a while, or out of service for maintenance; always with a reason and a name,
// always shown, never the interlock itself. How long is bounded by the alarm's priority.

import type { Plant } from '../../station/plant.ts';
import { rowOf } from '../guard/interlocks.ts';
import { SHELVE_MOST_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import type { Done, Request } from '../guard/types.ts';
import { ALARM_STATES } from './alarm-states.ts';
import { announce, comeBack, quiet } from './alarms.ts';
import type { AlarmRecord, State } from './state.ts';

const MINUTE_MS = 60_000;

/** The record of an alarm that stands, or that a row of this station may raise. */
function recordOf(plant: Plant, draft: State, alarm: string): AlarmRecord | null {
  const standing = draft.alarms[alarm];
  if (standing !== undefined) return standing;
  const row = rowOf(plant, alarm);
  return row === undefined || row.priority === null ? null : quiet(row.priority, row.words, row.response);
}

export function shelve(plant: Plant, draft: State, request: Extract<Request, { ask: 'shelve' }>): Done {
  const { alarm, minutes, reason, who } = request;
  const record = recordOf(plant, draft, alarm);
  if (record === null) return { refused: message('no-such-alarm', { alarm }) };
  const why = unfit(reason, who);
  if (why !== null) return { refused: why };
  const mostMs = SHELVE_MOST_MS[record.priority];
  if (!(minutes > 0 && minutes * MINUTE_MS <= mostMs))
    return { refused: message('alarm-shelved-at-most', { durationMs: mostMs }) };
  const next = ALARM_STATES[record.state].shelve;
  if (next !== 'shelved') return { refused: message('alarm-silent-already', { alarmState: record.state }) };
  Object.assign(record, {
    state: next,
    forMs: 0,
    shelvedMs: Math.round(minutes * MINUTE_MS),
    silenced: `${reason.trim()} (${who.trim()})`,
  });
  draft.alarms[alarm] = record;
  return {
    done: message('alarm-shelved-for', { alarm, durationMs: minutes * MINUTE_MS }),
    effects: [announce(alarm, record)],
  };
}

export const unshelve = (draft: State, alarm: string): Done =>
  back(draft, alarm, 'shelved', message('alarm-not-shelved', { alarm }));

export function outOf(
  plant: Plant,
  draft: State,
  request: Extract<Request, { ask: 'alarm-out-of-service' }>,
): Done {
  const { alarm, reason, who } = request;
  const record = recordOf(plant, draft, alarm);
  if (record === null) return { refused: message('no-such-alarm', { alarm }) };
  const why = unfit(reason, who);
  if (why !== null) return { refused: why };
  Object.assign(record, {
    state: ALARM_STATES[record.state].out,
    forMs: 0,
    shelvedMs: 0,
    silenced: `${reason.trim()} (${who.trim()})`,
  });
  draft.alarms[alarm] = record;
  return {
    done: message('alarm-out-of-service', { alarm }),
    effects: [announce(alarm, record)],
  };
}

export const intoServiceAgain = (draft: State, alarm: string): Done =>
  back(draft, alarm, 'out-of-service', message('alarm-not-out-of-service', { alarm }));

function back(draft: State, alarm: string, from: AlarmRecord['state'], otherwise: Message): Done {
  const record = draft.alarms[alarm];
  if (record === undefined || record.state !== from) return { refused: otherwise };
  comeBack(record, draft.trips[alarm] !== undefined);
  record.forMs = 0;
  if (record.state === 'normal' && !record.active) delete draft.alarms[alarm];
  return { done: message('alarm-heard-again', { alarm }), effects: [announce(alarm, record)] };
}

function unfit(reason: string, who: string): Message | null {
  if (reason.trim() === '') return message('reason-needed');
  return who.trim() === '' ? message('say-who-answers') : null;
}
