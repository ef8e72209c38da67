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
import {
  BLIND_ALARM_MS,
  FOREIGN_MS,
  IMPURE_REST_MS,
  LATE_MS,
  LOW_FLOW_MS,
  STARVED_REST_MS,
} from './limits.ts';
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
    id: 'I-01', hazard: message('hazard-overflow'), harms: ['spilled'], hardware: message('hardware-high-float'), action: 'block',
    pattern: message('pattern-high-float-wet'), reset: message('reset-by-itself-float-dry'), bypass: NEVER.overflow,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r) && !inSystem(plant, r) && to(plant, r).floats.high),
    needs: (plant, r) => some(to(plant, r).floats.high),
    holds: (plant, r) => saying(plant, to(plant, r).floats.high, true),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('vessel-full', { vessel: r.to }),
    proves: (plant, r) => to(plant, r).floats.high,
    proof: (_, r) => message('proof-high-float', { vessel: r.to, route: r.id }),
  }),
  kind<Vessel>({
    id: 'I-02', hazard: message('hazard-overflow'), harms: ['spilled'], hardware: message('hardware-overflow-float'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-overflow-float-wet'), reset: message('reset-by-person-float-dry'), bypass: NEVER.overflow,
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
    id: 'I-03', hazard: message('hazard-overflow'), harms: ['spilled'], hardware: message('hardware-any-level'), means: 'brim', action: 'block',
    pattern: message('pattern-above-capacity'), reset: message('reset-by-itself-room'), bypass: NEVER.overflow,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r) && hasContentsEvidence(to(plant, r))),
    holds: (plant, r) => { const { capacityL, marginL } = to(plant, r); return (state) => held(state, r.to).mostL + underWayL(plant, state, r) > capacityL - marginL; },
    forbids: (_, r) => [r.id],
    looks: looks.room,
    words: (_, r) => message('vessel-near-brim', { vessel: r.to }),
    unproven: message('unproven-bound-by-floats-and-levels'),
  }),
  kind<Route>({
    id: 'I-04', hazard: message('hazard-overflow-by-lost-valve'), harms: ['spilled', 'on the floor'], hardware: message('hardware-none'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-runs-too-long'), reset: message('reset-by-person-new-budget'), bypass: NEVER.overflow,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.routes).filter((r) => fills(plant, r)),
    holds: (_, r) => (state) => pipe(state, r).running === 'yes' && pipe(state, r).runMs > pipe(state, r).runBudgetMs,
    forbids: (plant, r) => cuttingOff(plant, [r.id]),
    looks: looks.runTime,
    words: (_, r) => message('run-longer-than-filling', { route: r.id, vessel: r.to }),
    response: (plant, r) => causes.againstLongRun(plant, to(plant, r)),
    unproven: message('unproven-full-length'),
  }),
  kind<Route>({
    id: 'I-05', isolated: 'heaters-stay', hazard: message('hazard-dry-running'), harms: ['dry'], hardware: message('hardware-low-float'), means: 'empty', action: 'block',
    pattern: message('pattern-low-float-dry'), reset: message('reset-by-itself-float-wet'), bypass: NEVER.dry,
    over: (plant) => Object.values(plant.routes).filter((r) => draws(plant, r) && !outOfSystem(plant, r) && lowOf(plant, r.from)),
    needs: (plant, r) => some(lowOf(plant, r.from)),
    holds: (plant, r) => saying(plant, lowOf(plant, r.from), false),
    forbids: (_, r) => [r.id],
    words: (_, r) => message('vessel-low', { vessel: r.from }),
    proves: (plant, r) => lowOf(plant, r.from),
    proof: (_, r) => message('proof-low-float', { vessel: r.from, target: r.id }),
  }),
  kind<Route>({
    id: 'I-06', isolated: 'heaters-stay', hazard: message('hazard-dry-running'), harms: ['dry'], hardware: message('hardware-any-level'), means: 'empty', action: 'block',
    pattern: message('pattern-below-pump-need'), reset: message('reset-by-itself-enough'), bypass: NEVER.dry,
    over: (plant) => Object.values(plant.routes).filter((r) => draws(plant, r) && (lowOf(plant, r.from) || from(plant, r).level)),
    holds: (plant, r) => { const { id, minimumL } = from(plant, r); return (state) => held(state, id).leastL < minimumL; },
    forbids: (_, r) => [r.id],
    looks: looks.pumpNeed,
    words: (_, r) => message('vessel-below-pump-need', { vessel: r.from }),
    unproven: message('unproven-bound-by-float'),
  }),
  kind<Route>({
    id: 'I-07', isolated: 'heaters-stay', hazard: message('hazard-no-flow'), harms: ['dry', 'on the floor'], finding: 'no-flow', hardware: message('hardware-flow-meter'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-no-flow-while-running'), reset: message('reset-by-person-new-flow'), bypass: NEVER.dry,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.routes).filter((r) => r.pumped && r.meter),
    needs: (_, r) => some(r.meter),
    holds: (_, r) => (state) => pipe(state, r).lowFlowMs >= LOW_FLOW_MS,
    forbids: (plant, r) => cuttingOff(plant, [r.id]),
    looks: looks.flowNow,
    words: (_, r) => message('flow-below-least', { route: r.id, flowLpm: r.flowLeastLpm }),
    response: (_, r) => respondAndReset(MAINS, checking(message('check-pump-and-inlet', { vessel: r.from })), doing(message('do-clear-the-way'))),
    unproven: message('unproven-running-pump'),
  }),
  kind<Route>({
    id: 'I-07', isolated: 'heaters-stay', hazard: message('hazard-no-inlet'), finding: 'no-flow', hardware: message('hardware-flow-meter'), action: 'block', priority: 'soon', suffix: 'starved',
    pattern: message('pattern-no-flow-while-open'), reset: message('reset-by-itself-after-pause', { durationMs: STARVED_REST_MS }), bypass: NEVER.retried,
    over: (plant) => Object.values(plant.routes).filter((r) => !r.pumped && r.meter),
    needs: (_, r) => some(r.meter),
    holds: (_, r) => (state) => pipe(state, r).starvedMs > 0,
    forbids: (_, r) => [r.id],
    looks: looks.starved,
    words: causes.starved,
    response: causes.againstStarved,
    unproven: message('unproven-open-valve'),
  }),
  kind<Vessel>({
    id: 'I-08', hazard: message('hazard-burst-hose'), harms: ['on the floor', 'spilled'], finding: 'level-off-book', hardware: message('hardware-meter-and-level'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-level-off-book'), reset: message('reset-by-person-new-book'), bypass: NEVER.flood,
    cleared: UNSEEN_AT_REST,
    over: (plant) => Object.values(plant.vessels).filter((v) => v.level && finite(v) && v.into.length + v.outOf.length > 0),
    holds: (plant, v) => unexplained(plant, v, true),
    forbids: (plant, v) => cuttingOff(plant, [...v.into, ...v.outOf]),
    looks: looks.mismatch,
    words: (plant, v) => message('level-unexplained-running', { vessel: v.id, evidence: causes.wrongEvidence(plant, v) }),
    response: (plant, v) => respondAndReset(electricityFirst(plant), checking(message('check-hoses', { vessel: v.id })), checking(message('check-level-by-eye', { vessel: v.id })), doing(message('do-mend-what-is-found'))),
    unproven: message('unproven-moving-water'),
  }),
  kind<Vessel>({
    id: 'I-09', hazard: message('hazard-stuck-valve-or-leak'), harms: ['spilled', 'dry', 'on the floor'], finding: 'level-at-rest', hardware: message('hardware-level'), action: 'trip', priority: 'urgent', suffix: 'level',
    pattern: message('pattern-level-off-book-at-rest'), reset: message('reset-by-person-new-book'), bypass: NEVER.flood,
    cleared: message('standing-level-shows-nothing'),
    over: (plant) => Object.values(plant.vessels).filter((v) => v.level && finite(v)),
    holds: (plant, v) => unexplained(plant, v, false),
    forbids: (plant, v) => cuttingOff(plant, [...inflowsOf(plant, v.id), ...v.outOf]),
    looks: looks.mismatch,
    words: (plant, v) => message('level-unexplained-at-rest', { vessel: v.id, cause: causes.movingLevel(plant, v) }),
    response: (plant, v) => respondAndReset(electricityFirst(plant), inCase(message('if-it-rises', { stop: causes.stopOfInflow(plant, v) })), inCase(message('if-it-falls', { vessel: v.id, stop: causes.stopOfOutflow(plant, v) }))),
    unproven: message('unproven-moving-water'),
  }),
  kind<Route>({
    id: 'I-09', hazard: message('hazard-stuck-valve'), harms: ['spilled', 'dry', 'on the floor'], finding: 'flow-at-rest', hardware: message('hardware-flow-meter'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-counted-at-rest'), reset: message('reset-by-person-new-count'), bypass: NEVER.flood,
    cleared: message('ended-siphon-shows-nothing'),
    over: (plant) => Object.values(plant.routes).filter((r) => r.meter),
    holds: (plant, r) => (state) => pipe(state, r).strayL > strayBoundL(plant, r, pipe(state, r)),
    forbids: (plant, r) => cuttingOff(plant, [r.id, ...feeding(plant, r.from), ...feeding(plant, r.to)]),
    looks: looks.stray,
    words: (plant, r) => message('water-flows-unasked', { fromVessel: r.from, toVessel: r.to, route: r.id, cause: causes.unaskedFlow(plant, r) }),
    response: causes.againstUnaskedFlow,
    unproven: message('unproven-moving-water'),
  }),
  kind<Vessel>({
    id: 'I-10', hazard: message('hazard-lying-float'), harms: ['spilled', 'dry'], hardware: message('hardware-two-levels'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-contradiction'), reset: message('reset-by-person-evidence-agrees'), bypass: NEVER.overflow,
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
        !movedFor(state, v.id, `I-10/${v.id}`);
    },
    forbids: (plant, v) => cuttingOff(plant, [...v.into, ...v.outOf]),
    looks: looks.contradiction,
    words: (plant, v) => message('evidence-contradicts', { vessel: v.id, evidence: causes.wrongEvidence(plant, v) }),
    response: (_, v) => causes.lookInto(v),
    proof: (_, v) => message('proof-low-and-high-float', { vessel: v.id }),
    proves: (_, v) => (v.floats.low === undefined ? undefined : v.floats.high),
  }),
  kind<Sensor>({
    id: 'I-11', hazard: message('hazard-flood'), harms: ['on the floor', 'spilled'], hardware: message('hardware-leak'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-leak-wet'), reset: message('reset-by-person-sensor-dry'), bypass: NEVER.flood,
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
    id: 'I-13', hazard: message('hazard-unattended-leak-sensor'), harms: ['on the floor', 'spilled'], hardware: message('hardware-leak'), means: 'unattended', action: 'block', priority: 'soon', afterMs: 30_000,
    pattern: message('pattern-leak-silent'), reset: message('reset-by-itself-sensor-live'), bypass: may(message('bypass-if-tray-is-watched')),
    over: (plant) => Object.values(plant.sensors).filter((s) => s.measures === 'leak'),
    holds: (plant, s) => blind(plant, s.id),
    forbids: (plant) => all(plant),
    looks: looks.itself,
    words: (_, s) => message('leak-sensor-silent', { sensor: s.id }),
    response: (_, s) => respond(checking(message('check-battery-of', { sensor: s.id })), HEARD_AGAIN),
    unproven: message('unproven-sensor-supervises'),
  }),
  kind<Route>({
    id: 'I-14', hazard: message('hazard-crossed-water'), harms: ['crossed', 'wrong water'], hardware: message('hardware-none'), means: 'passing', action: 'block',
    pattern: message('pattern-way-shared'), reset: message('reset-by-itself-other-off'), bypass: NEVER.crossed,
    over: (plant) => Object.values(plant.routes).filter((r) => r.excludes.length > 0 || r.shut.length > 0),
    holds: (plant, r) => (state) =>
      r.excludes.some((id) => mayMove(state, id, known(plant.routes, id).runDownMs)) ||
      r.shut.some((id) => !known(state.devices, id).provenOff),
    forbids: (_, r) => [r.id],
    looks: looks.sharedWay,
    words: (_, r) => message('way-shared', { route: r.id }),
    unproven: message('unproven-comparison-of-orders'),
  }),
  kind<Route>({
    id: 'I-15', isolated: 'gives-way', hazard: message('hazard-short-cycling'), hardware: message('hardware-none'), means: 'resting', action: 'block',
    pattern: message('pattern-rests'), reset: message('reset-by-itself-with-time'), bypass: NEVER.pause,
    over: (plant) => Object.values(plant.routes),
    holds: (_, r) => (state) => pipe(state, r).running === 'no' && (pipe(state, r).restMs < r.minimumRestMs || pipe(state, r).starts < 1),
    forbids: (_, r) => [r.id],
    looks: looks.rest,
    words: (_, r) => message('route-rests', { route: r.id }),
    unproven: message('unproven-clock-and-count'),
  }),
  kind<Heater>({
    id: 'I-16', hazard: message('hazard-heater-dry'), harms: ['heater bare'], hardware: message('hardware-low-float'), action: 'block',
    pattern: message('pattern-heater-bare'), reset: message('reset-by-itself-heater-covered'), bypass: NEVER.heat,
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
    id: 'I-16', hazard: message('hazard-heater-dry'), harms: ['heater bare'], hardware: message('hardware-low-float'), action: 'trip', priority: 'urgent', suffix: 'on',
    pattern: message('pattern-heater-on-bare'), reset: message('reset-by-person-heater-covered'), bypass: NEVER.heat,
    cleared: (plant, h) => { const isBare = bare(plant, h); return { inputs: some(lowOf(plant, h.vessel), ...answering(plant, h.actuator)), so: (state) => !isBare(state) }; },
    over: (plant) => Object.values(plant.heaters),
    holds: (plant, h) => { const isBare = bare(plant, h); return (state) => heats(plant, state, h) && isBare(state); },
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.heating,
    words: (_, h) => message('heater-on-uncovered', { heater: h.id, vessel: h.vessel }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), doing(message('do-let-cool-dry')), checking(message('check-where-water-went'))),
    unproven: message('unproven-heater-on'),
  }),
  kind<Heater>({
    id: 'I-17', isolated: 'gives-way', hazard: message('hazard-heater-in-dissolving-salt'), harms: ['wrong water', 'too hot'], hardware: message('hardware-salinity-and-circulation'), means: 'resting', action: 'block',
    pattern: message('pattern-unaccepted-or-still'), reset: message('reset-by-itself-accepted'), bypass: NEVER.heat,
    over: (plant) => Object.values(plant.heaters),
    holds: (plant, h) => (state) => !state.batch.accepted || !circulates(plant, state, h.vessel),
    forbids: (_, h) => [h.id],
    looks: looks.accepted,
    words: () => message('batch-unaccepted-or-still'),
    unproven: message('unproven-comparison-of-records'),
  }),
  kind<Heater>({
    id: 'I-18', hazard: message('hazard-too-hot'), harms: ['too hot', 'wrong water'], hardware: message('hardware-temperature-and-cut-out'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-too-hot'), reset: message('reset-by-person-cooler'), bypass: NEVER.heat,
    cleared: (plant, h) => ({ inputs: some(known(plant.vessels, h.vessel).temperature) }),
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).temperature),
    needs: (plant, h) => some(known(plant.vessels, h.vessel).temperature),
    holds: (plant, h) => { const { temperature } = known(plant.vessels, h.vessel); return (state) => (fresh(plant, state, temperature) ?? -Infinity) >= h.limitC; },
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.temperature,
    words: (_, h) => message('vessel-too-hot', { vessel: h.vessel, temperatureC: h.limitC }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), checking(message('check-other-thermometer')), doing(message('do-let-cool'))),
    unproven: message('unproven-cut-out'),
  }),
  kind<Heater>({
    id: 'I-19', hazard: message('hazard-heater-welded'), harms: ['too hot'], hardware: message('hardware-temperature'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-does-not-follow'), reset: message('reset-by-person-new-window'), bypass: NEVER.heat,
    cleared: message('only-a-warm-heater-shows'),
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).temperature),
    holds: (_, h) => (state) => known(state.heaters, h.id).frozen || known(state.heaters, h.id).welded,
    forbids: (plant, h) => sharing(plant, h.actuator),
    looks: looks.follows,
    words: (_, h) => message('temperature-unexplained', { vessel: h.vessel, heater: h.id }),
    response: (plant, h) => respondAndReset(HEATER, doing(message('do-stop', { stop: causes.stopOf(plant, [h.actuator]) })), checking(message('check-other-thermometer')), doing(message('do-replace-what-heats-wrong'))),
    unproven: message('unproven-heater-on'),
  }),
  kind<Route>({
    id: 'I-20', isolated: 'heaters-stay', hazard: message('hazard-wrong-water'), harms: ['wrong water'], hardware: message('hardware-salinity-and-temperature'), action: 'block',
    pattern: message('pattern-wrong-water'), reset: message('reset-by-itself-water-right'), bypass: NEVER.water,
    over: (plant) => Object.values(plant.routes).filter((r) => r.purpose === 'supply'),
    needs: (plant, r) => some(from(plant, r).conductivity, plant.process.temperature && from(plant, r).temperature),
    holds: (plant, r) => (state) => wrongWater(plant, state, r),
    forbids: (_, r) => [r.id],
    looks: looks.supplied,
    words: (_, r) => message('wrong-water', { vessel: r.from }),
    unproven: message('unproven-second-instrument'),
  }),
  kind<Route>({
    id: 'I-21', hazard: message('hazard-system-too-full'), harms: ['spilled', 'wrong water'], hardware: message('hardware-system-high-float'), action: 'block', priority: 'soon', afterMs: 600_000,
    pattern: message('pattern-system-high'), reset: message('reset-by-itself-float-dry'), bypass: NEVER.overflow,
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
    id: 'I-21', hazard: message('hazard-system-too-low'), harms: ['wrong water'], hardware: message('hardware-system-low-float-or-level'), action: 'block', priority: 'soon', afterMs: 600_000, suffix: 'low',
    pattern: message('pattern-system-low'), reset: message('reset-by-itself-float-wet-or-level'), bypass: NEVER.dry,
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
    id: 'I-22', hazard: message('hazard-drift'), harms: ['wrong water', 'spilled'], hardware: message('hardware-meters-or-flows'), action: 'block', priority: 'soon',
    pattern: message('pattern-drift'), reset: message('reset-by-itself-other-side'), bypass: NEVER.water,
    over: (plant) => Object.values(plant.routes).filter((r) => exchangeOf(plant, r) !== null),
    holds: (plant, r) => (state) => drift(plant, state, r) > 1,
    forbids: (_, r) => [r.id],
    looks: looks.drifted,
    words: (_, r) => message('drift-above-bound', { route: r.id }),
    response: (plant, r) => respond(...causes.againstDrift(plant, r)),
    unproven: message('unproven-bucket'),
  }),
  kind<Route>({
    id: 'I-22', hazard: message('hazard-drift'), harms: ['wrong water', 'spilled'], hardware: message('hardware-meters-or-flows'), action: 'trip', priority: 'urgent', suffix: 'far',
    pattern: message('pattern-drift-far'), reset: message('reset-by-person-new-ledger'), bypass: NEVER.water,
    cleared: () => ({ inputs: [] }),
    over: (plant) => Object.values(plant.routes).filter((r) => exchangeOf(plant, r) !== null),
    holds: (plant, r) => (state) => drift(plant, state, r) > 2,
    forbids: (plant, r) => cuttingOff(plant, around(plant, r)),
    looks: looks.drifted,
    words: () => message('drift-above-twice-bound'),
    response: (plant, r) => respondAndReset(...causes.againstDrift(plant, r)),
    unproven: message('unproven-bucket'),
  }),
  kind<Route>({
    id: 'I-42', hazard: message('hazard-drift-without-level'), harms: ['spilled', 'wrong water'], hardware: message('hardware-none-without-level'), action: 'block', priority: 'soon', afterMs: 1_800_000,
    pattern: message('pattern-drift-unseen'), reset: message('reset-by-itself-level-right'), bypass: NEVER.overflow,
    over: (plant) => Object.keys(ledgersOf(plant)).flatMap((id) => Object.values(known(sidesOf(plant), id)).filter((r) => r !== undefined)),
    holds: (plant, r) => { const side = r.purpose === 'supply' ? 'supply' : 'drain'; const system = side === 'supply' ? r.to : r.from; return (state) => isUncertain(plant, state, system, side); },
    forbids: (_, r) => [r.id],
    looks: looks.ledger,
    words: (plant, r) => message('level-not-looked-at', { system: systemOf(plant, r).id, route: r.id }),
    response: (plant, r) => respond(HANDS_IN_WATER, doing(message('do-correct-level', { system: systemOf(plant, r).id })), clears(message('clears-when-said-right')), inCase(message('if-asked-too-often'))),
    unproven: message('unproven-look-at-level'),
  }),
  kind<Actuator>({
    id: 'I-23', hazard: message('hazard-relay-welded'), finding: 'on-unasked', hardware: message('hardware-feedback'), means: 'disobeys', action: 'trip', priority: 'urgent', suffix: 'stays-on',
    pattern: message('pattern-stays-on'), reset: message('reset-by-person-feedback-agrees'), bypass: NEVER.device,
    cleared: (plant, a) => ({ inputs: [a.id], so: (state) => feedbackOf(plant, state, a.id) === false }),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.feedback && usersOf(plant, a.id).length > 0),
    holds: (_, a) => disagreeing(a, false),
    forbids: (plant, a) => strandedBy(plant, a),
    looks: looks.agrees,
    words: (_, a) => message('device-stays-on', { device: a.id }),
    response: causes.againstStaysOn,
    unproven: message('unproven-every-stop'),
  }),
  kind<Actuator>({
    id: 'I-23', hazard: message('hazard-relay-open'), hardware: message('hardware-feedback'), means: 'disobeys', action: 'trip', priority: 'soon', suffix: 'stays-off',
    pattern: message('pattern-stays-off'), reset: message('reset-by-person-feedback-agrees'), bypass: NEVER.device,
    cleared: message('device-off-shows-nothing'),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.feedback && usersOf(plant, a.id).length > 0),
    holds: (_, a) => disagreeing(a, true),
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.agrees,
    words: (_, a) => message('device-stays-off', { device: a.id }),
    response: (_, a) => respondAndReset(MAINS, checking(message('check-supply-of', { device: a.id }))),
    unproven: message('unproven-every-start'),
  }),
  kind<Actuator>({
    id: 'I-24', hazard: message('hazard-foreign-hand'), finding: 'foreign-command', hardware: message('hardware-none'), action: 'block', priority: 'soon', cause: 'foreign',
    pattern: message('pattern-foreign-command', { durationMs: FOREIGN_MS }), reset: message('reset-by-itself-no-foreign', { durationMs: FOREIGN_MS }), bypass: NEVER.device,
    over: (plant) => Object.values(plant.actuators).filter((a) => usersOf(plant, a.id).length > 0),
    holds: (_, a) => (state) => known(state.devices, a.id).foreignMs > 0,
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.foreign,
    words: (_, a) => message('foreign-command', { device: a.id }),
    response: (_, a) => respond(checking(message('check-who-commands', { device: a.id })), doing(message('do-sole-right')), THEN_RESUME),
    unproven: message('unproven-second-master'),
  }),
  kind<Actuator>({
    id: 'I-24', hazard: message('hazard-foreign-hand'), finding: 'foreign-command', hardware: message('hardware-none'), action: 'trip', priority: 'urgent', suffix: 'fills',
    pattern: message('pattern-foreign-command-fills'), reset: message('reset-by-person-no-foreign', { durationMs: FOREIGN_MS }), bypass: NEVER.overflow,
    cleared: (plant, a) => ({ inputs: answering(plant, a.id), so: (state) => feedbackOf(plant, state, a.id) !== true }),
    over: (plant) => Object.values(plant.actuators).filter((a) => a.kind !== 'contactor' && usersOf(plant, a.id).some((id) => plant.routes[id] && fills(plant, known(plant.routes, id)))),
    holds: (_, a) => (state) => known(state.devices, a.id).foreignMs > 0 && known(state.devices, a.id).foreignOn,
    forbids: (plant, a) => sharing(plant, a.id),
    looks: looks.foreign,
    words: (_, a) => message('foreign-command-fills', { device: a.id }),
    response: (plant, a) => respondAndReset(electricityFirst(plant), inCase(message('if-water-comes-in', { stop: causes.stopOfDevice(plant, a) })), checking(message('check-who-commands', { device: a.id })), doing(message('do-sole-right'))),
    unproven: message('unproven-second-master'),
  }),
  kind<Plant>({
    id: 'I-25', hazard: message('hazard-dead-link'), hardware: message('hardware-none'), means: 'unlinked', action: 'block', priority: 'soon', afterMs: 10_000, cause: 'link',
    pattern: message('pattern-link-down'), reset: message('reset-by-itself-echo'), bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: (plant) => (state) => !isLinked(plant, state),
    forbids: (plant) => all(plant),
    looks: looks.link,
    words: () => message('link-not-proven'),
    response: () => respond(checking(message('check-broker-and-network')), clears(message('clears-outputs-off'))),
    unproven: message('unproven-heartbeat'),
  }),
  kind<Plant>({
    id: 'I-26', hazard: message('hazard-late-brain'), hardware: message('hardware-none'), action: 'block', priority: 'soon', cause: 'late',
    pattern: message('pattern-tick-late'), reset: message('reset-by-itself-punctual', { durationMs: LATE_MS }), bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: () => (state) => state.link.lateMs > 0,
    forbids: (plant) => all(plant),
    looks: looks.tick,
    words: () => message('tick-late'),
    response: () => respond(checking(message('check-computer')), doing(message('do-free-the-processor'))),
    unproven: message('unproven-every-tick'),
  }),
  kind<Plant>({
    id: 'I-27', hazard: message('hazard-unrecorded'), hardware: message('hardware-none'), action: 'block', priority: 'soon', cause: 'process',
    pattern: message('pattern-journal-unwritable'), reset: message('reset-by-itself-writable'), bypass: NEVER.blind,
    over: (plant) => [plant],
    holds: () => (state) => !state.link.journalWritable,
    forbids: (plant) => all(plant),
    looks: looks.record,
    words: () => message('disk-not-writable'),
    response: () => respond(doing(message('do-make-room')), THEN_RESUME),
    unproven: message('unproven-every-write'),
  }),
  kind<Route>({
    id: 'I-29', hazard: message('hazard-impure-water'), harms: ['wrong water'], hardware: message('hardware-purified-water-probe'), action: 'block', priority: 'soon',
    pattern: message('pattern-impure'), reset: message('reset-by-itself-after-pause', { durationMs: IMPURE_REST_MS }), bypass: may(message('bypass-if-purity-is-measured')),
    over: (plant) => Object.values(plant.routes).filter((r) => from(plant, r).purityLimitMsPerCm !== null && r.purpose !== 'flush'),
    holds: (_, r) => (state) => pipe(state, r).impureMs > 0,
    forbids: (_, r) => [r.id],
    looks: looks.purity,
    words: () => message('purified-water-impure'),
    response: () => respond(doing(message('do-measure-purified')), inCase(message('if-impure')), TRIED_AGAIN),
    unproven: message('unproven-second-probe'),
  }),
  kind<Route>({
    id: 'I-30', hazard: message('hazard-own-top-off'), harms: ['wrong water'], hardware: message('hardware-top-off'), action: 'block', priority: 'soon', afterMs: 1_800_000,
    pattern: message('pattern-top-off-runs'), reset: message('reset-by-itself-rests'), bypass: may(message('bypass-if-top-off-lies')),
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
    id: 'I-31', hazard: message('hazard-heater-bared'), harms: ['heater bare'], hardware: message('hardware-any-level'), action: 'block',
    pattern: message('pattern-would-be-bared'), reset: message('reset-by-itself-heater-off'), bypass: NEVER.heat,
    over: (plant) => Object.values(plant.heaters).filter((h) => known(plant.vessels, h.vessel).outOf.length > 0),
    // A draft row beyond I-16: a heater that may be on must not have its water pumped away.
    holds: (plant, h) => (state) => !known(state.devices, h.actuator).provenOff && held(state, h.vessel).leastL < h.coveredL + drawUnderWayL(plant, h),
    forbids: (plant, h) => [...known(plant.vessels, h.vessel).outOf],
    looks: looks.bared,
    words: (_, h) => message('pumping-would-bare', { heater: h.id }),
    unproven: message('unproven-comparison-of-orders'),
  }),
  kind<Actuator | Sensor>({
    id: 'I-32', hazard: message('hazard-out-of-service'), hardware: message('hardware-none'), action: 'block',
    pattern: message('pattern-out-of-service'), reset: message('reset-by-person-returned'), bypass: NEVER.device,
    over: (plant) => Object.values(plant.actuators).filter((a) => usersOf(plant, a.id).length > 0),
    holds: (_, a) => (state) => state.outOfService[a.id] !== undefined,
    forbids: (plant, a) => usersOf(plant, a.id),
    looks: looks.reason,
    words: (_, a) => message('taken-out-of-service', { device: a.id }),
    unproven: message('unproven-person-decides'),
  }),
  kind<Exercise>({
    id: 'I-34', hazard: message('hazard-exercise'), hardware: message('hardware-second-valve'), action: 'block',
    pattern: message('pattern-exercise-disturbed'), reset: message('reset-by-itself-all-off'), bypass: NEVER.exercise,
    over: (plant) => exercisedBySelf(plant),
    holds: (_, e) => (state) => state.proofs.test !== null || e.others.some((id) => !known(state.devices, id).provenOff || known(state.devices, id).foreignMs > 0),
    forbids: (_, e) => [exerciseOf(e.id)],
    looks: looks.disturbed,
    words: (_, e) => message('valve-not-exercised', { valve: e.id }),
    unproven: message('unproven-comparison-of-orders'),
  }),
  kind<Exercise>({
    id: 'I-35', hazard: message('hazard-exercise'), hardware: message('hardware-valve-feedback'), action: 'block',
    pattern: message('pattern-exercised'), reset: message('reset-by-itself-shut'), bypass: NEVER.exercise,
    over: (plant) => exercisedBySelf(plant),
    holds: (_, e) => (state) => state.exercises.run?.valve === e.id || (state.exercises.seized[e.id] === 'open' && !known(state.devices, e.id).provenOff),
    forbids: (plant, e) => disturbing(plant, e),
    looks: looks.exercised,
    words: (_, e) => message('valve-being-exercised', { valve: e.id }),
    unproven: message('unproven-every-exercise'),
  }),
  kind<Plant>({
    id: 'I-36', hazard: message('hazard-memory-lost'), hardware: message('hardware-none'), action: 'trip', priority: 'urgent',
    pattern: message('pattern-memory-lost'), reset: message('reset-by-person-looked'), bypass: NEVER.blind,
    cleared: message('forgotten-can-not-be-measured'),
    over: (plant) => [plant],
    afterReset: (draft) => { draft.lost = []; },
    holds: () => (state) => state.lost.length > 0,
    forbids: (plant) => all(plant),
    looks: looks.lost,
    words: () => message('look-at-every-vat'),
    response: (plant) => respondAndReset(electricityFirst(plant), doing(message('do-look-everywhere')), doing(message('do-put-right')), checking(message('check-name-and-seen'))),
    unproven: message('unproven-record'),
  }),
  kind<Listened>({
    id: 'I-12', isolated: 'heaters-stay', hazard: message('hazard-blind'), hardware: message('hardware-none'), means: 'silent', action: 'block', priority: 'soon', afterMs: BLIND_ALARM_MS,
    pattern: message('pattern-silent'), reset: message('reset-by-itself-live'), bypass: NEVER.blind,
    aboutRows: true, over: listened,
    holds: (_, s) => s.isSilent,
    forbids: (_, s) => s.forbids,
    about: ({ about }) => about,
    looks: (plant, _, id) => looks.heard(plant, id),
    words: (plant, { id }) => plant.sensors[id] ? message('sensor-silent', { sensor: id }) : message('feedback-silent', { device: id }),
    response: (plant, { id }) => respond(checking(plant.sensors[id] ? message('check-signal-of', { sensor: id }) : message('check-feedback-of', { device: id })), HEARD_AGAIN),
    unproven: message('unproven-supervises'),
  }),
  // One alarm for all of them (the process's): a station that nobody has tried would flood its people otherwise.
  kind<Tried>({
    id: 'I-28', hazard: message('hazard-untested'), hardware: message('hardware-none'), action: 'block',
    pattern: message('pattern-untested'), reset: message('reset-by-itself-tested'),
    bypass: may(message('bypass-if-stays-for-test')),
    aboutRows: true, over: (_, rows) => tried(rows),
    tests: ({ row }) => row.key,
    holds: (plant, { row }) => { const { everyMs, graceMs } = plant.policy.proofTests; return (state) => state.proofs.beyondGrace > 0 && sinceProven(state, row.key) > everyMs + graceMs; },
    forbids: (_, { row }) => row.forbids,
    about: ({ about }) => about,
    looks: (plant, state, _, { row }) => looks.tried(plant, state, row.key, row.proves),
    words: (_, { row }) => message('row-never-tried-too-long', { hazard: row.hazard }),
    unproven: message('unproven-clock'),
  }),
  kind<Tried>({
    id: 'I-33', hazard: message('hazard-proof-test'), hardware: message('hardware-none'), means: 'tested', action: 'block',
    pattern: message('pattern-proof-test'), reset: message('reset-by-itself-test-ends'), bypass: NEVER.test,
    aboutRows: true, over: (_, rows) => tried(rows),
    tests: ({ row }) => row.key,
    holds: (_, { row }) => (state) => state.proofs.test?.row === row.key,
    forbids: (plant, { row }) => concernedBy(plant, row, row.proves),
    about: ({ about }) => about,
    looks: (plant, state, _, { row }) => looks.tried(plant, state, row.key, row.proves),
    words: (_, { row }) => message('proof-test-under-way-at', { sensor: row.proves }),
    unproven: message('unproven-every-proof-test'),
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
