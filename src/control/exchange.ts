// 3c. Exchange, for each system: so much out, then as much in, in small steps spread over the day, or as many steps as a
// request needs. The difference between drained and delivered is carried into the next step, so it can't grow; rows
// I-21, I-22 and I-30 watch over it. Drain comes first: a system that is a little low is safer than one a little high.
import type { ExchangeTargets, Plant, Route } from '../station/plant.ts';
import { doubtOfL } from './flows.ts';
import { forbiddenBy, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS } from './limits.ts';
import { deliverableL } from './on-hand.ts';
import { perPlant } from './per-plant.ts';
import { isRunning, move } from './procedure.ts';
import { batchIsReady } from './stage-ready.ts';
import type { ExchangeState, State } from './state.ts';
import { isLinked, isQuiet, quietWords, supervise, targetsOf, type Wants } from './units.ts';

const DAY_MS = 86_400_000;

export function exchange(plant: Plant, draft: State, elapsedMs: number, wants: Wants): void {
  for (const systemId in draft.exchange) one(plant, draft, systemId, elapsedMs, wants);
}

function one(plant: Plant, draft: State, systemId: string, elapsedMs: number, wants: Wants): void {
  const work = known(draft.exchange, systemId);
  const aims = known(plant.process.exchange, systemId);
  const { drain, supply } = known(sides(plant), systemId);
  if (drain === undefined || supply === undefined) return;
  supervise(plant, draft, work, known(targetsOf(plant).exchange, systemId), elapsedMs);
  keepLedger(draft, work, aims, drain, supply);
  const volumeL = known(plant.vessels, systemId).volumeL;
  const dayL = aims.perDayShare * volumeL;
  work.restMs = work.step === 'rest' ? Math.min(work.restMs + elapsedMs, AGE_CAP_MS) : 0;
  if (work.procedure === 'idle' && isLinked(plant, draft) && plant.policy.starts.exchange === 'itself')
    move(work, 'start', 'exchange begins');
  if (work.procedure === 'complete') move(work, 'reset', 'idle');
  if (!isRunning(work)) return;
  // What was missed is caught up, but never more than a day's worth: nobody wants a week's water at once.
  work.dueL = Math.min(work.dueL + (elapsedMs / DAY_MS) * dayL, Math.max(dayL, dayL > 0 ? aims.stepL : 0));
  if (work.step === 'rest') begin(plant, draft, systemId, aims, drain, supply);
  if (work.step === 'drain') drainStep(work, drain, wants);
  if (work.step === 'supply') supplyStep(work, supply, wants);
  if (work.step !== 'rest' && aims.inhibitTopOff !== null) wants.signals.push(aims.inhibitTopOff);
}

const sides = perPlant((plant) => {
  const routes = Object.values(plant.routes);
  const ofSystem = (id: string) => ({
    drain: routes.find((r) => r.purpose === 'drain' && r.from === id),
    supply: routes.find((r) => r.purpose === 'supply' && r.to === id),
  });
  return Object.fromEntries(Object.keys(plant.process.exchange).map((id) => [id, ofSystem(id)]));
});

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
  const requested = work.requestedL > MEANT_L;
  const wantedL = requested ? Math.min(work.requestedL, aims.stepL) : aims.stepL;
  if (!requested && work.dueL < aims.stepL) {
    work.words = aims.perDayShare > 0 ? 'resting until the next step is due' : 'waiting for a request';
    return;
  }
  if (requested && work.restMs < aims.settleMs) {
    work.words = 'settling between steps';
    return;
  }
  // What was missed is caught up at twice the day's pace, not in one go.
  const paceMs = (aims.stepL / (aims.perDayShare * known(plant.vessels, systemId).volumeL)) * DAY_MS;
  if (!requested && work.restMs < paceMs / 2) {
    work.words = 'resting between two steps';
    return;
  }
  const quiet = requested ? 'no' : isQuiet(plant, draft, 'exchange');
  if (quiet !== 'no') {
    work.words = quietWords(quiet);
    return;
  }
  if (!batchIsReady(draft)) {
    work.words = 'waiting for a batch';
    return;
  }
  if (deliverableL(plant, draft) < wantedL) {
    work.words = 'waiting for the next batch: not enough is left for a step';
    return;
  }
  const blocker = [...forbiddenBy(draft, drain.id), ...forbiddenBy(draft, supply.id)][0];
  if (blocker !== undefined) {
    work.words = `waiting: ${rowOf(plant, blocker)?.words ?? blocker}`;
    return;
  }
  // The difference of the steps before is made good: what was drained too much is not drained again.
  Object.assign(work, {
    step: 'drain',
    stepL: wantedL,
    stepDrainedL: 0,
    stepRequested: requested,
    steps: work.steps + 1,
  });
}
/** A remainder smaller than this is a meter's rounding, not a wish. */
const MEANT_L = 0.05;

function drainStep(work: ExchangeState, drain: Route, wants: Wants): void {
  const missingL = work.stepL - work.differenceL;
  if (missingL <= 0) {
    work.step = 'supply';
    return;
  }
  work.words = `draining: ${missingL.toFixed(1)} L to go`;
  wants.targets.push(drain.id);
}

function supplyStep(work: ExchangeState, supply: Route, wants: Wants): void {
  if (work.differenceL <= 0) {
    Object.assign(work, { step: 'rest', stepL: 0, restMs: 0, stepRequested: false });
    work.words = 'a step is done';
    return;
  }
  work.words = `delivering: ${work.differenceL.toFixed(1)} L to go`;
  wants.targets.push(supply.id);
}
