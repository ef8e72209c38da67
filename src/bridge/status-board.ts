// The status for people and hubs: what `describe` says, retained, when it changed, and not more than once a second.
import { LIMITS } from './limits.ts';
import type { Outgoing } from './message.ts';

export interface StatusBoard {
  /** @param now true: say it even if nothing changed. */
  readonly offer: (describe: () => object, nowMs: number, now?: boolean) => void;
}

/** @param everyMs 0 in lock step, where the water sets the pace. */
export function statusBoard(
  topic: string,
  say: (message: Outgoing) => void,
  everyMs: number = LIMITS.statusMs,
): StatusBoard {
  let said = '';
  let saidMs = Number.NEGATIVE_INFINITY;
  return {
    offer: (describe, nowMs, now = false) => {
      if (!now && nowMs - saidMs < everyMs) return;
      const payload = JSON.stringify(describe());
      saidMs = nowMs;
      if (payload === said && !now) return;
      said = payload;
      say({ topic, payload, retain: true });
    },
  };
}
