// Nothing starts again and again: a pump that cycles burns out, a membrane that is started for minutes makes poor water,
// and each start may begin a siphon anew.
import type { Check } from './check.ts';
import { notebook } from './check.ts';

const HOUR_MS = 3_600_000;

export function cycling(): Check {
  const { note, findings } = notebook();
  const isOn = new Set<string>();
  const starts = new Map<string, number[]>();
  return {
    name: 'cycling',
    promise: 'no pump and no inlet valve is started more often in an hour than the station file allows',
    see: ({ plant, nowMs, sent }) => {
      for (const { actuator, on } of sent) {
        const isStart = on && !isOn.has(actuator);
        if (on) isOn.add(actuator);
        else isOn.delete(actuator);
        if (!isStart) continue;
        const routes = Object.values(plant.routes).filter(
          ({ through, pumped }) =>
            through.includes(actuator) && (!pumped || plant.actuators[actuator]?.kind === 'pump'),
        );
        if (routes.length === 0) continue;
        // A route that rested for long may spend what it saved at once, and what it earns in the same hour.
        const most = routes.reduce((sum, { startsPerHour }) => sum + 2 * startsPerHour, 0);
        const lately = (starts.get(actuator) ?? []).filter((at) => at > nowMs - HOUR_MS);
        lately.push(nowMs);
        starts.set(actuator, lately);
        const words = `${actuator} was started ${lately.length} times within an hour; ${most} are the most`;
        if (lately.length > most) note({ check: 'cycling', harm: null, about: actuator, words });
      }
    },
    findings,
  };
}
