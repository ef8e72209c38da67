// No command storm, and every `on` is a lease of the length that the station file says.
import { commandsPerMinute } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

const MINUTE_MS = 60_000;

export function commands(): Check {
  const { note, findings } = notebook();
  const lately = new Map<string, number[]>();
  return {
    name: 'commands',
    promise: 'commands to one actuator in a minute are bounded, and every `on` is a whole lease',
    see: ({ plant, nowMs, sent }) => {
      for (const { actuator, on, leaseMs } of sent) {
        const times = (lately.get(actuator) ?? []).filter((at) => at > nowMs - MINUTE_MS);
        times.push(nowMs);
        lately.set(actuator, times);
        const most = commandsPerMinute(plant, actuator);
        const storm = `${times.length} commands to ${actuator} within a minute; ${most} are enough`;
        if (times.length > most) note({ check: 'commands', harm: null, about: actuator, words: storm });
        const lease = `${actuator} was told to be on for ${leaseMs} ms, which is not its lease`;
        if (on && leaseMs !== plant.actuators[actuator]?.leaseMs)
          note({ check: 'commands', harm: null, about: `${actuator}, lease`, words: lease });
      }
    },
    findings,
  };
}
