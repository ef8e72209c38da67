// The person who comes in the morning: mops, bails out what is too full, makes good what a system has lost, looks at what
// tripped, resets, restarts, and gives up a batch that can't be saved. Works on the water itself, with the books kept.
import type { State } from '../../control/state.ts';
import type { Request } from '../../control/types.ts';
import { bodyOf, book, litresOf, poured, taken } from '../../simulate/world.ts';
import type { Plant, Vessel } from '../../station/plant.ts';
import type { Coupled } from '../coupled.ts';
import { looked } from '../looked.ts';

const LOOKS_EVERY_MS = 5 * 60_000;
/** After so many restarts of a batch that is stuck each time it is poured away. */
const PATIENCE = 1;

export interface Mender {
  /** Called after each step; does something every few minutes. */
  readonly look: () => void;
}

export function menderOf(coupled: Coupled): Mender {
  const { plant, twin } = coupled;
  let nextMs = coupled.nowMs();
  let stuck = 0;
  const ask = (requests: readonly Request[]): void => {
    for (const request of requests) coupled.request(request);
  };
  return {
    look: () => {
      if (coupled.nowMs() < nextMs) return;
      nextMs = coupled.nowMs() + LOOKS_EVERY_MS;
      const state = coupled.state();
      twin.mop();
      for (const vessel of Object.values(plant.vessels)) level(coupled, vessel);
      ask(looked(state, 'the mender', 'mopped, bailed out and mended'));
      const isStuck = state.batch.procedure === 'held' && state.batch.cause === 'process';
      stuck += isStuck ? 1 : 0;
      const givesUp = (isStuck && stuck > PATIENCE) || cannotStir(plant, coupled);
      if (givesUp) {
        stuck = 0;
        pourAway(coupled);
        ask([{ ask: 'abort', unit: 'batch' }]);
      }
      ask([{ ask: 'acknowledge', alarm: 'all' }, ...steering(plant, state, givesUp)]);
      ask(wanted(plant, state));
    },
  };
}

const heldL = ({ twin }: Coupled, id: string): number => {
  const body = twin.world.bodies[id];
  return body === undefined ? 0 : litresOf(body);
};

function markL({ sensors }: Plant, vessel: Vessel, position: 'low' | 'high'): number | null {
  const sensor = sensors[vessel.floats[position] ?? ''];
  return sensor?.measures === 'float'
    ? sensor.markL + (position === 'low' ? 1 : -1) * 2 * sensor.toleranceL
    : null;
}

/** Bails out what is too full; fills up a system that is too low, with water as it ought to be. */
function level(coupled: Coupled, vessel: Vessel): void {
  const { plant, twin } = coupled;
  const body = twin.world.bodies[vessel.id];
  if (body === undefined) return;
  const highL = Math.min(
    markL(plant, vessel, 'high') ?? Number.POSITIVE_INFINITY,
    vessel.capacityL - 2 * vessel.marginL,
  );
  const drawn = twin.world.ledger.drawn[vessel.id];
  const overL = heldL(coupled, vessel.id) - highL;
  if (overL > 0 && drawn !== undefined) {
    const downL = vessel.role === 'system' ? heldL(coupled, vessel.id) - vessel.volumeL : overL;
    book(drawn, taken(body, Math.max(overL, downL)));
  }
  const lowL = markL(plant, vessel, 'low') ?? 0.95 * vessel.volumeL;
  if (vessel.role === 'system' && heldL(coupled, vessel.id) < lowL) bring(coupled, vessel);
}

/** Water and salt that somebody brings are entered in the books as what they are. */
function bring({ plant, twin }: Coupled, { id, volumeL }: Vessel): void {
  const body = twin.world.bodies[id];
  if (body === undefined) return;
  const brought = bodyOf(volumeL - litresOf(body), plant.process.salinity.target, body.temperatureC);
  const { saltYield } = twin.works;
  const { ledger } = twin.world;
  const productKg = brought.saltKg / saltYield;
  ledger.productAddedKg[id] = (ledger.productAddedKg[id] ?? 0) + productKg;
  ledger.toppedOffKg[id] = (ledger.toppedOffKg[id] ?? 0) + brought.waterKg - productKg * (1 - saltYield);
  poured(body, { litres: 0, waterKg: brought.waterKg, saltKg: brought.saltKg }, body.temperatureC);
}

/** Too little is left in the vat to circulate, and the batch does not know how to begin anew by itself. */
function cannotStir(plant: Plant, coupled: Coupled): boolean {
  const { batch } = coupled.state();
  const vessel = plant.vessels[plant.mixingId];
  if (vessel === undefined || batch.stage === 'idle' || batch.stage === 'transfer') return false;
  if (batch.procedure !== 'running' && batch.procedure !== 'held') return false;
  const needsL = Math.max(vessel.minimumL, markL(plant, vessel, 'low') ?? 0);
  return heldL(coupled, vessel.id) < needsL && batch.stage !== 'ready';
}

function pourAway(coupled: Coupled): void {
  const { plant, twin } = coupled;
  const body = twin.world.bodies[plant.mixingId];
  const vessel = plant.vessels[plant.mixingId];
  const drawn = twin.world.ledger.drawn[plant.mixingId];
  if (body === undefined || vessel === undefined || drawn === undefined) return;
  book(drawn, taken(body, Math.max(0, litresOf(body) - vessel.minimumL)));
}

function steering(plant: Plant, state: State, gaveUp: boolean): Request[] {
  const { starts } = plant.policy;
  const drifted = Object.values(state.verdicts).some((keys) => keys.some((key) => key.startsWith('I-22')));
  const exchanges = Object.values(state.exchange);
  const asks: Request[] = [];
  const steer = (unit: 'refill' | 'batch' | 'exchange', procedure: string, startsByPerson: boolean): void => {
    if (procedure === 'held') asks.push({ ask: 'restart', unit });
    if (procedure === 'stopped' || procedure === 'aborted') asks.push({ ask: 'reset', unit });
    if (procedure === 'idle' && startsByPerson) asks.push({ ask: 'start', unit });
  };
  if (plant.process.refill !== null) steer('refill', state.refill.procedure, starts.refill === 'person');
  if (!gaveUp) steer('batch', state.batch.procedure, starts.batch === 'person');
  for (const { procedure } of exchanges) {
    if (drifted && procedure !== 'stopped') asks.push({ ask: 'stop', unit: 'exchange' });
    else steer('exchange', procedure, starts.exchange === 'person');
  }
  return asks;
}

/** Once a batch is ready a step of the exchange is asked for, so that the cycle can be seen to end. */
function wanted(plant: Plant, { batch, exchange }: State): Request[] {
  if (batch.stage !== 'ready' || batch.procedure !== 'running') return [];
  return Object.entries(exchange).flatMap(([system, { requestedL }]) => {
    const stepL = plant.process.exchange[system]?.stepL ?? 0;
    return requestedL > 0 || stepL <= 0 ? [] : [{ ask: 'exchange-now', system, volumeL: stepL } as const];
  });
}
