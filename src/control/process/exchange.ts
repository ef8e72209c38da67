// 3c. Exchange, for each system: so much out, then as much in, in small steps spread over the day, or as many steps as a
// request needs. The difference between drained and delivered is carried into the next step, so it can't grow; rows
// I-21, I-22, I-30 and I-42 watch over it. Drain comes first: a system that is a little low is safer than one a little high.
//
// Every step ends. Only one system is in a step at a time, because all are supplied from one vat: two that drained would
// wait for water that is there once. Those that could begin take turns, the one that has rested longest first. A drain
// that is forbidden turns to the supply with what was drained. A supply that is forbidden ends as well; what the system is
// still owed stands in the ledger, keeps the top-off inhibited, holds nothing else up, and is delivered before anything
// more is drained.

import type { ExchangeTargets, Plant, Route } from '../../station/plant.ts';
import type { Wants } from '../guard/commands.ts';
import { doubtOfL } from '../guard/flows.ts';
import { forbiddenBy, isAllowed, rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { isUncertain, ledgersOf, sidesOf } from '../guard/ledger.ts';
import { AGE_CAP_MS } from '../guard/limits.ts';
import { type Message, message, tenths } from '../guard/message.ts';
import { isLinked } from '../guard/watched.ts';
import { starterOf } from './commissioned.ts';
import { isInStep, isOwed, MEANT_L, wantedL } from './demand.ts';
import { deliverableL } from './on-hand.ts';
import { isRunning, move } from './procedure.ts';
import { batchIsReady } from './stage-ready.ts';
import type { ExchangeState, State } from './state.ts';
import { isQuiet, quietWords, supervise, targetsOf } from './units.ts';

const DAY_MS = 86_400_000;

export function exchange(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  const ids = Object.keys(draft.exchange);
  const rested = (id: string): number => known(draft.exchange, id).restMs;
  if (ids.length > 1) ids.sort((a, b) => rested(b) - rested(a));
  for (const systemId of ids) one(plant, draft, systemId, elapsedMs, wants);
}

function one(plant: Plant, draft: State, systemId: string, elapsedMs: number, wants: Wants): void {
  const work = known(draft.exchange, systemId);
  const aims = known(plant.process.exchange, systemId);
  const { drain, supply } = known(sidesOf(plant), systemId);
  if (drain === undefined || supply === undefined) return;
  supervise(plant, draft, work, known(targetsOf(plant).exchange, systemId), elapsedMs);
  keepLedger(draft, work, aims, drain, supply);
  askForLook(plant, draft, systemId);
  const volumeL = known(plant.vessels, systemId).volumeL;
  const dayL = aims.perDayShare * volumeL;
  work.restMs = work.step === 'rest' ? Math.min(work.restMs + elapsedMs, AGE_CAP_MS) : 0;
  if (work.procedure === 'idle' && isLinked(plant, draft) && starterOf(plant, draft, 'exchange') === 'itself')
    move(work, 'start', message('exchange-begins'));
  if (work.procedure === 'complete') move(work, 'reset', message('idle'));
  if (!isRunning(work)) return;
  // What was missed is caught up, but never more than a day's worth: nobody wants a week's water at once.
  work.dueL = Math.min(work.dueL + (elapsedMs / DAY_MS) * dayL, Math.max(dayL, dayL > 0 ? aims.stepL : 0));
  if (work.step === 'rest') begin(plant, draft, systemId, aims, drain, supply);
  if (work.step === 'drain') drainStep(draft, work, drain, wants);
  if (work.step === 'supply') supplyStep(plant, draft, work, supply, wants);
  if ((work.step !== 'rest' || isOwed(work)) && aims.inhibitTopOff !== null)
    wants.signals.push(aims.inhibitTopOff);
}

/** Where no float and no level says how high a system stands, somebody looks before the doubt is too large. */
function askForLook(plant: Plant, draft: State, systemId: string): void {
  if (ledgersOf(plant)[systemId] === undefined) return;
  const { name, volumeL } = known(plant.vessels, systemId);
  const words = message('task-look', { vessel: name, volumeL });
  draft.tasks[systemId] = isUncertain(plant, draft, systemId, 'drain')
    ? { task: 'look', vessel: systemId, massKg: null, words }
    : null;
}

/** Another system that is in the middle of a step: the vat serves one after the other. */
const busyWith = (draft: State, systemId: string): string | undefined =>
  Object.keys(draft.exchange).find((id) => id !== systemId && isInStep(known(draft.exchange, id)));

/** What the two routes moved since the event before, whoever wanted it. */
function keepLedger(
  draft: State,
  work: ExchangeState,
  aims: ExchangeTargets,
  drain: Route,
  supply: Route,
): void {
  const out = known(draft.routes, drain.id);
  const back = known(draft.routes, supply.id);
  const outL = out.movedL;
  const backL = back.movedL;
  work.differenceL += outL - backL;
  work.differenceErrorL += doubtOfL(out) + doubtOfL(back);
  // Level evidence closes the ledger: no error can be larger than what the system's contents leave open.
  const held = known(draft.vessels, drain.from);
  work.differenceErrorL = Math.min(work.differenceErrorL, (held.mostL - held.leastL) / 2);
  if (draft.clock.trusted && draft.clock.day !== work.day)
    Object.assign(work, { day: draft.clock.day, yesterdayL: work.todayL, todayL: 0 });
  work.stepDrainedL += outL;
  work.todayL += backL;
  if (work.stepRequested) work.requestedL = Math.max(0, work.requestedL - backL);
  // A step delivers a little more than it aims at: a pump runs down, a tick is late. What is not owed is owed later, or
  // a station of small steps would exchange a fifth more than its file says, day after day.
  else work.dueL = Math.max(-aims.stepL, work.dueL - backL);
}

function begin(
  plant: Plant,
  draft: State,
  systemId: string,
  aims: ExchangeTargets,
  drain: Route,
  supply: Route,
): void {
  const work = known(draft.exchange, systemId);
  const owed = isOwed(work);
  if (!owed) work.stepL = 0;
  const requested = work.requestedL > MEANT_L;
  const neededL = wantedL(plant, draft, systemId);
  const rests = owed ? null : restsFor(plant, draft, systemId, aims);
  if (rests !== null) {
    work.words = rests;
    return;
  }
  if (!batchIsReady(draft)) {
    work.words = message('waiting-for-batch');
    return;
  }
  if (deliverableL(plant, draft) < neededL) {
    work.words = message('waiting-for-next-batch');
    return;
  }
  const other = busyWith(draft, systemId);
  if (other !== undefined) {
    work.words = message('waiting-for-other-system', { vessel: other });
    return;
  }
  const ways = owed ? [supply] : [drain, supply];
  const blocker = ways.flatMap(({ id }) => forbiddenBy(draft, id))[0];
  if (blocker !== undefined) {
    work.words = message('waiting-because', {
      why: rowOf(plant, blocker)?.words ?? message('the-row', { row: blocker }),
    });
    return;
  }
  if (owed) {
    work.step = 'supply';
    return;
  }
  // The difference of the steps before is made good: what was drained too much is not drained again.
  Object.assign(work, {
    step: 'drain',
    stepL: neededL,
    stepDrainedL: 0,
    stepRequested: requested,
    steps: work.steps + 1,
  });
}

/** Nothing is due yet, or the step before was too short a time ago; null: a step may begin. */
function restsFor(plant: Plant, draft: State, systemId: string, aims: ExchangeTargets): Message | null {
  const work = known(draft.exchange, systemId);
  if (wantedL(plant, draft, systemId) === 0)
    return aims.perDayShare > 0 ? message('resting-until-due') : message('waiting-for-request');
  if (work.requestedL > MEANT_L)
    return work.restMs < aims.settleMs ? message('settling-between-steps') : null;
  // What was missed is caught up at twice the day's pace, not in one go.
  const paceMs = (aims.stepL / (aims.perDayShare * known(plant.vessels, systemId).volumeL)) * DAY_MS;
  if (work.restMs < paceMs / 2) return message('resting-between-steps');
  const quiet = isQuiet(plant, draft, 'exchange');
  return quiet === 'no' ? null : quietWords(quiet);
}
function drainStep(draft: State, work: ExchangeState, drain: Route, wants: Wants): void {
  const missingL = work.stepL - work.differenceL;
  if (missingL <= 0 || !isAllowed(draft, drain.id) || !batchIsReady(draft)) {
    work.step = 'supply';
    return;
  }
  work.words = message('draining-to-go', { volumeL: tenths(missingL) });
  wants.targets.push(drain.id);
}

function supplyStep(plant: Plant, draft: State, work: ExchangeState, supply: Route, wants: Wants): void {
  const isDone = work.differenceL <= 0;
  if (isDone || !(isAllowed(draft, supply.id) || isWayBusy(plant, draft, supply))) {
    // What is still owed keeps its step: rows I-22 and I-42 know by it that the drain was meant.
    const stepL = isDone ? 0 : work.differenceL;
    // What its pump brings while it runs down belongs to the request that the step was for, as long as there is one.
    const stepRequested = work.stepRequested && (!isDone || work.requestedL > 0);
    Object.assign(work, { step: 'rest', stepL, restMs: 0, stepRequested });
    work.words = isDone ? message('step-is-done') : message('step-ended-early');
    return;
  }
  work.words = message('delivering-to-go', { volumeL: tenths(work.differenceL) });
  wants.targets.push(supply.id);
}

/** Only for the moment: the pump of the drain, or of a circulation, that the supply shares is not proven off yet. */
const isWayBusy = (plant: Plant, draft: State, supply: Route): boolean =>
  forbiddenBy(draft, supply.id).every((key) => rowOf(plant, key)?.means === 'passing');
