// What a person or a hub may ask, and the answer. A request can start, hold, stop, confirm or report; it can never command
// an actuator and never overrule a row. A refusal says why, and changes nothing.

import type { Plant } from '../../station/plant.ts';
import { disown, isMeasurable, isPourable } from '../guard/acceptance.ts';
import { bypass, endBypass } from '../guard/bypass.ts';
import { MOST_MEASURED, MOST_POURED_KG } from '../guard/limits.ts';
import { hundredths, type Message, message, whole } from '../guard/message.ts';
import { abandon, beginProofTest } from '../guard/proof-tests.ts';
import { resetTrips } from '../guard/resets.ts';
import type { Done, Effect, Request, Unit } from '../guard/types.ts';
import { acknowledge } from './alarms.ts';
import { reconsider } from './batch.ts';
import { isInStep } from './demand.ts';
import { movedByHand } from './exercise.ts';
import { reported } from './measuring.ts';
import { hold, move, type ProcedureEvent } from './procedure.ts';
import { intoServiceAgain, outOf, shelve, unshelve } from './silencing.ts';
import { salted } from './stage-mix.ts';
import { begin } from './stage-transfer.ts';
import type { ExchangeState, State, UnitState } from './state.ts';
import { onTheWay } from './telling.ts';
import { upkeepDone } from './upkeep.ts';

interface Answer {
  readonly accepted: boolean;
  readonly words: Message;
  readonly effects?: readonly Effect[];
}
const yes = (words: Message, effects: readonly Effect[] = []): Answer => ({ accepted: true, words, effects });
const no = (words: Message): Answer => ({ accepted: false, words });

const given = (done: Done): Answer => ('refused' in done ? no(done.refused) : yes(done.done, done.effects));

export function answer(plant: Plant, draft: State, id: string, request: Request): Effect[] {
  const decided = decide(plant, draft, request);
  const { accepted, words } = decided;
  const record: Effect = {
    do: 'record',
    about: 'request',
    words: accepted
      ? message('answered', { ask: request.ask, answer: words })
      : message('refused', { ask: request.ask, why: words }),
  };
  return [{ do: 'answer', request: id, accepted, words }, record, ...(decided.effects ?? [])];
}

function decide(plant: Plant, draft: State, request: Request): Answer {
  switch (request.ask) {
    case 'acknowledge': {
      const effects = acknowledge(draft, request.alarm);
      return effects.length > 0
        ? yes(message('acknowledged'), effects)
        : no(message('no-unacknowledged-alarm', { alarm: request.alarm }));
    }
    case 'on-my-way': {
      const why = onTheWay(draft, request.who, request.minutes);
      return why === null ? yes(message('coming-noted', { who: request.who })) : no(why);
    }
    case 'reset-trip':
      return given(resetTrips(plant, draft, request));
    case 'salt-added':
      return saltAdded(plant, draft, request.massKg);
    case 'salinity-measured':
      return measured(plant, draft, request);
    case 'exchange-now':
      return exchangeNow(plant, draft, request.system, request.volumeL);
    case 'level-right':
      return levelRight(draft, request.system, request.who);
    case 'out-of-service':
      return outOfService(plant, draft, request.device, request.reason);
    case 'into-service':
      return intoService(draft, request.device);
    case 'proof-test': {
      const why = beginProofTest(plant, draft, request.row, request.who);
      return why === null ? yes(message('proof-test-begins')) : no(why);
    }
    case 'end-proof-test': {
      const effects = abandon(draft, message('ended-by-request'));
      return effects.length > 0
        ? yes(message('proof-test-ended-by-request'), effects)
        : no(message('no-proof-test'));
    }
    case 'valve-moved': {
      const why = movedByHand(plant, draft, request.valve, request.who);
      return why === null ? yes(message('valve-noted')) : no(why);
    }
    case 'upkeep-done':
      return given(upkeepDone(draft, request));
    case 'bypass':
      return given(bypass(plant, draft, request));
    case 'end-bypass':
      return endBypass(draft, request.row)
        ? yes(message('row-counts-again'))
        : no(message('row-not-bypassed', { row: request.row }));
    case 'shelve':
      return given(shelve(plant, draft, request));
    case 'unshelve':
      return given(unshelve(draft, request.alarm));
    case 'alarm-out-of-service':
      return given(outOf(plant, draft, request));
    case 'alarm-into-service':
      return given(intoServiceAgain(draft, request.alarm));
    default:
      return steer(plant, draft, request.ask, request.unit);
  }
}

type Steer = ProcedureEvent & Request['ask'];
type Named = readonly [string | Message, UnitState];

function unitsOf(draft: State, which: Unit | 'all'): readonly Named[] {
  const exchanges = Object.entries(draft.exchange).map(
    ([id, work]) => [message('exchange-of', { system: id }), work] as const,
  );
  const each: Readonly<Record<Unit, readonly Named[]>> = {
    refill: [['refill', draft.refill]],
    batch: [['batch', draft.batch]],
    exchange: exchanges,
  };
  return which === 'all' ? [...each.refill, ...each.batch, ...each.exchange] : each[which];
}

const each = (told: readonly Message[]): Message => message('units-are', { each: told });

/** Start, hold, restart, stop, abort, reset: the table of ISA-88 decides; with `all`, whatever can follow does. */
function steer(plant: Plant, draft: State, ask: Steer, which: Unit | 'all'): Answer {
  const units = unitsOf(draft, which);
  const followed = units.filter(([, unit]) => obey(plant, draft, unit, ask));
  if (followed.length > 0)
    return yes(each(followed.map(([unit, { procedure }]) => message('unit-is', { unit, procedure }))));
  const refused = units.map(([unit, { procedure }]) => message('unit-can-not', { unit, procedure, ask }));
  return no(refused.length > 0 ? each(refused) : message('no-such-unit'));
}

