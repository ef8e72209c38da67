// What is said at the end of the days: what failed, in words, and the figures behind it.
import type { Deed } from './helper.ts';
import { brokenPromises, type Verdict } from './judges.ts';
import type { Relays } from './relays.ts';
import type { WayId } from './water.ts';

export interface Rung {
  readonly atH: number;
  readonly alarm: string;
  readonly state: string;
  readonly priority: string;
  readonly words: string;
  /** The fault that explains it; null: a false alarm. */
  readonly explainedBy: string | null;
}

/** What came of the days, before anybody judges it. */
export interface Days {
  readonly days: number;
  readonly seed: number;
  readonly verdict: Verdict;
  readonly movedL: Readonly<Record<WayId, number>>;
  readonly rung: readonly Rung[];
  readonly records: readonly { readonly atH: number; readonly about: string; readonly words: string }[];
  readonly deeds: readonly Deed[];
  readonly faults: readonly { readonly text: string; readonly fromH: number | null }[];
  readonly refused: Relays['refused'];
  readonly steps: number;
  readonly messages: number;
  readonly tookS: number;
  readonly lines: string;
}

export interface Summary extends Days {
  readonly ok: boolean;
  readonly failures: readonly string[];
}

const ANNOUNCED: readonly string[] = ['unacknowledged', 'latched-unacknowledged'];

export function summed(days: Days): Summary {
  const { verdict, rung } = days;
  const promises = brokenPromises(verdict, days.days);
  const told = rung.some(({ state }) => ANNOUNCED.includes(state)) ? '' : ', and nobody was told';
  const failures = [
    ...verdict.harm.map((words) => `harm: ${words}`),
    ...rung
      .filter(({ state, explainedBy }) => explainedBy === null && ANNOUNCED.includes(state))
      .map(({ atH, alarm, words }) => `false alarm at ${atH} h: ${alarm}: ${words}`),
    ...promises.map((words) => `promise broken${told}: ${words}`),
  ];
  return { ok: failures.length === 0, failures, ...days };
}
