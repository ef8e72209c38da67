// Water that the purifier failed to clean does not get into a vat: what passed before the probe could say so, and no more.
import type { Plant, Route } from '../../station/plant.ts';
import { delayMs, litres, SLOW_REACTION_MS } from './bounds.ts';
import type { Check, Seen } from './check.ts';
import { notebook, perNight } from './check.ts';

export function impure(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  const letIn = new Map<string, { litres: number; ms: number }>();
  // Where the purifier fails in no hour of the night there is nothing to count.
  const watched = perNight((plant, troubles) =>
    troubles.some(({ kind }) => kind === 'exhausted') ? Object.values(plant.routes) : [],
  );
  return {
    name: 'impure',
    promise: 'water above the limit of the purified water does not get into a vat',
    see: (seen) => {
      const { plant, twin, troubles, elapsedMs } = seen;
      for (const route of watched(seen)) {
        const moved = twin.world.ledger.moved[route.id]?.litres ?? 0;
        const passed = moved - (before.get(route.id) ?? 0);
        before.set(route.id, moved);
        if (!isSpent(seen, route)) continue;
        const sum = letIn.get(route.id) ?? { litres: 0, ms: 0 };
        letIn.set(route.id, { litres: sum.litres + passed, ms: sum.ms + elapsedMs });
        // It may be tried again now and then: somebody may have changed the resin.
        const tries = 1 + Math.floor(sum.ms / TRIED_AGAIN_MS);
        const known =
          SLOW_REACTION_MS + probeMs(plant, route) + route.runDownMs + delayMs(plant, troubles, route);
        const allowed = tries * litres(route, known);
        if (sum.litres + passed <= allowed) continue;
        const words = `${(sum.litres + passed).toFixed(2)} L of impure water came by ${route.name}; ${allowed.toFixed(2)} L can not be helped`;
        note({ check: 'impure', harm: null, about: route.to, words });
      }
    },
    findings,
  };
}

const TRIED_AGAIN_MS = 30 * 60_000;
/** A probe errs: what is just above the limit need not be seen. */
const CLEARLY = 1.25;

/** The purifier lets through what it should not, into a vat, and a probe that does not lie could say so. */
function isSpent({ plant, troubles, nowMs }: Seen, route: Route): boolean {
  const source = plant.vessels[route.from];
  const limit = source?.purityLimitMsPerCm ?? null;
  const probe = source?.conductivity ?? null;
  if (limit === null || probe === null || plant.vessels[route.to]?.role === 'waste') return false;
  if (troubles.some(({ kind, what }) => what === probe && LIES.includes(kind))) return false;
  return troubles.some(
    ({ kind, what, value, fromMs, toMs }) =>
      kind === 'exhausted' &&
      what === route.from &&
      Number(value) > CLEARLY * limit &&
      fromMs <= nowMs &&
      nowMs < toMs,
  );
}
const LIES = ['says', 'frozen', 'reads-low', 'sends', 'chatters'];

/** Until the probe has said so: its water must come first, and it speaks only now and then. */
function probeMs(plant: Plant, { from }: Route): number {
  const probe = plant.sensors[plant.vessels[from]?.conductivity ?? ''];
  if (probe?.measures !== 'conductivity') return 0;
  return (probe.republishesMs ?? probe.maxAgeMs) + (probe.validAfter?.runsForMs ?? 0);
}
