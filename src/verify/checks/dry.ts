// No pump runs dry for longer than it takes to find out.
import { dryS } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function dry(): Check {
  const { note, findings } = notebook();
  return {
    name: 'dry',
    promise: 'no pump runs dry for longer than it takes to find out',
    see: ({ plant, twin, troubles }) => {
      const { pumpDryS } = twin.world.ledger;
      for (const pump in pumpDryS) {
        const seconds = pumpDryS[pump] ?? 0;
        if (seconds === 0) continue;
        const allowed = dryS(plant, troubles, pump);
        if (seconds <= allowed) continue;
        const words = `${plant.actuators[pump]?.name ?? pump} ran dry for ${seconds.toFixed(0)} s; ${allowed.toFixed(0)} s can not be helped`;
        note({ check: 'dry', harm: 'dry', about: pump, words });
      }
    },
    findings,
  };
}
