// When: how long each remaining part of a batch takes, and why; when the reserve is restored; how a large exchange goes.
// Estimates for people, from usual flows and the engineering room's formulas. No decision rests on them.

import { heatingTime } from '../../engineering/heat.ts';
import type { Plant } from '../../station/plant.ts';
import { middleL } from '../guard/contents.ts';
import { fresh, probeOf } from '../guard/evidence.ts';
import { known } from '../guard/invariant.ts';
import { type Message, message, tenths, whole } from '../guard/message.ts';
import { availableL, deliverableL, reserveShareOf, transferRoute } from './on-hand.ts';
import { STAGES } from './stages.ts';
import type { Stage, State } from './state.ts';

export interface Part {
  readonly phase: 'transfer' | 'mix' | 'heat' | 'exchange';
  readonly words: Message;
  /** Null: nobody can say, a person is needed. */
  readonly lastsMs: number | null;
}

export interface Forecast {
  /** Until the batch is ready, people's part not counted; null where something never ends. */
  readonly readyInMs: number | null;
  readonly waitsForPerson: boolean;
  readonly parts: readonly Part[];
  /** Until the reserve is restored: 0 now, null never. */
  readonly reserveInMs: number | null;
  readonly reserveShare: number;
}

const MINUTE_MS = 60_000;
const ORDER = Object.keys(STAGES) as readonly Stage[];
/** A trim goes back to where its correction is made. */
const TRIMS = { 'mix/trim-salt': 'mix/salt', 'mix/trim-water': 'mix/salt' } as const;
const PLACE: Readonly<Partial<Record<Stage, Stage>>> = TRIMS;
type Timed = Exclude<Stage, 'idle' | 'ready' | keyof typeof TRIMS>;

export function forecast(plant: Plant, state: State): Forecast {
  const parts = batchParts(plant, state);
  const readyInMs = parts.reduce<number | null>(
    (sum, part) => (sum === null ? null : sum + (part.lastsMs ?? 0)),
    0,
  );
  const share = reserveShareOf(plant, state);
  return {
    readyInMs,
    waitsForPerson: parts.some((part) => part.lastsMs === null),
    parts,
    reserveInMs: reserveInMs(plant, state, share),
    reserveShare: share,
  };
}

/** What is left of the batch that is under way, or the whole of the next one. */
function batchParts(plant: Plant, state: State): Part[] {
  const { stage } = state.batch;
  if (stage === 'ready') return [];
  const parts: Readonly<Partial<Record<Stage, Part>>> = stagesOf(plant, state);
  return ORDER.slice(ORDER.indexOf(PLACE[stage] ?? stage)).flatMap((one) => parts[one] ?? []);
}

function stagesOf(plant: Plant, state: State): Readonly<Record<Timed, Part>> {
  const { stage, stageMs, circulatedMs } = state.batch;
  const { dissolveMs, settleMs, steadyOverMs } = plant.process.batch;
  const gone = (part: Stage): number => (part === stage ? (part === 'mix/salt' ? stageMs : circulatedMs) : 0);
  const left = (part: Stage, lastsMs: number): number => Math.max(0, lastsMs - gone(part));
  return {
    transfer: { phase: 'transfer', ...transferTime(plant, state) },
    'mix/assess': {
      phase: 'mix',
      words: message('measuring-the-vat'),
      lastsMs: left('mix/assess', probeOf(plant, plant.mixingId) ? settleMs : 0),
    },
    'mix/salt': { phase: 'mix', ...saltTime(plant, state) },
    'mix/dissolve': { phase: 'mix', words: message('dissolving'), lastsMs: left('mix/dissolve', dissolveMs) },
    'mix/measure': {
      phase: 'mix',
      words: message('settling-and-measuring'),
      lastsMs: left('mix/measure', settleMs + steadyOverMs),
    },
    heat: { phase: 'heat', ...heatTime(plant, state) },
  };
}

function transferTime(plant: Plant, state: State): { words: Message; lastsMs: number } {
  const route = transferRoute(plant);
  const missingL = Math.max(0, plant.process.batch.contentsL - middleL(known(state.vessels, plant.mixingId)));
  if (route === undefined || missingL === 0) return { words: message('nothing-to-move'), lastsMs: 0 };
  const pumpMs = (missingL / route.flowUsualLpm) * MINUTE_MS;
  const lackingL = Math.max(0, missingL - availableL(plant, state));
  const refill = Object.values(plant.routes).find((r) => r.purpose === 'refill');
  const waitMs = refill && lackingL > 0 ? (lackingL / refill.flowUsualLpm) * MINUTE_MS : 0;
  const words =
    waitMs > 0
      ? message('moving-unpurified', { volumeL: whole(missingL), lackingL: whole(lackingL) })
      : message('moving', { volumeL: whole(missingL) });
  return { words, lastsMs: Math.round(pumpMs + waitMs) };
}

