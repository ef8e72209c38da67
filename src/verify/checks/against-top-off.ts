// Nothing is told to drain while the system's own top-off says that it runs: it would put fresh water in the place of salt.
// What runs against orders (a siphon, a welded relay) is other judges' business.
import { delayMs, litres, SLOW_REACTION_MS } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function againstTopOff(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  const told = new Map<string, boolean>();
  const against = new Map<string, { litres: number; times: number; isNow: boolean }>();
  return {
    name: 'top-off',
    promise: 'no system is drained while its own top-off says that it runs',
    see: ({ plant, twin, troubles, sent }) => {
      for (const { actuator, on } of sent) told.set(actuator, on);
      for (const { route, fromSystem } of twin.works.lines) {
        const says = plant.vessels[route.from]?.topOff ?? null;
        if (!fromSystem || says === null) continue;
        const moved = twin.world.ledger.moved[route.id]?.litres ?? 0;
        const passed = moved - (before.get(route.id) ?? 0);
        before.set(route.id, moved);
        if (troubles.some(({ kind, what }) => what === says && LIES.includes(kind))) continue;
        const last = against.get(route.id) ?? { litres: 0, times: 0, isNow: false };
        const isNow = twin.world.topOffRuns[route.from] === true;
        const times = last.times + (isNow && !last.isNow ? 1 : 0);
        const isMeant = route.through.every((id) => told.get(id) === true);
        const sum = { litres: last.litres + (isNow && isMeant ? passed : 0), times, isNow };
        against.set(route.id, sum);
        if (sum.litres === 0) continue;
        const known = SLOW_REACTION_MS + route.runDownMs + delayMs(plant, troubles, route);
        const allowed = sum.times * litres(route, known);
        if (sum.litres <= allowed) continue;
        const words = `${sum.litres.toFixed(1)} L were drained while the top-off ran; ${allowed.toFixed(1)} L can not be helped`;
        note({ check: 'top-off', harm: null, about: route.from, words });
      }
    },
    findings,
  };
}

const LIES = ['says', 'frozen', 'sends', 'chatters', 'silent', 'offline'];
