// The person who comes after a night, and who does what the station asks for and nothing else: each alarm and each trip is
// answered by what its words ask, tasks are the twin's person's. Who is not asked does not act: a station that stands
// still and says nothing stays like that, and that is what a judge then finds. Works on the water itself, books kept.

import { rowOf } from '../../control/guard/interlocks.ts';
import type { Request, Unit } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import { isMessage, type Message, message, sameMessage } from '../../language/message.ts';
import { bodyOf, book, litresOf, poured, taken } from '../../simulate/world.ts';
import type { Plant, Vessel } from '../../station/plant.ts';
import type { Coupled } from '../coupled.ts';
import { aboutOf, type Hand, handsOf, systemAt } from '../hands.ts';
import { looked } from '../looked.ts';

const NOTHING = message('nothing');
const PERSON = 'the person in the morning';
const LOOKS_EVERY_MS = 5 * 60_000;
/** After so many restarts of a batch that says again that it is stuck, its water is poured away. */
const PATIENCE = 1;

export interface Mender {
  /** Called after each step; does something every few minutes. */
  readonly look: () => void;
}

/** What was done once stays done until its alarm is over. */
interface Memory {
  /** Units that this person has stopped, to be set going again. */
  readonly stopped: Set<Unit>;
  stuck: number;
}

export function menderOf(coupled: Coupled): Mender {
  const memory: Memory = { stopped: new Set(), stuck: 0 };
  let nextMs = coupled.nowMs();
  return {
    look: () => {
      if (coupled.nowMs() < nextMs) return;
      nextMs = coupled.nowMs() + LOOKS_EVERY_MS;
      for (const request of answersTo(coupled, memory)) coupled.request(request);
    },
  };
}

function answersTo(coupled: Coupled, memory: Memory): readonly Request[] {
  const { plant } = coupled;
  const state = coupled.state();
  const told = toldBy(state);
  if (state.batch.stage === 'ready') memory.stuck = 0;
  const helped = told.flatMap((alarm) => {
    const about = { alarm, id: aboutOf(plant, alarm), memory };
    return handsOf(state.alarms[alarm]?.response ?? NOTHING).flatMap((hand) => HELP[hand](coupled, about));
  });
  const asks = [
    ...helped,
    ...looked(state, PERSON, 'looked at what the alarm names: mended, and no water comes'),
    ...(told.length > 0 ? [{ ask: 'acknowledge', alarm: 'all' } as const] : []),
    ...goingOn(plant, state, memory),
    ...wanted(plant, state),
  ];
  const once = new Map(asks.map((request) => [JSON.stringify(request), request]));
  return [...once.values()];
}

/** The alarms that stand on the page: what is over, or was silenced by somebody, asks for nothing. */
const toldBy = ({ alarms }: State): readonly string[] =>
  Object.entries(alarms)
    .filter(([, { state }]) => STANDING.includes(state) || state.startsWith('latched'))
    .map(([alarm]) => alarm);
const STANDING: readonly string[] = ['unacknowledged', 'acknowledged'];

interface About {
  readonly alarm: string;
  /** The vessel, route or unit that the alarm is about. */
  readonly id: string;
  readonly memory: Memory;
}

/** What each hand does in the simulated water, and what is asked of the service then; resets come by themselves. */
const HELP: Readonly<Record<Hand, (coupled: Coupled, about: About) => readonly Request[]>> = {
  'lower-below-overflow': (coupled, { id }) => {
    const vessel = coupled.plant.vessels[id];
    return vessel === undefined ? [] : lower(coupled, vessel, belowOverflowL(coupled.plant, vessel));
  },
  mop: ({ twin }) => {
    twin.mop();
    return [];
  },
  lower: (coupled, { id }) => atSystem(coupled, id, (system) => lower(coupled, system, system.volumeL)),
  bring: (coupled, { id }) => atSystem(coupled, id, (system) => bring(coupled, system)),
  level: (coupled, { id }) =>
    atSystem(coupled, id, (system) => [...lower(coupled, system, system.volumeL), ...bring(coupled, system)]),
  'begin-ledger': (coupled, { id, memory }) =>
    atSystem(coupled, id, (system) => {
      memory.stopped.add('exchange');
      const isStopped = coupled.state().exchange[system.id]?.procedure === 'stopped';
      return isStopped ? [] : [{ ask: 'stop', unit: 'exchange' }];
    }),
  'say-level-right': (coupled, { id }) =>
    atSystem(coupled, id, (system) => [{ ask: 'level-right', system: system.id, who: PERSON }]),
  // The water cools by itself.
  cool: () => [],
  'give-batch-up': (_, { memory }) => {
    memory.stopped.add('batch');
    return [{ ask: 'stop', unit: 'batch' }];
  },
  // The words are those of the row that stands in its way.
  'do-what-words-name': (coupled, about) => {
    const { plant } = coupled;
    const { verdicts, alarms } = coupled.state();
    const { words } = alarms[about.alarm] ?? {};
    const saidThere = words === undefined ? [] : heldIn(words);
    const named = new Set(
      Object.values(verdicts)
        .flat()
        .filter((key) => saidThere.some((said) => isSaidBy(plant, key, said))),
    );
    return [...named].flatMap((key) => {
      const row = rowOf(plant, key);
      if (row === undefined) return [];
      const hands: readonly Hand[] = row.means === 'brim' ? ['lower'] : handsOf(row.response);
      return hands.flatMap((hand) => HELP[hand](coupled, { ...about, id: row.subject }));
    });
  },
  resume: (coupled, { id, memory }) => {
    const unit = id === 'refill' || id === 'batch' ? id : 'exchange';
    if (unit !== 'batch' || coupled.state().batch.cause !== 'process') return [{ ask: 'restart', unit }];
    thinned(coupled);
    memory.stuck += 1;
    if (memory.stuck <= PATIENCE) return [{ ask: 'restart', unit }];
    memory.stuck = 0;
    memory.stopped.add('batch');
    pourAway(coupled);
    return [{ ask: 'abort', unit }];
  },
};