function saltTime(plant: Plant, state: State): { words: Message; lastsMs: number | null } {
  const doser = Object.values(plant.dosers).find((d) => d.vessel === plant.mixingId);
  if (doser === undefined) return { words: message('person-adds-salt'), lastsMs: null };
  const leftKg = Math.max(0, state.batch.askedKg - state.batch.saltAddedNowKg);
  return {
    words: message('dosing-the-salt'),
    lastsMs: Math.round((leftKg / doser.rateKgPerMin) * MINUTE_MS),
  };
}

function heatTime(plant: Plant, state: State): { words: Message; lastsMs: number } {
  const heater = Object.values(plant.heaters).find((h) => h.vessel === plant.mixingId);
  const aims = plant.process.temperature;
  const celsius = fresh(plant, state, known(plant.vessels, plant.mixingId).temperature);
  if (!heater || aims === null || celsius === null || celsius >= aims.targetC - aims.toleranceK)
    return { words: message('no-heating'), lastsMs: 0 };
  const litres = Math.max(plant.process.batch.contentsL, middleL(known(state.vessels, plant.mixingId)));
  const time = heatingTime(
    litres,
    plant.process.salinity.target,
    celsius,
    aims.targetC,
    heater.powerW,
    heater.lossWPerK,
    celsius,
  );
  return time.kind === 'reached'
    ? {
        words: message('heating-from', { temperatureC: tenths(celsius) }),
        lastsMs: Math.round(time.hours * 60 * MINUTE_MS),
      }
    : { words: message('heater-too-weak'), lastsMs: 0 };
}

function reserveInMs(plant: Plant, state: State, share: number): number | null {
  if (share >= plant.process.reserveShare) return 0;
  const refill = Object.values(plant.routes).find(
    (r) => r.purpose === 'refill' || (plant.freshId === null && r.purpose === 'transfer'),
  );
  if (refill === undefined) return null;
  const systemsL = plant.systemIds.reduce((sum, id) => sum + known(plant.vessels, id).volumeL, 0);
  const missingL = (plant.process.reserveShare - share) * systemsL;
  const target = known(plant.vessels, refill.to);
  const room = target.capacityL - target.marginL - middleL(known(state.vessels, refill.to));
  // More than the vat takes now is restored only after a batch has made room.
  return missingL > room ? null : Math.round((missingL / refill.flowUsualLpm) * MINUTE_MS);
}

/** How a request that is under way goes on: what is there is delivered, a batch is made, and so on until it is done. */
export function timetable(plant: Plant, state: State, systemId: string): readonly Part[] {
  const work = known(state.exchange, systemId);
  const aims = known(plant.process.exchange, systemId);
  const routes = Object.values(plant.routes);
  const drain = routes.find((r) => r.purpose === 'drain' && r.from === systemId);
  const supply = routes.find((r) => r.purpose === 'supply' && r.to === systemId);
  if (!drain || !supply || work.requestedL <= 0) return [];
  const perLitreMs =
    MINUTE_MS / drain.flowUsualLpm + MINUTE_MS / supply.flowUsualLpm + aims.settleMs / aims.stepL;
  const parts: Part[] = [];
  let leftL = work.requestedL;
  let onHandL = state.batch.stage === 'ready' ? deliverableL(plant, state) : 0;
  const vat = known(plant.vessels, plant.mixingId);
  const perBatchL = Math.max(plant.process.batch.contentsL - vat.minimumL, aims.stepL);
  for (let batches = 0; leftL > 0.05 && batches <= MOST_BATCHES; batches += 1) {
    const nowL = Math.min(leftL, onHandL);
    if (nowL > 0)
      parts.push({
        phase: 'exchange',
        words: message('exchanging', { volumeL: whole(nowL) }),
        lastsMs: Math.round(nowL * perLitreMs),
      });
    leftL -= nowL;
    if (leftL > 0.05) parts.push(...nextBatch(plant, state, batches));
    onHandL = perBatchL;
  }
  return parts;
}
/** A request is at most the system's largest; vats smaller than a twentieth of it are not planned further. */
const MOST_BATCHES = 20;

function nextBatch(plant: Plant, state: State, already: number): readonly Part[] {
  if (already === 0 && state.batch.stage !== 'ready') return batchParts(plant, state);
  const route = transferRoute(plant);
  const { contentsL, dissolveMs, settleMs, steadyOverMs } = plant.process.batch;
  const refill = Object.values(plant.routes).find((r) => r.purpose === 'refill');
  const haveL = already === 0 ? availableL(plant, state) : 0;
  const waitMs = refill ? (Math.max(0, contentsL - haveL) / refill.flowUsualLpm) * MINUTE_MS : 0;
  const pumpMs = route ? (contentsL / route.flowUsualLpm) * MINUTE_MS : 0;
  return [
    {
      phase: 'transfer',
      words: message('moving', { volumeL: whole(contentsL) }),
      lastsMs: Math.round(pumpMs + waitMs),
    },
    { phase: 'mix', ...saltTime(plant, state) },
    {
      phase: 'mix',
      words: message('dissolving-and-measuring'),
      lastsMs: dissolveMs + 2 * settleMs + steadyOverMs,
    },
    { phase: 'heat', ...heatTime(plant, state) },
  ];
}
