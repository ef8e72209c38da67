// Never two masters: where somebody else has just switched something, this service does not switch it on.
import { HANDS_OFF_MS } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function masters(): Check {
  const { note, findings } = notebook();
  const theirs = new Map<string, number>();
  return {
    name: 'masters',
    promise: 'what somebody else has just switched is not switched on by this service',
    see: ({ nowMs, sent, foreign }) => {
      for (const { actuator, on } of sent) {
        const since = nowMs - (theirs.get(actuator) ?? Number.NEGATIVE_INFINITY);
        const words = `${actuator} was switched on ${(since / 1000).toFixed(0)} s after somebody else had commanded it`;
        if (on && since < HANDS_OFF_MS) note({ check: 'masters', harm: null, about: actuator, words });
      }
      for (const { actuator } of foreign) theirs.set(actuator, nowMs);
    },
    findings,
  };
}