/** What this person stopped is reset; what a trip held is restarted once the answer says that it waits; what the file leaves to a person is started. */
function goingOn(plant: Plant, state: State, { stopped }: Memory): Request[] {
  const { starts } = plant.policy;
  const units = [
    ['refill', state.refill, starts.refill],
    ['batch', state.batch, starts.batch],
    ...Object.values(state.exchange).map((work) => ['exchange', work, starts.exchange] as const),
  ] as const;
  const isTripped = Object.keys(state.trips).length > 0;
  return units.flatMap(([unit, { procedure, cause }, starter]): Request[] => {
    if (unit === 'refill' && plant.process.refill === null) return [];
    if (procedure === 'held' && cause === 'trip' && !isTripped) return [{ ask: 'restart', unit }];
    if ((procedure === 'stopped' || procedure === 'aborted') && stopped.has(unit))
      return [{ ask: 'reset', unit }];
    return procedure === 'idle' && starter === 'person' ? [{ ask: 'start', unit }] : [];
  });
}

/** Once a batch is ready a step of the exchange is asked for, so that the cycle can be seen to end. */
function wanted(plant: Plant, { batch, exchange }: State): Request[] {
  if (batch.stage !== 'ready' || batch.procedure !== 'running') return [];
  return Object.entries(exchange).flatMap(([system, { requestedL }]) => {
    const stepL = plant.process.exchange[system]?.stepL ?? 0;
    return requestedL > 0 || stepL <= 0 ? [] : [{ ask: 'exchange-now', system, volumeL: stepL } as const];
  });
}

const heldL = ({ twin }: Coupled, id: string): number => {
  const body = twin.world.bodies[id];
  return body === undefined ? 0 : litresOf(body);
};

/** What is done at the system that an alarm is about, by its own id or by a route. */
function atSystem(
  { plant }: Coupled,
  about: string,
  act: (system: Vessel) => readonly Request[],
): readonly Request[] {
  const system = plant.vessels[systemAt(plant, about) ?? ''];
  return system === undefined ? [] : act(system);
}

function belowOverflowL({ sensors }: Plant, { floats, capacityL, marginL }: Vessel): number {
  const float = sensors[floats.overflow ?? ''];
  return float?.measures === 'float' ? float.markL - 2 * float.toleranceL : capacityL - 2 * marginL;
}

/** Bails out what stands above. */
function lower(coupled: Coupled, { id }: Vessel, toL: number): readonly Request[] {
  const { twin } = coupled;
  const body = twin.world.bodies[id];
  const drawn = twin.world.ledger.drawn[id];
  const overL = heldL(coupled, id) - toL;
  if (body !== undefined && drawn !== undefined && overL > 0) book(drawn, taken(body, overL));
  return [];
}

/** Makes good what a system has lost, with water as it ought to be; water and salt are entered in the books as what they are. */
function bring({ plant, twin }: Coupled, { id, volumeL }: Vessel): readonly Request[] {
  const body = twin.world.bodies[id];
  if (body === undefined || litresOf(body) >= volumeL) return [];
  const brought = bodyOf(volumeL - litresOf(body), plant.process.salinity.target, body.temperatureC);
  const { saltYield } = twin.works;
  const { ledger } = twin.world;
  const productKg = brought.saltKg / saltYield;
  ledger.productAddedKg[id] = (ledger.productAddedKg[id] ?? 0) + productKg;
  ledger.toppedOffKg[id] = (ledger.toppedOffKg[id] ?? 0) + brought.waterKg - productKg * (1 - saltYield);
  poured(body, { litres: 0, waterKg: brought.waterKg, saltKg: brought.saltKg }, body.temperatureC);
  return [];
}

const isSaidBy = (plant: Plant, key: string, said: Message): boolean => {
  const row = rowOf(plant, key);
  return row !== undefined && sameMessage(row.words, said);
};

/** A message and every message in it. */
const heldIn = (message: Message): readonly Message[] => [
  message,
  ...Object.values(message.values).flat().filter(isMessage).flatMap(heldIn),
];

/** "Draw off 3 L of it", "and put fresh water in its place" where that is asked. */
function thinned(coupled: Coupled): void {
  const { twin, plant } = coupled;
  const { id, values } = coupled.state().batch.words;
  const asks = id === 'too-salt-no-room' || id === 'too-full-for-salt';
  const litres = asks ? Number(values.volumeL) : 0;
  const vessel = plant.vessels[plant.mixingId];
  const body = twin.world.bodies[plant.mixingId];
  if (litres === 0 || vessel === undefined || body === undefined) return;
  lower(coupled, vessel, heldL(coupled, vessel.id) - litres);
  if (id !== 'too-salt-no-room') return;
  const fresh = bodyOf(litres, 0, body.temperatureC);
  const { ledger } = twin.world;
  ledger.toppedOffKg[vessel.id] = (ledger.toppedOffKg[vessel.id] ?? 0) + fresh.waterKg;
  poured(body, { litres: 0, waterKg: fresh.waterKg, saltKg: 0 }, fresh.temperatureC);
}

function pourAway(coupled: Coupled): void {
  const vessel = coupled.plant.vessels[coupled.plant.mixingId];
  if (vessel !== undefined) lower(coupled, vessel, vessel.minimumL);
}