function obey(plant: Plant, draft: State, unit: UnitState, ask: Steer): boolean {
  const before = unit.procedure;
  // A ready batch that is asked to start is topped up: somebody is at home to bring the salt.
  if (ask === 'start' && unit === draft.batch && draft.batch.stage === 'ready' && before === 'running') {
    begin(plant, draft);
    return true;
  }
  if (ask === 'hold') {
    hold(unit, 'person', message('held-by-request'));
    return unit.cause === 'person';
  }
  if (ask === 'restart' && unit.cause === 'trip' && Object.keys(draft.trips).length > 0) return false;
  const stuck = unit.cause === 'process';
  if (!move(unit, ask, message(`${ask}-by-request`)) || unit.procedure === before) return false;
  if (unit === draft.batch) {
    if (ask === 'restart' && stuck) reconsider(draft.batch);
    if (ask === 'reset') {
      Object.assign(draft.batch, { stage: 'idle', stageMs: 0, moving: false });
      disown(draft.batch);
    }
  }
  const exchange = Object.values(draft.exchange).find((work) => work === unit);
  if (exchange && (ask === 'reset' || ask === 'stop' || ask === 'abort'))
    Object.assign(exchange, { requestedL: 0, dueL: 0 });
  if (exchange && (ask === 'reset' || ask === 'start')) newLedger(exchange);
  return true;
}

/**
 * Whoever says that the level is right, resets a stopped exchange, or starts one that waits for a person, has seen to the
 * system's level: what was drained and delivered is summed up anew.
 */
function newLedger(work: ExchangeState): void {
  Object.assign(work, {
    step: 'rest',
    stepL: 0,
    differenceL: 0,
    differenceErrorL: 0,
    stepRequested: false,
  });
}

function levelRight(draft: State, system: string, who: string): Answer {
  const work = draft.exchange[system];
  if (work === undefined) return no(message('no-such-exchange', { what: system }));
  if (who.trim() === '') return no(message('say-who-looked'));
  if (isInStep(work)) return no(message('step-under-way'));
  newLedger(work);
  draft.tasks[system] = null;
  return yes(message('ledger-begins-anew'));
}

const ASKS_FOR_SALT = ['mix/salt', 'mix/trim-salt'];

function saltAdded(plant: Plant, draft: State, massKg: number | null): Answer {
  const work = draft.batch;
  if (work.procedure === 'idle' || work.stage === 'idle' || work.stage === 'transfer')
    return no(message('no-batch-mixed'));
  if (massKg !== null && !isPourable(massKg))
    return no(message('salt-out-of-range', { mostKg: MOST_POURED_KG }));
  const asked = ASKS_FOR_SALT.includes(work.stage);
  if (massKg === null && !asked) return no(message('no-salt-asked'));
  // Unasked salt makes the batch unaccepted and its yield unknown; it dissolves and is measured like any other.
  if (!asked) work.salted = null;
  // A batch that is held keeps what it asks of a person: this was done, and a second dose can't be taken out.
  draft.tasks[plant.mixingId] = null;
  salted(draft, massKg ?? work.askedKg);
  return yes(message('dissolving'));
}

function measured(
  plant: Plant,
  draft: State,
  request: Extract<Request, { ask: 'salinity-measured' }>,
): Answer {
  const { vessel, salinity } = request;
  if (draft.salinity[vessel] === undefined) return no(message('no-such-vessel', { what: vessel }));
  const instrument = request.instrument.trim();
  if (instrument === '') return no(message('name-the-instrument'));
  if (!isMeasurable(salinity)) return no(message('salinity-out-of-range', { mostSalinity: MOST_MEASURED }));
  if (vessel === plant.mixingId) reported(plant, draft, { salinity, by: instrument });
  return yes(message('measurement-noted', { salinity: hundredths(salinity), instrument }));
}

function exchangeNow(plant: Plant, draft: State, system: string, volumeL: number): Answer {
  const work = draft.exchange[system];
  const aims = plant.process.exchange[system];
  if (work === undefined || aims === undefined) return no(message('no-such-exchange', { what: system }));
  if (!(volumeL > 0)) return no(message('volume-must-be-positive'));
  if (work.requestedL + volumeL > aims.largestL)
    return no(
      message('more-than-one-request', { volumeL: whole(work.requestedL + volumeL), mostL: aims.largestL }),
    );
  if (work.procedure !== 'running') {
    if (work.procedure !== 'idle' || !move(work, 'start', message('exchange-by-request')))
      return no(message('exchange-is', { procedure: work.procedure, why: work.words }));
  }
  work.requestedL += volumeL;
  return yes(message('to-exchange', { volumeL: whole(work.requestedL) }));
}

function outOfService(plant: Plant, draft: State, device: string, reason: string): Answer {
  if (plant.sensors[device] === undefined && plant.actuators[device] === undefined)
    return no(message('no-such-device', { what: device }));
  if (reason.trim() === '') return no(message('reason-needed'));
  draft.outOfService[device] = reason;
  const sensor = draft.sensors[device];
  if (sensor) sensor.fault = 'out-of-service';
  return yes(message('device-out-of-service', { what: device }));
}

function intoService(draft: State, device: string): Answer {
  if (draft.outOfService[device] === undefined)
    return no(message('device-not-out-of-service', { what: device }));
  delete draft.outOfService[device];
  const sensor = draft.sensors[device];
  if (sensor) Object.assign(sensor, { fault: null, live: false, believed: null });
  return yes(message('device-back-in-service', { what: device }));
}
