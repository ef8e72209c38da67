// A hose that comes off loses what is under way, and no more.
import { hoseL } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function hose(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  return {
    name: 'hose',
    promise: 'a hose that comes off loses what is under way until a tray is wet, and no more',
    see: ({ plant, twin, troubles, causes }) => {
      for (const id in plant.routes) {
        const lost = twin.world.ledger.hose[id]?.litres ?? 0;
        const route = plant.routes[id];
        if (lost === 0 || route === undefined) continue;
        const nowL = lost - (before.get(id) ?? 0);
        before.set(id, lost);
        if (nowL > 0)
          causes.enter(
            'on the floor',
            id,
            nowL,
            causes.passed().filter(({ by }) => by === id),
          );
        // Each time that a hose comes off, the same may be lost again.
        const times = troubles.filter(({ kind, what }) => kind === 'hose-off' && what === route.id).length;
        const allowed = times * hoseL(plant, troubles, route);
        if (lost <= allowed) continue;
        const words = `${lost.toFixed(1)} L of ${route.name} ran onto the floor; ${allowed.toFixed(1)} L can not be helped`;
        note({ check: 'hose', harm: 'on the floor', about: id, allowed, words });
      }
    },
    findings,
  };
}
