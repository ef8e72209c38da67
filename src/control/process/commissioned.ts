// Teeth of commissioning: before what the station file says of the devices was shown, nothing starts and nothing resumes by
// itself; a person may start it, and stays. A named person may waive that for a stated time. Simulated water has no devices:
// there nobody asks.
import type { Plant, Starter } from '../../station/plant.ts';
import { type Message, message } from '../guard/message.ts';
import { checking, clears, doing, respond } from '../guard/response.ts';
import type { Effect, Unit } from '../guard/types.ts';
import type { State } from './state.ts';

export interface Waiver {
  readonly leftMs: number;
  readonly who: string;
  readonly reason: string;
}

/** What the record of commissioning says of the devices, at the start of the service. */
export interface Commissioned {
  /** Items that have not passed. */
  readonly missing: number;
  readonly waiver: Waiver | null;
}

/** A state that begins with what the record says now, whatever an earlier one said. */
export const commissionedAs = (state: State, commissioned: Commissioned): State => ({
  ...state,
  commissioned,
});

/** Does nothing start or resume without a person? */
export const isWithheld = ({ commissioned }: State): boolean =>
  commissioned !== null && commissioned.missing > 0 && commissioned.waiver === null;

/** Who starts a unit: what the policy says, or a person while that is withheld. */
export const starterOf = (plant: Plant, state: State, unit: Unit): Starter =>
  isWithheld(state) ? 'person' : plant.policy.starts[unit];

/** Time passes; a waiver ends by itself. */
export function passWaiver(draft: State, elapsedMs: number): readonly Effect[] {
  const { commissioned } = draft;
  if (commissioned === null || commissioned.waiver === null) return NOTHING;
  const leftMs = commissioned.waiver.leftMs - elapsedMs;
  const waiver = leftMs > 0 ? { ...commissioned.waiver, leftMs } : null;
  draft.commissioned = { ...commissioned, waiver };
  return waiver === null
    ? [{ do: 'record', about: 'commissioning', words: message('waiver-is-over') }]
    : NOTHING;
}
const NOTHING: readonly Effect[] = [];

interface News {
  readonly alarm: string;
  readonly active: boolean;
  readonly trip: boolean;
  readonly priority: 'soon' | 'notice';
  readonly words: Message;
  readonly response: Message;
}

const ALARM = 'A-11/commissioning';
const RESPONSE = respond(
  checking(message('check-what-is-not-commissioned')),
  doing(message('do-commission')),
  clears(message('clears-when-commissioned')),
);

/** Said for as long as anything is missing: also while it is waived, with the reason. */
export function commissioningNews({ commissioned, alarms }: State): readonly News[] {
  const missing = commissioned?.missing ?? 0;
  if (missing === 0 && alarms[ALARM] === undefined) return [];
  const waiver = commissioned?.waiver ?? null;
  const words =
    waiver === null
      ? message('not-commissioned', { count: missing })
      : message('not-commissioned-waived', { count: missing, who: waiver.who, reason: waiver.reason });
  const priority = waiver === null ? 'soon' : 'notice';
  return [{ alarm: ALARM, active: missing > 0, trip: true, priority, words, response: RESPONSE }];
}
