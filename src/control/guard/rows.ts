// 4a. The interlock rows, as one literal table of kinds. Each kind is spread over the plumbing (every route, vessel,
// heater, device that it guards) by `interlocks.ts`; what a station has no hardware for has no row, and `check` says so.
//
// House rules: a row sees evidence, contents, what was last issued and for how long, and the records of batch and
// exchange; never what a phase wants or a person asks. `block`: not now, clears by itself. `trip`: off, latched until a
// person resets it after the cause is gone. "Not fresh" is I-12's business alone: every other row speaks of what fresh
// evidence says, and names what it `needs`, so that I-12 can forbid the target when that is missing.

import type { Exercise } from '../../station/exercise.ts';
import type { Actuator, Heater, Plant, Route, Sensor, Vessel } from '../../station/plant.ts';
import { concernedBy, type Listened, listened, sinceProven, type Tried, tried } from './about-rows.ts';
import * as causes from './causes.ts';
import { mismatchBoundL } from './contents.ts';
import { blind, feedbackOf, fresh, saying } from './evidence.ts';
import { circulates, strayBoundL, topOffRuns } from './flows.ts';
import { known } from './invariant.ts';
import { isUncertain, ledgersOf, sidesOf } from './ledger.ts';
import { BLIND_ALARM_MS, LOW_FLOW_MS } from './limits.ts';
import { isLow } from './living.ts';
import * as looks from './looks.ts';
import { message } from './message.ts';
import {
  checking,
  clears,
  doing,
  electricityFirst,
  HANDS_IN_WATER,
  HEARD_AGAIN,
  HEATER,
  inCase,
  MAINS,
  respond,
  respondAndReset,
  THEN_RESUME,
  TRIED_AGAIN,
} from './response.ts';
import { wrongWater } from './right-water.ts';
import {
  all,
  around,
  cuttingOff,
  disturbing,
  drawUnderWayL,
  exercisedBySelf,
  exerciseOf,
  feeding,
  type Holds,
  hasContentsEvidence,
  inflowsOf,
  kind,
  lowOf,
  may,
  movedFor,
  NEVER,
  type RowKind,
  sharing,
  strandedBy,
  underWayL,
  usersOf,
} from './row-kinds.ts';
import type { GuardState } from './state.ts';
import { isLinked } from './watched.ts';

const to = (plant: Plant, route: Route): Vessel => known(plant.vessels, route.to);
const from = (plant: Plant, route: Route): Vessel => known(plant.vessels, route.from);
const held = (state: GuardState, vesselId: string) => known(state.vessels, vesselId);
const pipe = (state: GuardState, route: Route) => known(state.routes, route.id);
/** It runs or runs down, is not proven off, or is counted while it should rest. */
const mayMove = (state: GuardState, id: string, runDownMs: number): boolean => {
  const { running, restMs, strayL, countL } = known(state.routes, id);
  return running !== 'no' || restMs <= runDownMs || strayL > countL;
};
const finite = (vessel: Vessel): boolean => Number.isFinite(vessel.capacityL);
const fills = (plant: Plant, route: Route): boolean => !route.loop && finite(to(plant, route));
const draws = (plant: Plant, route: Route): boolean => route.pumped && finite(from(plant, route));
const inSystem = (plant: Plant, route: Route): boolean => to(plant, route).role === 'system';
const outOfSystem = (plant: Plant, route: Route): boolean => from(plant, route).role === 'system';
const heats = (plant: Plant, state: GuardState, heater: Heater): boolean =>
  known(state.devices, heater.actuator).on || feedbackOf(plant, state, heater.actuator) === true;
const bare = (plant: Plant, heater: Heater): Holds => {
  const lowIsDry = saying(plant, lowOf(plant, heater.vessel), false);
  return (state) => lowIsDry(state) || held(state, heater.vessel).leastL < heater.coveredL;
};
const disagreeing = ({ id, feedback }: Actuator, told: boolean): Holds => {
  const withinMs = feedback?.withinMs ?? 0;
  return (state) => known(state.devices, id).disagreesMs > withinMs && known(state.devices, id).on === told;
};
const unexplained = (plant: Plant, vessel: Vessel, ran: boolean): Holds => {
  const boundL = mismatchBoundL(plant, vessel);
  return (state) =>
    held(state, vessel.id).bookRan === ran && Math.abs(held(state, vessel.id).mismatchL) > boundL;
};
const UNSEEN_AT_REST = message('only-moving-water-shows');
/** An actuator that can be heard. */
const answering = (plant: Plant, actuatorId: string): string[] =>
  known(plant.actuators, actuatorId).feedback === null ? [] : [actuatorId];
const some = (...ids: (string | null | undefined)[]): string[] => ids.filter((id) => typeof id === 'string');

