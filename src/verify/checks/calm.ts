// In a night without a fault nobody is called: an alarm or a trip that comes while nothing is wrong is a false one. What the
// file itself makes true is no false alarm: vats that begin the night nearly empty are a short reserve.
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function calm(): Check {
  const { note, findings } = notebook();
  return {
    name: 'calm',
    promise: 'while nothing is wrong nothing trips and no alarm comes',
    see: ({ troubles, alarms, nowMs }) => {
      if (troubles.length > 0) return;
      for (const { alarm, words } of alarms) {
        if (TRUE_ANYWAY.some((beginning) => alarm.startsWith(beginning)) || words.endsWith(BY_A_PERSON))
          continue;
        const told = `${alarm} came after ${(nowMs / 3_600_000).toFixed(1)} h, and nothing was wrong: ${words}`;
        note({ check: 'calm', harm: null, about: alarm, words: told });
      }
    },
    findings,
  };
}

const TRUE_ANYWAY = ['A-03/'];
/** So the file wants it: somebody is called to start what only a person starts. */
const BY_A_PERSON = 'only a person starts it';
