// The nine states of an alarm and every transition (ISA-18.2 / IEC 62682), as one literal table. Shelved: by a person, for a
// limited time; suppressed by design: by the core's own logic; out of service: by a person, for maintenance. The three are
// silent, and each is left for the state that the condition then dictates, never blindly for normal.
import type { AlarmState } from '../guard/types.ts';

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
  /** Shelving ends, suppression ends, the alarm is back in service: what the condition is then decides. */
  | 'return-active'
  | 'return-latched'
  | 'return-clear';

// biome-ignore format: a table reads as a table
export const ALARM_STATES: Readonly<Record<AlarmState, Readonly<Record<AlarmEvent, AlarmState>>>> = {
  normal:                    { occur: 'unacknowledged', clear: 'normal', latch: 'normal', acknowledge: 'normal', reset: 'normal', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'normal' },
  unacknowledged:            { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'acknowledged', reset: 'unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'returned-unacknowledged' },
  acknowledged:              { occur: 'acknowledged', clear: 'normal', latch: 'latched-acknowledged', acknowledge: 'acknowledged', reset: 'acknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'acknowledged', 'return-latched': 'latched-acknowledged', 'return-clear': 'normal' },
  'returned-unacknowledged': { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'normal', reset: 'returned-unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'returned-unacknowledged' },
  'latched-unacknowledged':  { occur: 'unacknowledged', clear: 'returned-unacknowledged', latch: 'latched-unacknowledged', acknowledge: 'latched-acknowledged', reset: 'returned-unacknowledged', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'latched-unacknowledged' },
  'latched-acknowledged':    { occur: 'acknowledged', clear: 'normal', latch: 'latched-acknowledged', acknowledge: 'latched-acknowledged', reset: 'normal', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'acknowledged', 'return-latched': 'latched-acknowledged', 'return-clear': 'latched-acknowledged' },
  shelved:                   { occur: 'shelved', clear: 'shelved', latch: 'shelved', acknowledge: 'shelved', reset: 'shelved', shelve: 'shelved', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'normal' },
  'suppressed-by-design':    { occur: 'suppressed-by-design', clear: 'suppressed-by-design', latch: 'suppressed-by-design', acknowledge: 'suppressed-by-design', reset: 'suppressed-by-design', shelve: 'suppressed-by-design', suppress: 'suppressed-by-design', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'normal' },
  'out-of-service':          { occur: 'out-of-service', clear: 'out-of-service', latch: 'out-of-service', acknowledge: 'out-of-service', reset: 'out-of-service', shelve: 'out-of-service', suppress: 'out-of-service', out: 'out-of-service', 'return-active': 'unacknowledged', 'return-latched': 'latched-unacknowledged', 'return-clear': 'normal' },
};

/** The state that the condition dictates, once an alarm is no longer silenced. */
export function returned(state: AlarmState, isActive: boolean, isLatched: boolean): AlarmState {
  const event = isActive ? 'return-active' : isLatched ? 'return-latched' : 'return-clear';
  return ALARM_STATES[state][event];
}
