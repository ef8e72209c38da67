// What goes into the core and what comes out of it: plain data, one field tells the members of a union apart.
//
// An event is one input image: what arrived, how much time passed since the event before it, and whether a control tick
// is due. The core evaluates everything on every event, so a wet float acts at once; leases are renewed on ticks only.
// Effects say what is to be done; their order is their order on the wire. Time is elapsed milliseconds, never an instant.
import type { Request } from './asks.ts';
import type { Message } from './message.ts';

export type { Request } from './asks.ts';

export interface Event {
  /** Time since the event before this one; a whole number >= 0. */
  readonly elapsedMs: number;
  /** Everything that arrived with it, in order of arrival. */
  readonly inputs: readonly Input[];
  /** A control tick: the only moment at which a lease is renewed. */
  readonly tick: boolean;
}

export type BadReading = 'unparsable' | 'empty' | 'out-of-range' | 'sentinel' | 'offline' | 'overflow';

export type Input =
  /** Contacts: true = wet, running. Numbers are in the house unit (see station/plant.ts). `live` false: retained, history only. */
  | {
      readonly type: 'reading';
      readonly sensor: string;
      readonly value: number | boolean;
      readonly live: boolean;
      /** How old it says that it is; 0 where it says nothing. */
      readonly ageMs?: number;
    }
  | { readonly type: 'bad-reading'; readonly sensor: string; readonly reason: BadReading }
  | {
      readonly type: 'feedback';
      readonly actuator: string;
      readonly on: boolean;
      readonly live: boolean;
      readonly ageMs?: number;
    }
  | { readonly type: 'bad-feedback'; readonly actuator: string; readonly reason: BadReading }
  /** A command on an actuator's topic that this service did not send; on null: nobody can read it. */
  | {
      readonly type: 'foreign-command';
      readonly actuator: string;
      readonly on: boolean | null;
      readonly retained: boolean;
    }
  /** An empty message on an actuator's topic: no command. It clears what the broker stored there. */
  | { readonly type: 'empty-command'; readonly actuator: string }
  /** The connection to the broker came up (subscriptions granted) or went down. */
  | { readonly type: 'link'; readonly up: boolean }
  /** Our own heartbeat came back. */
  | { readonly type: 'echo' }
  | {
      readonly type: 'clock';
      readonly minuteOfDay: number;
      readonly day: number;
      readonly trusted: boolean;
    }
  | { readonly type: 'request'; readonly id: string; readonly request: Request }
  /** The record of what happened can (or can't) be written. */
  | { readonly type: 'journal'; readonly writable: boolean }
  /** Where messages to people do not arrive, by the names of the owner. */
  | { readonly type: 'sinks'; readonly failing: readonly string[] };

export type Unit = 'refill' | 'batch' | 'exchange';

/** What a person is asked to do. One at a time for each vessel. */
export interface Task {
  readonly task: 'add-salt' | 'measure-salinity' | 'look';
  readonly vessel: string;
  /** For add-salt: the dry product to add, kg. */
  readonly massKg: number | null;
  readonly words: Message;
}

export type AlarmState =
  | 'normal'
  | 'unacknowledged'
  | 'acknowledged'
  | 'returned-unacknowledged'
  | 'latched-unacknowledged'
  | 'latched-acknowledged'
  | 'shelved'
  | 'suppressed-by-design'
  | 'out-of-service';

/** From the least pressing to the most. */
export const PRIORITIES = ['notice', 'soon', 'urgent'] as const;
export type Priority = (typeof PRIORITIES)[number];
export const isPriority = (word: string): word is Priority =>
  (PRIORITIES as readonly string[]).includes(word);

export type Effect =
  | {
      readonly do: 'command';
      readonly actuator: string;
      readonly on: boolean;
      readonly leaseMs: number;
    }
  | { readonly do: 'ask'; readonly vessel: string; readonly task: Task | null }
  | {
      readonly do: 'alarm';
      readonly alarm: string;
      readonly state: AlarmState;
      readonly priority: Priority;
      readonly words: Message;
      readonly response: Message;
    }
  | {
      readonly do: 'answer';
      readonly request: string;
      readonly accepted: boolean;
      readonly words: Message;
    }
  /** A proof test came to its end. `seconds`: from the contact's word to the row's answer; null where none came. */
  | {
      readonly do: 'proof-test';
      readonly row: string;
      readonly sensor: string;
      readonly who: string;
      readonly expected: Message;
      readonly seen: Message;
      readonly passed: boolean;
      readonly seconds: number | null;
    }
  /** Something worth keeping: a phase moved, a trip latched, a batch was accepted. */
  | { readonly do: 'record'; readonly about: string; readonly words: Message };

/** What came of a request: what was done, or why not. */
export type Done =
  | { readonly done: Message; readonly effects?: readonly Effect[] }
  | { readonly refused: Message };
