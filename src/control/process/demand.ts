// What the systems want of the mixing vat: the exchange asks for its own, the batch whether what is left still serves anybody.
import type { Plant } from '../../station/plant.ts';
import { forbiddenBy } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { sidesOf } from '../guard/ledger.ts';
import { deliverableL } from './on-hand.ts';
import { isRunning } from './procedure.ts';
import type { ExchangeState, State } from './state.ts';

/** A remainder smaller than this is a meter's rounding, not a wish. */
export const MEANT_L = 0.05;

/** A step that is held or stopped keeps nobody waiting: it finds out anew what there is when it goes on. */
export const isInStep = (work: ExchangeState): boolean => isRunning(work) && work.step !== 'rest';

/** A step has ended before all that it drained was made good. */
export const isOwed = (work: ExchangeState): boolean =>
  work.step === 'rest' && work.stepL > 0 && work.differenceL > MEANT_L;

/** What a system wants of the vat now, L; 0: nothing. */
export function wantedL(plant: Plant, state: State, systemId: string): number {
  const work = known(state.exchange, systemId);
  const { stepL } = known(plant.process.exchange, systemId);
  if (isOwed(work)) return work.differenceL;
  if (work.requestedL > MEANT_L) return Math.min(work.requestedL, stepL);
  return work.dueL >= stepL ? stepL : 0;
}

/**
 * Too little is left in the vat for the systems. While somebody wants water: for one that wants it, and nobody else could
 * take what is left now. Otherwise: for a step of any.
 */
export function isTooLittle(plant: Plant, state: State): boolean {
  const leftL = deliverableL(plant, state);
  const ids = Object.keys(state.exchange);
  if (ids.length === 0) return false;
  const wanting = ids.filter((id) => isRunning(known(state.exchange, id)) && wantedL(plant, state, id) > 0);
  if (wanting.length === 0)
    return leftL < Math.min(...ids.map((id) => known(plant.process.exchange, id).stepL));
  const isServed = (id: string): boolean => wantedL(plant, state, id) <= leftL;
  return (
    wanting.some((id) => !isServed(id)) && !wanting.some((id) => isServed(id) && isFree(plant, state, id))
  );
}

function isFree(plant: Plant, state: State, systemId: string): boolean {
  const { drain, supply } = known(sidesOf(plant), systemId);
  const ways = isOwed(known(state.exchange, systemId)) ? [supply] : [drain, supply];
  return ways.every((route) => route !== undefined && forbiddenBy(state, route.id).length === 0);
}
