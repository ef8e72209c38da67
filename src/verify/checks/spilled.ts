// Nothing runs over a brim. What the keeper's own top-off or a stopped return pump does to a system is none of the station's.
import type { Check } from './check.ts';
import { notebook } from './check.ts';

const OVER_L = 0.01;

export function spilled(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  return {
    name: 'spilled',
    promise: 'no vessel runs over its brim',
    see: ({ plant, twin, troubles, causes }) => {
      const { spilled } = twin.world.ledger;
      for (const id in spilled) {
        const litres = spilled[id]?.litres ?? 0;
        const nowL = litres - (before.get(id) ?? 0);
        before.set(id, litres);
        if (nowL > 0)
          causes.enter(
            'spilled',
            id,
            nowL,
            causes.passed().filter(({ line }) => line.route.to === id && !line.route.loop),
          );
        if (litres <= OVER_L) continue;
        const others = troubles.some(({ kind, what }) => OTHERS.includes(kind) && what === id);
        if (others) continue;
        const name = plant.vessels[id]?.name ?? id;
        note({
          check: 'spilled',
          harm: 'spilled',
          about: id,
          allowed: OVER_L,
          words: `${litres.toFixed(1)} L ran over the brim of ${name}`,
        });
      }
    },
    findings,
  };
}

const OTHERS = ['top-off-runs', 'return-stopped'];
