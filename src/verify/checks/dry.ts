// No pump runs dry for longer than it takes to find out.
import type { Twin } from '../../simulate/twin.ts';
import type { Way } from '../../station/gaps.ts';
import { dryS } from './bounds.ts';
import type { Causes } from './causes.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function dry(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  return {
    name: 'dry',
    promise: 'no pump runs dry for longer than it takes to find out',
    see: ({ plant, twin, troubles, causes }) => {
      const { pumpDryS } = twin.world.ledger;
      for (const pump in pumpDryS) {
        const seconds = pumpDryS[pump] ?? 0;
        if (seconds === 0) continue;
        const now = seconds - (before.get(pump) ?? 0);
        before.set(pump, seconds);
        if (now > 0) causes.enter('dry', pump, now, running(twin, causes, pump));
        const allowed = dryS(plant, troubles, pump);
        if (seconds <= allowed) continue;
        const words = `${plant.actuators[pump]?.name ?? pump} ran dry for ${seconds.toFixed(0)} s; ${allowed.toFixed(0)} s can not be helped`;
        note({ check: 'dry', harm: 'dry', about: pump, allowed, words });
      }
    },
    findings,
  };
}

/** The ways that stand open with this pump: it is one of them that found no water. */
const running = (twin: Twin, causes: Causes, pump: string): readonly Way[] =>
  twin.works.lines
    .filter(({ pumps, route }) => pumps.includes(pump) && route.through.every(twin.isOn))
    .map(({ route }) => ({ by: route.id, ordered: causes.isOrdered(route.through) }));
