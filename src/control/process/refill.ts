// 3a. Refill: keeps the fresh vat full. Starts below a mark, stops when full; a membrane that was started for seconds
// makes poor water, so it runs and rests for the route's least times, and is flushed first where there is a way to.

import type { Plant, Route } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { fresh, says } from '../guard/evidence.ts';
import { impure } from '../guard/flows.ts';
import { isAllowed } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { FLUSH_LEAST_MS, FLUSH_MOST_MS } from '../guard/limits.ts';
import { message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { isLinked } from '../guard/watched.ts';
import { starterOf } from './commissioned.ts';
import { isRunning, move } from './procedure.ts';
import { saysFull } from './refill-news.ts';
import type { Procedure, RefillState, State } from './state.ts';
import { isQuiet, quietWords, supervise, targetsOf } from './units.ts';

export function refill(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  const aims = plant.process.refill;
  const { route, flush } = ways(plant);
  const unit = draft.refill;
  if (aims === null || route === undefined) return;
  supervise(plant, draft, unit, targetsOf(plant).refill, elapsedMs);
  if (unit.procedure === 'complete') move(unit, 'reset', message('fresh-vat-full'));
  // Each refill flushes first, whoever starts it: a reset and a start may come in the same moment.
  if (ENDED.includes(unit.procedure)) {
    unit.flushMs = 0;
    unit.flushed = false;
  }
  if (unit.procedure === 'idle') startByItself(plant, draft, unit);
  if (!isRunning(unit)) return;
  if (isFull(plant, draft, route)) {
    move(unit, 'done', message('fresh-vat-full'));
    return;
  }
  if (flush && !isFlushed(plant, draft, flush, elapsedMs)) {
    unit.words = message('flushing');
    wants.targets.push(flush.id);
    return;
  }
  unit.words = isAllowed(draft, route.id) ? message('filling-fresh-vat') : message('waiting-to-fill');
  wants.targets.push(route.id);
}

const ENDED: readonly Procedure[] = ['idle', 'stopped', 'aborted'];

const ways = perPlant((plant) => {
  const routes = Object.values(plant.routes);
  return {
    route: routes.find((r) => r.purpose === 'refill'),
    flush: routes.find((r) => r.purpose === 'flush'),
  };
});

function startByItself(plant: Plant, draft: State, unit: RefillState): void {
  const aims = plant.process.refill;
  const held = known(draft.vessels, plant.freshId ?? plant.mixingId);
  if (
    !isLinked(plant, draft) ||
    aims === null ||
    starterOf(plant, draft, 'refill') !== 'itself' ||
    held.leastL >= aims.startBelowL
  )
    return;
  // A float whose words are swapped says full of a vat that is low: a refill would end as it begins, again and again.
  if (saysFull(plant, draft)) {
    unit.words = message('waiting-full-and-low');
    return;
  }
  const quiet = isQuiet(plant, draft, 'refill');
  if (quiet !== 'no') {
    unit.words = quietWords(quiet);
    return;
  }
  move(unit, 'start', message('fresh-vat-below-mark'));
}

function isFull(plant: Plant, draft: State, route: Route): boolean {
  const aims = plant.process.refill;
  const held = known(draft.vessels, route.to);
  const high = says(plant, draft, known(plant.vessels, route.to).floats.high, true);
  const pipe = known(draft.routes, route.id);
  const ranEnough = pipe.running !== 'yes' || pipe.runMs >= route.minimumRunMs;
  return high || (aims !== null && held.leastL >= aims.stopAtL && ranEnough);
}

/** Rinsed for its least time and, where a probe can say so, pure; or rinsed for its most. */
function isFlushed(plant: Plant, draft: State, flush: Route, elapsedMs: number): boolean {
  const unit = draft.refill;
  if (unit.flushed) return true;
  if (known(draft.routes, flush.id).running === 'yes') unit.flushMs += elapsedMs;
  const probe = known(plant.vessels, flush.from).conductivity;
  const pure = probe === null || (fresh(plant, draft, probe) !== null && !impure(plant, draft, flush));
  unit.flushed = unit.flushMs >= FLUSH_MOST_MS || (unit.flushMs >= FLUSH_LEAST_MS && pure);
  return unit.flushed;
}