// biome-ignore format: a table reads as a table
export const ROW_KINDS: readonly RowKind[] = [
  kind<Route>({
    id: 'I-01', hazard: message('hazard-overflow'), hardware: 'high float', action: 'block',
    pattern: 'high float wet', reset: 'by itself, once the float has hung dry for its settling time', bypass: NEVER.overflow,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r) && !inSystem(plant, r) && to(plant, r).floats.high),
    needs: (plant, r) => some(to(plant, r).floats.high),
    holds: (plant, r) => saying(plant, to(plant, r).floats.high, true),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('vessel-full', { vessel: r.to }),
    proves: (plant, r) => to(plant, r).floats.high,
    proof: (_, r) => message('proof-high-float', { vessel: r.to, route: r.id }),
  }),
  kind<Vessel>({
    id: 'I-02', hazard: message('hazard-overflow'), hardware: 'independent overflow float', action: 'trip', priority: 'urgent',
    pattern: 'overflow float wet', reset: 'by a person, once the float hangs dry', bypass: NEVER.overflow,
    cleared: (_, v) => ({ inputs: some(v.floats.overflow) }),
    over: (plant) => Object.values(plant.vessels).filter((v) => v.floats.overflow && v.into.length > 0),
    needs: (_, v) => some(v.floats.overflow),
    holds: (plant, v) => saying(plant, v.floats.overflow, true),
    forbids: (plant, v) => cuttingOff(plant, inflowsOf(plant, v.id)),
    words: (_, v) => message('overflow-float-wet', { vessel: v.id }),
    response: (plant, v) => respondAndReset(electricityFirst(plant), inCase(message('if-water-comes-in', { stop: causes.stopOfInflow(plant, v) })), doing(message('do-lower-below-overflow', { vessel: v.id })), checking(message('check-high-float'))),
    proof: (_, v) => message('proof-overflow-float', { vessel: v.id }),
    proves: (_, v) => v.floats.overflow,
  }),
  kind<Route>({
    id: 'I-03', hazard: message('hazard-overflow'), hardware: 'any level evidence', means: 'brim', action: 'block',
    pattern: 'most contents and what is under way above capacity less margin', reset: 'by itself, once the most contents are low enough', bypass: NEVER.overflow,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r) && hasContentsEvidence(to(plant, r))),
    holds: (plant, r) => { const { capacityL, marginL } = to(plant, r); return (state) => held(state, r.to).mostL + underWayL(plant, state, r) > capacityL - marginL; },
    forbids: (_, r) => [r.id],
    looks: looks.room,
    words: (_, r) => message('vessel-near-brim', { vessel: r.to }),
    unproven: 'a computed bound: its floats and levels are proven by rows I-01 and I-10',
  }),
  kind<Route>({
    id: 'I-04', hazard: message('hazard-overflow-by-lost-valve'), hardware: 'none', action: 'trip', priority: 'urgent',
    pattern: 'runs longer than the room left takes at the least flow', reset: 'by a person; the next run has a new budget', bypass: NEVER.overflow,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r)),
    holds: (_, r) => (state) => pipe(state, r).running === 'yes' && pipe(state, r).runMs > pipe(state, r).runBudgetMs,
    forbids: (plant, r) => cuttingOff(plant, [r.id]),
    looks: looks.runTime,
    words: (_, r) => message('run-longer-than-filling', { route: r.id, vessel: r.to }),
    response: (plant, r) => causes.againstLongRun(plant, to(plant, r)),
    unproven: 'would need a run of full length: it is explored and simulated instead',
  }),
  kind<Route>({
    id: 'I-05', hazard: message('hazard-dry-running'), hardware: 'low float', means: 'empty', action: 'block',
    pattern: 'low float dry', reset: 'by itself, once the float has stood wet for its settling time', bypass: NEVER.dry,
    over: (plant) => Object.values(plant.routes).filter((r) => draws(plant, r) && !outOfSystem(plant, r) && lowOf(plant, r.from)),
    needs: (plant, r) => some(lowOf(plant, r.from)),
    holds: (plant, r) => saying(plant, lowOf(plant, r.from), false),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('vessel-low', { vessel: r.from }),
    proves: (plant, r) => lowOf(plant, r.from),
    proof: (_, r) => message('proof-low-float', { vessel: r.from, target: r.id }),
  }),
  kind<Route>({
    id: 'I-06', hazard: message('hazard-dry-running'), hardware: 'any level evidence', means: 'empty', action: 'block',
    pattern: 'least contents below what a pump needs', reset: 'by itself, once the least contents are enough', bypass: NEVER.dry,
    over: (plant) => Object.values(plant.routes).filter((r) => draws(plant, r) && (lowOf(plant, r.from) || from(plant, r).level)),
    holds: (plant, r) => { const { id, minimumL } = from(plant, r); return (state) => held(state, id).leastL < minimumL; },
    forbids: (_, r) => [r.id],
    looks: looks.pumpNeed,
    words: (_, r) => message('vessel-below-pump-need', { vessel: r.from }),
    unproven: 'a computed bound: its float is proven by row I-05',
  }),
  kind<Route>({
    id: 'I-07', hazard: message('hazard-no-flow'), hardware: 'flow meter', action: 'trip', priority: 'urgent',
    pattern: 'told to run and primed, flow below the least', reset: 'by a person; the flow is judged anew after priming', bypass: NEVER.dry,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.routes).filter((r) => r.pumped && r.meter),
    needs: (_, r) => some(r.meter),
    holds: (_, r) => (state) => pipe(state, r).lowFlowMs >= LOW_FLOW_MS,
    forbids: (plant, r) => cuttingOff(plant, [r.id]),
    looks: looks.flowNow,
    words: (_, r) => message('flow-below-least', { route: r.id, flowLpm: r.flowLeastLpm }),
    response: (_, r) => respondAndReset(MAINS, checking(message('check-pump-and-inlet', { vessel: r.from })), doing(message('do-clear-the-way'))),
    unproven: 'needs a running pump: a proof test energises nothing',
  }),
  kind<Route>({
    id: 'I-07', hazard: message('hazard-no-inlet'), hardware: 'flow meter', action: 'block', priority: 'soon', suffix: 'starved',
    pattern: 'open and primed, flow below the least', reset: 'by itself after a pause of 10 min', bypass: NEVER.retried,
    over: (plant) => Object.values(plant.routes).filter((r) => !r.pumped && r.meter),
    needs: (_, r) => some(r.meter),
    holds: (_, r) => (state) => pipe(state, r).starvedMs > 0,
    forbids: (_, r) => [r.id],
    looks: looks.starved,
    words: causes.starved,
    response: causes.againstStarved,
    unproven: 'needs an open valve: a proof test energises nothing',
  }),
  kind<Vessel>({
    id: 'I-08', hazard: message('hazard-burst-hose'), hardware: 'meter and level sensor', action: 'trip', priority: 'urgent',
    pattern: 'level outside the book while something ran', reset: 'by a person; the book is opened anew', bypass: NEVER.flood,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.vessels).filter((v) => v.level && finite(v) && v.into.length + v.outOf.length > 0),
    holds: (plant, v) => unexplained(plant, v, true),
    forbids: (plant, v) => cuttingOff(plant, [...v.into, ...v.outOf]),
    looks: looks.mismatch,
    words: (plant, v) => message('level-unexplained-running', { vessel: v.id, evidence: causes.wrongEvidence(plant, v) }),
    response: (plant, v) => respondAndReset(electricityFirst(plant), checking(message('check-hoses', { vessel: v.id })), checking(message('check-level-by-eye', { vessel: v.id })), doing(message('do-mend-what-is-found'))),
    unproven: 'needs moving water: a proof test energises nothing',
  }),
  kind<Vessel>({
    id: 'I-09', hazard: message('hazard-stuck-valve-or-leak'), hardware: 'level sensor', action: 'trip', priority: 'urgent', suffix: 'level',
    pattern: 'level outside the book while nothing ran', reset: 'by a person; the book is opened anew', bypass: NEVER.flood,
    cleared: message('standing-level-shows-nothing'),
    over: (plant) => Object.values(plant.vessels).filter((v) => v.level && finite(v)),
    holds: (plant, v) => unexplained(plant, v, false),
    forbids: (plant, v) => cuttingOff(plant, [...inflowsOf(plant, v.id), ...v.outOf]),
    looks: looks.mismatch,
    words: (plant, v) => message('level-unexplained-at-rest', { vessel: v.id, cause: causes.movingLevel(plant, v) }),
    response: (plant, v) => respondAndReset(electricityFirst(plant), inCase(message('if-it-rises', { stop: causes.stopOfInflow(plant, v) })), inCase(message('if-it-falls', { vessel: v.id, stop: causes.stopOfOutflow(plant, v) }))),
    unproven: 'needs moving water: a proof test energises nothing',
  }),
  kind<Route>({
    id: 'I-09', hazard: message('hazard-stuck-valve'), hardware: 'flow meter', action: 'trip', priority: 'urgent',
    pattern: 'more than the stray bound counted at rest', reset: 'by a person; the count begins anew', bypass: NEVER.flood,
    cleared: message('ended-siphon-shows-nothing'),
    over: (plant) => Object.values(plant.routes).filter((r) => r.meter),
    holds: (plant, r) => (state) => pipe(state, r).strayL > strayBoundL(plant, r, pipe(state, r)),
    forbids: (plant, r) => cuttingOff(plant, [r.id, ...feeding(plant, r.from), ...feeding(plant, r.to)]),
    looks: looks.stray,
    words: (plant, r) => message('water-flows-unasked', { fromVessel: r.from, toVessel: r.to, route: r.id, cause: causes.unaskedFlow(plant, r) }),
    response: causes.againstUnaskedFlow,
    unproven: 'needs moving water: a proof test energises nothing',
  }),
  kind<Vessel>({
    id: 'I-10', hazard: message('hazard-lying-float'), hardware: 'two pieces of evidence', action: 'trip', priority: 'urgent',
    pattern: 'high wet and low dry; overflow wet and high dry; an empty interval', reset: 'by a person, once the evidence agrees', bypass: NEVER.overflow,
    cleared: (_, v) => ({ inputs: some(...Object.values(v.floats), v.level) }),
    over: (plant) => Object.values(plant.vessels).filter((v) => finite(v) && hasContentsEvidence(v) && v.into.length + v.outOf.length > 0),
    // While a person moves one of its floats for another row's proof test, the others may well disagree with it.
    holds: (plant, v) => {
      const { low, high, overflow } = v.floats;
      const highIsWet = saying(plant, high, true);
      const lowIsDry = saying(plant, low, false);
      const overflowIsWet = saying(plant, overflow, true);
      const highIsDry = saying(plant, high, false);
      return (state) =>
        (held(state, v.id).contradiction !== null ||
        (highIsWet(state) && lowIsDry(state)) ||
        (overflowIsWet(state) && highIsDry(state))) &&
        !movedFor(state, v.id, 'I-10');
    },
    forbids: (plant, v) => cuttingOff(plant, [...v.into, ...v.outOf]),
    looks: looks.contradiction,
    words: (plant, v) => message('evidence-contradicts', { vessel: v.id, evidence: causes.wrongEvidence(plant, v) }),
    response: (_, v) => causes.lookInto(v),
    proof: (_, v) => message('proof-low-and-high-float', { vessel: v.id }),
    proves: (_, v) => (v.floats.low === undefined ? undefined : v.floats.high),
  }),
  kind<Sensor>({
    id: 'I-11', hazard: message('hazard-flood'), hardware: 'leak sensor', action: 'trip', priority: 'urgent',
    pattern: 'leak sensor wet', reset: 'by a person, once the sensor is dry', bypass: NEVER.flood,
    cleared: (_, s) => ({ inputs: [s.id] }),
    over: (plant) => Object.values(plant.sensors).filter((s) => s.measures === 'leak'),
    holds: (plant, s) => saying(plant, s.id, true),
    forbids: (plant) => all(plant),
    looks: looks.itself,
    words: (_, s) => message('leak-sensor-wet', { sensor: s.id }),
    response: (plant) => respondAndReset(electricityFirst(plant), doing(message('do-stop-the-leak')), doing(message('do-dry-the-tray'))),
    proof: (_, s) => message('proof-leak-sensor', { sensor: s.id }),
    proves: (_, s) => s.id,
  }),
  kind<Sensor>({
    id: 'I-13', hazard: message('hazard-unattended-leak-sensor'), hardware: 'leak sensor', means: 'unattended', action: 'block', priority: 'soon', afterMs: 30_000,
    pattern: 'leak sensor stale or faulty', reset: 'by itself, once the sensor is fresh', bypass: may(message('bypass-if-tray-is-watched')),
    over: (plant) => Object.values(plant.sensors).filter((s) => s.measures === 'leak'),
    holds: (plant, s) => blind(plant, s.id),
    forbids: (plant) => all(plant),
    looks: looks.itself,
    words: (_, s) => message('leak-sensor-silent', { sensor: s.id }),
    response: (_, s) => respond(checking(message('check-battery-of', { sensor: s.id })), HEARD_AGAIN),
    unproven: 'supervises itself: every pause of the sensor tries it',
  }),
  kind<Route>({
    id: 'I-14', hazard: message('hazard-crossed-water'), hardware: 'none', means: 'passing', action: 'block',
    pattern: 'another route on the same way, or between the same vat and a system, runs, runs down, is not proven off or is counted at rest', reset: 'by itself, once the other is proven off', bypass: NEVER.crossed,
    over: (plant) => Object.values(plant.routes).filter((r) => r.excludes.length > 0 || r.shut.length > 0),
    holds: (plant, r) => (state) =>
      r.excludes.some((id) => mayMove(state, id, known(plant.routes, id).runDownMs)) ||
      r.shut.some((id) => !known(state.devices, id).provenOff),
    forbids: (_, r) => [r.id],
    looks: looks.sharedWay,
    words: (_, r) => message('way-shared', { route: r.id }),
    unproven: 'a comparison of what was told and proven: nothing to move by hand',
  }),
  kind<Route>({
    id: 'I-15', hazard: message('hazard-short-cycling'), hardware: 'none', means: 'resting', action: 'block',
    pattern: 'stopped less than its rest ago, or no credit for starts', reset: 'by itself, with time', bypass: NEVER.pause,
    over: (plant) => Object.values(plant.routes),
    holds: (_, r) => (state) => pipe(state, r).running === 'no' && (pipe(state, r).restMs < r.minimumRestMs || pipe(state, r).starts < 1),
    forbids: (_, r) => [r.id],
    looks: looks.rest,
    words: (_, r) => message('route-rests', { route: r.id }),
    unproven: 'a clock and a count: nothing to move by hand',
  }),
  kind<Heater>({
    id: 'I-16', hazard: message('hazard-heater-dry'), hardware: 'low float', action: 'block',
    pattern: 'low float dry, or least contents below the cover mark', reset: 'by itself, once the heater is covered for certain', bypass: NEVER.heat,
    over: (plant) => Object.values(plant.heaters),
    needs: (plant, h) => some(lowOf(plant, h.vessel)),
    holds: bare,
    forbids: (_, h) => [h.id],
    looks: looks.covered,
    words: (_, h) => message('heater-uncovered', { heater: h.id, vessel: h.vessel }),
    proves: (plant, h) => lowOf(plant, h.vessel),
    proof: (_, h) => message('proof-low-float', { vessel: h.vessel, target: h.id }),
  }),
  kind<Heater>({
    id: 'I-16', hazard: message('hazard-heater-dry'), hardware: 'low float', action: 'trip', priority: 'urgent', suffix: 'on',
    pattern: 'on by command or feedback, and low float dry or least contents below the cover mark', reset: 'by a person, once the heater is covered for certain', bypass: NEVER.heat,
    cleared: (plant, h) => { const isBare = bare(plant, h); return { inputs: some(lowOf(plant, h.vessel), ...answering(plant, h.actuator)), so: (state) => !isBare(state) }; },
    over: (plant) => Object.values(plant.heaters),
    holds: (plant, h) => { const isBare = bare(plant, h); return (state) => heats(plant, state, h) && isBare(state); },
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.heating,
    words: (_, h) => message('heater-on-uncovered', { heater: h.id, vessel: h.vessel }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), doing(message('do-let-cool-dry')), checking(message('check-where-water-went'))),
    unproven: 'needs a heater that is on: a proof test energises nothing',
  }),
  kind<Heater>({
    id: 'I-17', hazard: message('hazard-heater-in-dissolving-salt'), hardware: 'conductivity or a measurement; pump feedback or flow', means: 'resting', action: 'block',
    pattern: 'batch not accepted, or circulation not certain', reset: 'by itself, once accepted and circulating', bypass: NEVER.heat,
    over: (plant) => Object.values(plant.heaters),
    holds: (plant, h) => (state) => !state.batch.accepted || !circulates(plant, state, h.vessel),
    forbids: (_, h) => [h.id],
    looks: looks.accepted,
    words: () => message('batch-unaccepted-or-still'),
    unproven: 'a comparison of records: nothing to move by hand',
  }),
  kind<Heater>({
    id: 'I-18', hazard: message('hazard-too-hot'), hardware: 'temperature sensor, and a hard-wired cut-out', action: 'trip', priority: 'urgent',
    pattern: 'temperature at or above the limit', reset: 'by a person, once it is cooler', bypass: NEVER.heat,
    cleared: (plant, h) => ({ inputs: some(known(plant.vessels, h.vessel).temperature) }),
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).temperature),
    needs: (plant, h) => some(known(plant.vessels, h.vessel).temperature),
    holds: (plant, h) => { const { temperature } = known(plant.vessels, h.vessel); return (state) => (fresh(plant, state, temperature) ?? -Infinity) >= h.limitC; },
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.temperature,
    words: (_, h) => message('vessel-too-hot', { vessel: h.vessel, temperatureC: h.limitC }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), checking(message('check-other-thermometer')), doing(message('do-let-cool'))),
    unproven: 'the hard-wired cut-out is what must be tried, by the instructions of its maker',
  }),
  kind<Heater>({
    id: 'I-19', hazard: message('hazard-heater-welded'), hardware: 'temperature sensor', action: 'trip', priority: 'urgent',
    pattern: 'no rise while on, or rise while off, over a window of the lag', reset: 'by a person; a new window begins', bypass: NEVER.heat,
    cleared: message('only-a-warm-heater-shows'),
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).temperature),
    holds: (_, h) => (state) => known(state.heaters, h.id).frozen || known(state.heaters, h.id).welded,
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.follows,
    words: (_, h) => message('temperature-unexplained', { vessel: h.vessel, heater: h.id }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), checking(message('check-other-thermometer')), doing(message('do-replace-what-heats-wrong'))),
    unproven: 'needs a heater that is on: a proof test energises nothing',
  }),
  kind<Route>({
    id: 'I-20', hazard: message('hazard-wrong-water'), hardware: 'conductivity or a measurement; temperature', action: 'block',
    pattern: 'not accepted, too old, outside tolerance, or too far from the temperature of the system', reset: 'by itself, once the water is right', bypass: NEVER.water,
    over: (plant) => Object.values(plant.routes).filter((r) => r.purpose === 'supply'),
    needs: (plant, r) => some(from(plant, r).conductivity, plant.process.temperature && from(plant, r).temperature),
    holds: (plant, r) => (state) => wrongWater(plant, state, r),
    forbids: (_, r) => [r.id],
    looks: looks.supplied,
    words: (_, r) => message('wrong-water', { vessel: r.from }),
    unproven: 'a comparison of records: compare the probe with a second instrument instead',
  }),
  kind<Route>({
    id: 'I-21', hazard: message('hazard-system-too-full'), hardware: 'high float in the system', action: 'block', priority: 'soon', afterMs: 600_000,
    pattern: 'high float in the system wet', reset: 'by itself, once the float has hung dry for its settling time', bypass: NEVER.overflow,
    over: (plant) => Object.values(plant.routes).filter((r) => !r.loop && inSystem(plant, r) && to(plant, r).floats.high),
    needs: (plant, r) => some(to(plant, r).floats.high),
    holds: (plant, r) => saying(plant, to(plant, r).floats.high, true),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('system-high', { vessel: r.to }),
    response: (plant, r) => causes.againstTooFull(to(plant, r)),
    proves: (plant, r) => to(plant, r).floats.high,
    proof: (_, r) => message('proof-high-float', { vessel: r.to, route: r.id }),
  }),
  kind<Route>({
    id: 'I-21', hazard: message('hazard-system-too-low'), hardware: 'low float or level in the system', action: 'block', priority: 'soon', afterMs: 600_000, suffix: 'low',
    pattern: 'low float in the system dry; without one, its level below a stated share', reset: 'by itself, once the float has stood wet for its settling time, or the level is back', bypass: NEVER.dry,
    over: (plant) => Object.values(plant.routes).filter((r) => r.purpose === 'drain' && (from(plant, r).floats.low || from(plant, r).level)),
    needs: (plant, r) => some(from(plant, r).floats.low),
    holds: (plant, r) => isLow(plant, from(plant, r)),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('system-low', { vessel: r.from }),
    response: (plant, r) => respond(...causes.againstTooLow(from(plant, r)), clears(message('clears-when-level-right', { vessel: r.from }))),
    proves: (plant, r) => from(plant, r).floats.low,
    proof: (_, r) => message('proof-low-float', { vessel: r.from, target: r.id }),
  }),
  kind<Route>({
    id: 'I-22', hazard: message('hazard-drift'), hardware: 'meters or calibrated routes', action: 'block', priority: 'soon',
    pattern: 'running difference above its bound', reset: 'by itself, once the other side has made it good', bypass: NEVER.water,
    over: (plant) => Object.values(plant.routes).filter((r) => exchangeOf(plant, r) !== null),
    holds: (plant, r) => (state) => drift(plant, state, r) > 1,
    forbids: (_, r) => [r.id],
    looks: looks.drifted,
    words: (_, r) => message('drift-above-bound', { route: r.id }),
    response: (plant, r) => respond(...causes.againstDrift(plant, r)),
    unproven: 'a sum of what the meters counted: check the meters against a bucket instead',
  }),
  kind<Route>({
    id: 'I-22', hazard: message('hazard-drift'), hardware: 'meters or calibrated routes', action: 'trip', priority: 'urgent', suffix: 'far',
    pattern: 'running difference above twice its bound', reset: 'by a person, after a new ledger was begun', bypass: NEVER.water,
    cleared: () => ({ inputs: [] }),
    over: (plant) => Object.values(plant.routes).filter((r) => exchangeOf(plant, r) !== null),
    holds: (plant, r) => (state) => drift(plant, state, r) > 2,
    forbids: (plant, r) => cuttingOff(plant, around(plant, r)),
    looks: looks.drifted,
    words: () => message('drift-above-twice-bound'),
    response: (plant, r) => respondAndReset(...causes.againstDrift(plant, r)),
    unproven: 'a sum of what the meters counted: check the meters against a bucket instead',
  }),
  kind<Route>({
    id: 'I-42', hazard: message('hazard-drift-without-level'), hardware: 'none: for systems without level evidence', action: 'block', priority: 'soon', afterMs: 1_800_000,
    pattern: 'drained and delivered may differ by more than the bound, each counted with its error', reset: 'by itself, once somebody has looked and said that the level is right', bypass: NEVER.overflow,
    over: (plant) => Object.keys(ledgersOf(plant)).flatMap((id) => Object.values(known(sidesOf(plant), id)).filter((r) => r !== undefined)),
    holds: (plant, r) => { const side = r.purpose === 'supply' ? 'supply' : 'drain'; const system = side === 'supply' ? r.to : r.from; return (state) => isUncertain(plant, state, system, side); },
    forbids: (_, r) => [r.id],
    looks: looks.ledger,
    words: (plant, r) => message('level-not-looked-at', { system: systemOf(plant, r).id, route: r.id }),
    response: (plant, r) => respond(HANDS_IN_WATER, doing(message('do-correct-level', { system: systemOf(plant, r).id })), clears(message('clears-when-said-right')), inCase(message('if-asked-too-often'))),
    unproven: 'a sum of what flows may have moved: a look at the level closes it',
  }),
  kind<Actuator>({
    id: 'I-23', hazard: message('hazard-relay-welded'), hardware: 'feedback', means: 'disobeys', action: 'trip', priority: 'urgent', suffix: 'stays-on',
    pattern: 'told to be off, feedback on for longer than it may take', reset: 'by a person, once the feedback agrees', bypass: NEVER.device,
    cleared: (plant, a) => ({ inputs: [a.id], so: (state) => feedbackOf(plant, state, a.id) === false }),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.feedback && usersOf(plant, a.id).length > 0),
    holds: (_, a) => disagreeing(a, false),
    forbids: (plant, a) => strandedBy(plant, a),
    looks: looks.agrees,
    words: (_, a) => message('device-stays-on', { device: a.id }),
    response: causes.againstStaysOn,
    unproven: 'every stop tries it',
  }),
  kind<Actuator>({
    id: 'I-23', hazard: message('hazard-relay-open'), hardware: 'feedback', means: 'disobeys', action: 'trip', priority: 'soon', suffix: 'stays-off',
    pattern: 'told to be on, feedback off for longer than it may take', reset: 'by a person, once the feedback agrees', bypass: NEVER.device,
    cleared: message('device-off-shows-nothing'),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.feedback && usersOf(plant, a.id).length > 0),
    holds: (_, a) => disagreeing(a, true),
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.agrees,
    words: (_, a) => message('device-stays-off', { device: a.id }),
    response: (_, a) => respondAndReset(MAINS, checking(message('check-supply-of', { device: a.id }))),
    unproven: 'every start tries it',
  }),
  kind<Actuator>({
    id: 'I-24', hazard: message('hazard-foreign-hand'), hardware: 'none', action: 'block', priority: 'soon', cause: 'foreign',
    pattern: 'a command that this service did not send, within the last minute', reset: 'by itself after a minute without another', bypass: NEVER.device,
    over: (plant) => Object.values(plant.actuators).filter((a) => usersOf(plant, a.id).length > 0),
    holds: (_, a) => (state) => known(state.devices, a.id).foreignMs > 0,
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.foreign,
    words: (_, a) => message('foreign-command', { device: a.id }),
    response: (_, a) => respond(checking(message('check-who-commands', { device: a.id })), doing(message('do-sole-right')), THEN_RESUME),
    unproven: 'needs a second master on the wire',
  }),
  kind<Actuator>({
    id: 'I-24', hazard: message('hazard-foreign-hand'), hardware: 'none', action: 'trip', priority: 'urgent', suffix: 'fills',
    pattern: 'a foreign command that switches on what fills a vessel', reset: 'by a person, after a minute without another', bypass: NEVER.overflow,
    cleared: (plant, a) => ({ inputs: answering(plant, a.id), so: (state) => feedbackOf(plant, state, a.id) !== true }),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.kind !== 'contactor' && usersOf(plant, a.id).some((id) => plant.routes[id] && fills(plant, known(plant.routes, id)))),
    holds: (_, a) => (state) => known(state.devices, a.id).foreignMs > 0 && known(state.devices, a.id).foreignOn,
    forbids: (plant, a) => sharing(plant, a.id),
    looks: looks.foreign,
    words: (_, a) => message('foreign-command-fills', { device: a.id }),
    response: (plant, a) => respondAndReset(electricityFirst(plant), inCase(message('if-water-comes-in', { stop: causes.stopOfDevice(plant, a) })), checking(message('check-who-commands', { device: a.id })), doing(message('do-sole-right'))),
    unproven: 'needs a second master on the wire',
  }),
  kind<Plant>({
    id: 'I-25', hazard: message('hazard-dead-link'), hardware: 'none', means: 'unlinked', action: 'block', priority: 'soon', afterMs: 10_000, cause: 'link',
    pattern: 'down, or own echo older than its bound', reset: 'by itself, once the echo is back', bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: (plant) => (state) => !isLinked(plant, state),
    forbids: (plant) => all(plant),
    looks: looks.link,
    words: () => message('link-not-proven'),
    response: () => respond(checking(message('check-broker-and-network')), clears(message('clears-outputs-off'))),
    unproven: 'every second tries it: the heartbeat of the service itself',
  }),
  kind<Plant>({
    id: 'I-26', hazard: message('hazard-late-brain'), hardware: 'none', action: 'block', priority: 'soon', cause: 'late',
    pattern: 'a control tick later than its bound', reset: 'by itself after 5 s of punctual ticks', bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: () => (state) => state.link.lateMs > 0,
    forbids: (plant) => all(plant),
    looks: looks.tick,
    words: () => message('tick-late'),
    response: () => respond(checking(message('check-computer')), doing(message('do-free-the-processor'))),
    unproven: 'every tick tries it',
  }),
  kind<Plant>({
    id: 'I-27', hazard: message('hazard-unrecorded'), hardware: 'none', action: 'block', priority: 'soon', cause: 'process',
    pattern: 'the journal can not be written', reset: 'by itself, once it can be written', bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: () => (state) => !state.link.journalWritable,
    forbids: (plant) => all(plant),
    looks: looks.record,
    words: () => message('disk-not-writable'),
    response: () => respond(doing(message('do-make-room')), THEN_RESUME),
    unproven: 'every write tries it',
  }),
  kind<Route>({
    id: 'I-29', hazard: message('hazard-impure-water'), hardware: 'purified-water probe', action: 'block', priority: 'soon',
    pattern: 'conductivity of the purified water above its limit', reset: 'by itself after a pause of 30 min', bypass: may(message('bypass-if-purity-is-measured')),
    over: (plant) => Object.values(plant.routes).filter((r) => from(plant, r).purityLimitMsPerCm !== null && r.purpose !== 'flush'),
    holds: (_, r) => (state) => pipe(state, r).impureMs > 0,
    forbids: (_, r) => [r.id],
    looks: looks.purity,
    words: () => message('purified-water-impure'),
    response: () => respond(doing(message('do-measure-purified')), inCase(message('if-impure')), TRIED_AGAIN),
    unproven: 'a comparison of readings: compare the probe with a second instrument instead',
  }),
  kind<Route>({
    id: 'I-30', hazard: message('hazard-own-top-off'), hardware: 'top-off feedback', action: 'block', priority: 'soon', afterMs: 1_800_000,
    pattern: 'top-off reported running', reset: 'by itself, once it rests', bypass: may(message('bypass-if-top-off-lies')),
    over: (plant) => Object.values(plant.routes).filter((r) => r.purpose === 'drain' && from(plant, r).topOff),
    needs: (plant, r) => some(from(plant, r).topOff),
    holds: (plant, r) => (state) => topOffRuns(plant, state, r.from) === true,
    forbids: (_, r) => [r.id],
    words: (_, r) => message('own-top-off-runs', { vessel: r.from }),
    response: (_, r) => respond(HANDS_IN_WATER, checking(message('check-top-off-float', { vessel: r.from })), clears(message('clears-when-top-off-rests', { vessel: r.from }))),
    proves: (plant, r) => from(plant, r).topOff ?? undefined,
    proof: (_, r) => message('proof-top-off-float', { vessel: r.from, route: r.id }),
  }),
  kind<Heater>({
    id: 'I-31', hazard: message('hazard-heater-bared'), hardware: 'any level evidence', action: 'block',
    pattern: 'heater not proven off, least contents not enough for it and what pumping takes', reset: 'by itself, once the heater is proven off', bypass: NEVER.heat,
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).outOf.length > 0),
    // A draft row beyond I-16: a heater that may be on must not have its water pumped away.
    holds: (plant, h) => (state) => !known(state.devices, h.actuator).provenOff && held(state, h.vessel).leastL < h.coveredL + drawUnderWayL(plant, h),
    forbids: (plant, h) => [...known(plant.vessels, h.vessel).outOf],
    looks: looks.bared,
    words: (_, h) => message('pumping-would-bare', { heater: h.id }),
    unproven: 'a comparison of what was told and proven: nothing to move by hand',
  }),
  kind<Actuator | Sensor>({
    id: 'I-32', hazard: message('hazard-out-of-service'), hardware: 'none', action: 'block',
    pattern: 'taken out of service by a person', reset: 'by a person who returns it', bypass: NEVER.device,
    over: (plant) => Object.values(plant.actuators).filter((a) => usersOf(plant, a.id).length > 0),
    holds: (_, a) => (state) => state.outOfService[a.id] !== undefined,
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.reason,
    words: (_, a) => message('taken-out-of-service', { device: a.id }),
    unproven: 'a person decides it',
  }),
  kind<Exercise>({
    id: 'I-34', hazard: message('hazard-exercise'), hardware: 'a second valve that reports where it stands', action: 'block',
    pattern: 'a pump, a valve or a contactor that could move water through it is not proven off, or a proof test is under way', reset: 'by itself, once all of them are proven off', bypass: NEVER.exercise,
    over: (plant) => exercisedBySelf(plant),
    holds: (_, e) => (state) => state.proofs.test !== null || e.others.some((id) => !known(state.devices, id).provenOff || known(state.devices, id).foreignMs > 0),
    forbids: (_, e) => [exerciseOf(e.id)],
    looks: looks.disturbed,
    words: (_, e) => message('valve-not-exercised', { valve: e.id }),
    unproven: 'a comparison of what was told and proven: nothing to move by hand',
  }),
  kind<Exercise>({
    id: 'I-35', hazard: message('hazard-exercise'), hardware: 'feedback of the valve', action: 'block',
    pattern: 'it is being exercised, or was not seen to shut after that', reset: 'by itself, once it is proven shut', bypass: NEVER.exercise,
    over: (plant) => exercisedBySelf(plant),
    holds: (_, e) => (state) => state.exercises.run?.valve === e.id || (state.exercises.seized[e.id] === 'open' && !known(state.devices, e.id).provenOff),
    forbids: (plant, e) => disturbing(plant, e),
    looks: looks.exercised,
    words: (_, e) => message('valve-being-exercised', { valve: e.id }),
    unproven: 'every exercise tries it',
  }),
  kind<Plant>({
    id: 'I-36', hazard: message('hazard-memory-lost'), hardware: 'none', action: 'trip', priority: 'urgent',
    pattern: 'the memory of before is lost, or names what is not in the station file', reset: 'by a person who has looked at every vat', bypass: NEVER.blind,
    cleared: message('forgotten-can-not-be-measured'),
    over: (plant) => [plant],
    afterReset: (draft) => { draft.lost = []; },
    holds: () => (state) => state.lost.length > 0,
    forbids: (plant) => all(plant),
    looks: looks.lost,
    words: () => message('look-at-every-vat'),
    response: (plant) => respondAndReset(electricityFirst(plant), doing(message('do-look-everywhere')), doing(message('do-put-right')), checking(message('check-name-and-seen'))),
    unproven: 'a record: nothing to move by hand',
  }),
  kind<Listened>({
    id: 'I-12', hazard: message('hazard-blind'), hardware: 'none', means: 'silent', action: 'block', priority: 'soon', afterMs: BLIND_ALARM_MS,
    pattern: 'stale or faulty', reset: 'by itself, once it is fresh', bypass: NEVER.blind,
    aboutRows: true, over: listened,
    holds: (_, s) => s.isSilent,
    forbids: (_, s) => s.forbids,
    about: ({ about }) => about,
    looks: (plant, _, id) => looks.heard(plant, id),
    words: (plant, { id }) => plant.sensors[id] ? message('sensor-silent', { sensor: id }) : message('feedback-silent', { device: id }),
    response: (plant, { id }) => respond(checking(plant.sensors[id] ? message('check-signal-of', { sensor: id }) : message('check-feedback-of', { device: id })), HEARD_AGAIN),
    unproven: 'supervises itself: every pause of what it listens to tries it',
  }),
  // One alarm for all of them (the process's): a station that nobody has tried would flood its people otherwise.
  kind<Tried>({
    id: 'I-28', hazard: message('hazard-untested'), hardware: 'none', action: 'block',
    pattern: 'not proven by hand for longer than its period and its grace', reset: 'by itself, once its proof test is passed',
    bypass: may(message('bypass-if-stays-for-test')),
    aboutRows: true, over: (_, rows) => tried(rows),
    tests: ({ row }) => row.key,
    holds: (plant, { row }) => { const { everyMs, graceMs } = plant.policy.proofTests; return (state) => state.proofs.beyondGrace > 0 && sinceProven(state, row.key) > everyMs + graceMs; },
    forbids: (_, { row }) => row.forbids,
    about: ({ about }) => about,
    looks: (plant, state, _, { row }) => looks.tried(plant, state, row.key, row.proves),
    words: (_, { row }) => message('row-never-tried-too-long', { hazard: row.hazard }),
    unproven: 'a clock: nothing to move by hand',
  }),
  kind<Tried>({
    id: 'I-33', hazard: message('hazard-proof-test'), hardware: 'none', means: 'tested', action: 'block',
    pattern: 'a proof test of this row is under way', reset: 'by itself, with the end of the test', bypass: NEVER.test,
    aboutRows: true, over: (_, rows) => tried(rows),
    tests: ({ row }) => row.key,
    holds: (_, { row }) => (state) => state.proofs.test?.row === row.key,
    forbids: (plant, { row }) => concernedBy(plant, row, row.proves),
    about: ({ about }) => about,
    looks: (plant, state, _, { row }) => looks.tried(plant, state, row.key, row.proves),
    words: (_, { row }) => message('proof-test-under-way-at', { sensor: row.proves }),
    unproven: 'every proof test tries it',
  }),
];

function exchangeOf(plant: Plant, route: Route): string | null {
  const system = route.purpose === 'supply' ? route.to : route.purpose === 'drain' ? route.from : null;
  return system !== null && plant.process.exchange[system] ? system : null;
}

const systemOf = (plant: Plant, route: Route): Vessel =>
  known(plant.vessels, route.purpose === 'supply' ? route.to : route.from);

/** The running difference in bounds: above 1 it blocks the side that makes it worse, above 2 it trips. */
function drift(plant: Plant, state: GuardState, route: Route): number {
  const system = exchangeOf(plant, route);
  if (system === null) return 0;
  const { differenceL, stepL } = known(state.exchange, system);
  const { errorBoundL } = known(plant.process.exchange, system);
  return (route.purpose === 'drain' ? differenceL - stepL : -differenceL) / errorBoundL;
}
