// Whether the books close. Two ways at once: every vessel by the books of its pipes, and the whole station across its
// borders; a slip that cancels in one shows in the other.
import type { Route } from '../station/plant.ts';
import type { Twin } from './twin.ts';
import type { Waterworks } from './waterworks.ts';
import { bodyOf, type Moved } from './world.ts';

interface Balance {
  came: Moved;
  went: Moved;
  first: Moved;
  last: Moved;
}

/**
 * What was there plus what came less what went, against what is there: for every vessel by the books of the pipes, and for
 * the whole station across its borders. Undissolved product counts as the salt and the water that it will become.
 */
export function balanceErrorShare(twin: Twin): number {
  const { works, world } = twin;
  let worst = 0;
  const whole: Balance = { came: nothing(), went: nothing(), first: nothing(), last: nothing() };
  for (const id in world.bodies) {
    const balance = balanceOf(twin, id);
    worst = Math.max(worst, errorShare(balance));
    add(whole.first, balance.first);
    add(whole.last, balance.last);
    add(whole.came, atBorder(twin, id).came);
    add(whole.went, atBorder(twin, id).went);
  }
  for (const { id, from, to, loop } of routesOf(works)) {
    if (loop) continue;
    const moved = world.ledger.moved[id] ?? nothing();
    if (world.bodies[from] === undefined) add(whole.came, moved);
    if (world.bodies[to] === undefined) add(whole.went, moved);
    else add(whole.went, world.ledger.hose[id] ?? nothing());
  }
  return Math.max(worst, errorShare(whole));
}

function balanceOf(twin: Twin, id: string): Balance {
  const { plant, world, works } = twin;
  const { came, went } = atBorder(twin, id);
  for (const { id: route, from, to, loop } of routesOf(works)) {
    if (loop) continue;
    const moved = world.ledger.moved[route] ?? nothing();
    if (from === id) add(went, moved);
    if (to !== id) continue;
    add(came, moved);
    add(went, world.ledger.hose[route] ?? nothing());
  }
  const initial = plant.vessels[id]?.initial ?? { contentsL: 0, salinity: 0, temperatureC: 0 };
  const first = bodyOf(initial.contentsL, initial.salinity, initial.temperatureC);
  const last = world.bodies[id] ?? first;
  const { undissolvedKg } = last;
  return {
    came,
    went,
    first: { litres: 0, waterKg: first.waterKg, saltKg: first.saltKg },
    last: {
      litres: 0,
      waterKg: last.waterKg + undissolvedKg * (1 - works.saltYield),
      saltKg: last.saltKg + undissolvedKg * works.saltYield,
    },
  };
}

/** What crossed the station's border at one vessel, pipes left out. */
function atBorder({ world, works }: Twin, id: string): { came: Moved; went: Moved } {
  const { ledger } = world;
  const productKg = ledger.productAddedKg[id] ?? 0;
  const came = {
    litres: 0,
    waterKg: (ledger.toppedOffKg[id] ?? 0) + productKg * (1 - works.saltYield),
    saltKg: productKg * works.saltYield,
  };
  const went = nothing();
  went.waterKg += ledger.evaporatedKg[id] ?? 0;
  for (const lost of [ledger.spilled[id], ledger.leaked[id], ledger.drawn[id]]) add(went, lost ?? nothing());
  return { came, went };
}

function errorShare({ first, came, went, last }: Balance): number {
  const water = Math.abs(first.waterKg + came.waterKg - went.waterKg - last.waterKg);
  const salt = Math.abs(first.saltKg + came.saltKg - went.saltKg - last.saltKg);
  return Math.max(
    water / Math.max(1, first.waterKg + came.waterKg),
    salt / Math.max(0.1, first.saltKg + came.saltKg),
  );
}

function routesOf({ lines }: Waterworks): readonly Route[] {
  return lines.map(({ route }) => route);
}

function nothing(): Moved {
  return { litres: 0, waterKg: 0, saltKg: 0 };
}

function add(to: Moved, { litres, waterKg, saltKg }: Moved): void {
  to.litres += litres;
  to.waterKg += waterKg;
  to.saltKg += saltKg;
}
