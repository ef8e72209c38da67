// Nothing runs over a brim. What the keeper's own top-off or a stopped return pump does to a system is none of the station's.
import type { Check } from './check.ts';
import { notebook } from './check.ts';

const OVER_L = 0.01;

export function spilled(): Check {
  const { note, findings } = notebook();
  return {
    name: 'spilled',
    promise: 'no vessel runs over its brim',
    see: ({ plant, twin, troubles }) => {
      const { spilled } = twin.world.ledger;
      for (const id in spilled) {
        const litres = spilled[id]?.litres ?? 0;
        if (litres <= OVER_L) continue;
        const others = troubles.some(({ kind, what }) => OTHERS.includes(kind) && what === id);
        if (others) continue;
        const name = plant.vessels[id]?.name ?? id;
        note({
          check: 'spilled',
          harm: 'spilled',
          about: id,
          words: `${litres.toFixed(1)} L ran over the brim of ${name}`,
        });
      }
    },
    findings,
  };
}

const OTHERS = ['top-off-runs', 'return-stopped'];
