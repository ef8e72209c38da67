// A heater is on only under water, never among undissolved salt, and the vat never gets hotter than its limit and a little.
import { aboveLimitK, heaterS } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook, perNight } from './check.ts';

export function heater(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  /** By how much it grew since the step before. */
  const grown = (key: string, now: number): number => {
    const by = now - (before.get(key) ?? 0);
    before.set(key, now);
    return by;
  };
  const heatersOf = perNight((plant) =>
    Object.values(plant.heaters).map(
      (heater) => [heater, heater.limitC + aboveLimitK(plant, heater.id)] as const,
    ),
  );
  return {
    name: 'heater',
    promise:
      'no heater is on above the water or among undissolved salt, and no vat gets much hotter than the limit',
    see: (seen) => {
      const { plant, twin, troubles, causes } = seen;
      const { heaterDryS, heaterWhileDissolvingS, hottestC } = twin.world.ledger;
      for (const [{ id, vessel, limitC, name, actuator }, mostC] of heatersOf(seen)) {
        const way = { by: id, ordered: causes.isOrdered([actuator]) };
        const bare = heaterDryS[id] ?? 0;
        const barer = grown(`${id}, bare`, bare);
        if (barer > 0) causes.enter('heater bare', id, barer, [way]);
        if (bare > 0 && bare > heaterS(plant, troubles))
          note({
            check: 'heater',
            harm: 'heater bare',
            about: id,
            allowed: heaterS(plant, troubles),
            words: `${name} was on above the water for ${bare.toFixed(0)} s`,
          });
        const early = heaterWhileDissolvingS[id] ?? 0;
        if (
          early > 0 &&
          early > heaterS(plant, troubles) &&
          !troubles.some(({ kind }) => BY_HAND.includes(kind))
        )
          note({
            check: 'heater',
            harm: null,
            about: `${id}, early`,
            words: `${name} was on for ${early.toFixed(0)} s while salt lay undissolved`,
          });
        const hottest = hottestC[vessel] ?? 0;
        const hotter = grown(`${id}, hot`, Math.max(0, hottest - mostC));
        if (hotter > 0) causes.enter('too hot', vessel, hotter, [way]);
        if (hottest > mostC)
          note({
            check: 'heater',
            harm: 'too hot',
            about: vessel,
            words: `${vessel} reached ${hottest.toFixed(1)} degC, its heater's limit is ${limitC.toFixed(1)} degC`,
          });
      }
    },
    findings,
  };
}

/** Salt that nobody spoke of can't be waited for. */
const BY_HAND = ['salt-twice', 'salt-share'];
