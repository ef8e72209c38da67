// What of protection people must be able to see at any time: proof tests and when they are due, what is bypassed, how many
// alarms come. Part of the status; it decides nothing.

import type { Plant } from '../../station/plant.ts';
import { rowOf } from '../guard/interlocks.ts';
import { CHATTERING_ALARMS, CHATTERING_MS, FLOOD_ALARMS, STALE_ALARM_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { dueInMs, proofWords, provable, type Standing, standingOf } from '../guard/proof-tests.ts';
import { type ExerciseStanding, exerciseStanding, sinceMoved } from './exercise-news.ts';
import type { AlarmRecord, State } from './state.ts';

const DAY_MS = 86_400_000;
const MINUTE_MS = 60_000;

export interface ProofStatus {
  /** Every row that has a proof test, with the contact that a person moves for it. */
  readonly rows: Readonly<
    Record<
      string,
      {
        readonly sensor: string;
        readonly standing: Standing;
        readonly neverTried: boolean;
        readonly dueInDays: number;
      }
    >
  >;
  readonly underWay: {
    readonly row: string;
    readonly sensor: string;
    readonly who: string;
    readonly phase: 'stopping' | 'waiting' | 'returning';
    readonly forSeconds: number;
    /** What to do now. */
    readonly words: Message;
  } | null;
}

export interface ExerciseStatus {
  readonly name: string;
  readonly standing: ExerciseStanding;
  readonly dueInDays: number;
  /** Why a person must move it; null: the service does. */
  readonly byHand: string | null;
  /** What it is doing now; null: nothing. */
  readonly underWay: 'opening' | 'open' | 'closing' | null;
}

export interface UpkeepStatus {
  /** Its name, by which it is said to be done. */
  readonly task: string;
  /** The alarm that asked for it. */
  readonly alarm: string;
  readonly words: Message;
}

export interface BypassStatus {
  readonly row: string;
  /** What the row would say. */
  readonly words: Message;
  readonly reason: string;
  readonly who: string;
  readonly leftMinutes: number;
}

/** ISA-18.2: more than ten alarms in ten minutes are a flood, the same one three times in a minute chatters. */
export interface AlarmLoad {
  readonly inTenMinutes: number;
  readonly flood: boolean;
  readonly chattering: readonly string[];
  /** Standing for more than a day. */
  readonly stale: readonly string[];
}

export function proofStatus(plant: Plant, state: State): ProofStatus {
  const { test } = state.proofs;
  const rows = provable(plant).map(({ key, proves }) => [
    key,
    {
      sensor: proves,
      standing: standingOf(plant, state, key),
      neverTried: state.proofs.sinceMs[key] === undefined,
      dueInDays: Math.floor(dueInMs(plant, state, key) / DAY_MS),
    },
  ]);
  return {
    rows: Object.fromEntries(rows),
    underWay:
      test === null
        ? null
        : {
            row: test.row,
            sensor: test.sensor,
            who: test.who,
            phase: test.phase,
            forSeconds: Math.round(test.forMs / 1000),
            words: proofWords(plant, test),
          },
  };
}

export const exerciseStatus = (plant: Plant, state: State): Readonly<Record<string, ExerciseStatus>> =>
  Object.fromEntries(
    Object.values(plant.exercises).map((one) => {
      const { id, name, byHand, everyMs } = one;
      const { run } = state.exercises;
      const dueInDays = Math.floor((everyMs - sinceMoved(state, id)) / DAY_MS);
      const underWay = run?.valve === id ? run.phase : null;
      return [id, { name, standing: exerciseStanding(state, one), dueInDays, byHand, underWay }];
    }),
  );

export const bypassStatus = (plant: Plant, state: State): readonly BypassStatus[] =>
  Object.entries(state.bypasses).map(([row, { reason, who, leftMs }]) => ({
    row,
    words: rowOf(plant, row)?.words ?? message('the-row', { row }),
    reason,
    who,
    leftMinutes: Math.ceil(leftMs / MINUTE_MS),
  }));

export const upkeepStatus = ({ upkeep }: State): readonly UpkeepStatus[] =>
  Object.entries(upkeep).map(([task, { told, alarm }]) => ({ task, alarm, words: told }));

export function alarmLoad({ announced, alarms }: State): AlarmLoad {
  const lately = announced.filter(({ agoMs }) => agoMs < CHATTERING_MS).map(({ alarm }) => alarm);
  const often = (alarm: string): boolean =>
    lately.filter((other) => other === alarm).length >= CHATTERING_ALARMS;
  return {
    inTenMinutes: announced.length,
    flood: announced.length > FLOOD_ALARMS,
    chattering: [...new Set(lately)].filter(often),
    stale: Object.entries(alarms).flatMap(([alarm, record]) => (isStale(record) ? [alarm] : [])),
  };
}

const isStale = ({ active, state, forMs }: AlarmRecord): boolean =>
  active && (state === 'unacknowledged' || state === 'acknowledged') && forMs > STALE_ALARM_MS;
