// A row that a person switches off for a while: with a reason, for no longer than the limit, and only where the kind of row
// says that it may be. Rows against overflow, dry running, flood, hot heaters and wrong water never may, and no trip does.
// It is an alarm for as long as it lasts, and it ends by itself, while the service is away as well.

import type { Plant } from '../../station/plant.ts';
import { rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { BYPASS_MOST_MS } from './limits.ts';
import { message } from './message.ts';
import { actuatorsOf } from './row-kinds.ts';
import type { GuardState } from './state.ts';
import type { Done, Effect, Request } from './types.ts';

const MINUTE_MS = 60_000;

export function bypass(plant: Plant, draft: GuardState, request: Extract<Request, { ask: 'bypass' }>): Done {
  const { row: key, minutes, reason, who } = request;
  const row = rowOf(plant, key);
  if (row === undefined) return { refused: message('no-such-row', { row: key }) };
  if (!row.bypass.may || row.action === 'trip')
    return { refused: message('row-never-bypassed', { row: row.id, because: row.bypass.because }) };
  if (reason.trim() === '') return { refused: message('reason-needed') };
  if (who.trim() === '') return { refused: message('say-who-answers') };
  if (!(minutes > 0 && minutes * MINUTE_MS <= BYPASS_MOST_MS))
    return { refused: message('bypass-lasts', { durationMs: BYPASS_MOST_MS }) };
  const runs = row.forbids.find((target) => mayRun(plant, draft, target));
  if (runs !== undefined) return { refused: message('not-proven-off-under-way', { target: runs }) };
  const given = { leftMs: Math.round(minutes * MINUTE_MS), reason: reason.trim(), who: who.trim() };
  draft.bypasses = { ...draft.bypasses, [key]: given };
  return {
    done: message('row-bypassed-for', {
      row: key,
      durationMs: minutes * MINUTE_MS,
      because: row.bypass.because,
    }),
  };
}

function mayRun(plant: Plant, draft: GuardState, target: string): boolean {
  const pipe = draft.routes[target];
  if (pipe) return pipe.running !== 'no';
  const [actuator] = actuatorsOf(plant, target);
  return actuator !== undefined && !known(draft.devices, actuator).provenOff;
}

/** @returns false where it was not bypassed */
export function endBypass(draft: GuardState, key: string): boolean {
  const { [key]: ended, ...others } = draft.bypasses;
  if (ended === undefined) return false;
  draft.bypasses = others;
  return true;
}

/** Time passes; what is over counts again. */
export function passBypasses(draft: GuardState, elapsedMs: number): readonly Effect[] {
  const before = draft.bypasses;
  let open = false;
  for (const _ in before) open = true;
  if (!open) return NOTHING;
  const left = Object.entries(before).map(
    ([key, one]) => [key, { ...one, leftMs: one.leftMs - elapsedMs }] as const,
  );
  draft.bypasses = Object.fromEntries(left.filter(([, { leftMs }]) => leftMs > 0));
  return left
    .filter(([, { leftMs }]) => leftMs <= 0)
    .map(
      ([key]): Effect => ({ do: 'record', about: 'bypass', words: message('bypass-is-over', { row: key }) }),
    );
}
const NOTHING: readonly Effect[] = [];
