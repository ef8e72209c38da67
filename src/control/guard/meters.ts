// What a meter's reading says of a route: what was pending is now known, within the meter's error; what passes while the
// route rests for certain is nobody's wish.
//
// A total says how many counts are full, never how much of the next one: whatever is told by it lies within a count. What has
// passed since the last count stays pending, up to one count; so this error is made once and not at each message.
import type { Plant, Route, Sensor } from '../../station/plant.ts';
import { settle, slowestLpm, zeroOf } from './flows.ts';
import { known } from './invariant.ts';
import {
  AGE_CAP_MS,
  BUNCHED_MS,
  CHATTER_LIMIT,
  FINEST_COUNT_L,
  FLOW_WINDOW_MS,
  JUMP_CHATTER,
  LONE_LOOK_MS,
  NOISE_COUNTS,
  RESTART_CHATTER,
} from './limits.ts';
import type { GuardState, RouteState } from './state.ts';
import type { Input } from './types.ts';

const MINUTE_MS = 60_000;

/** A meter speaks: what was pending is now known, within its error. */
export function meter(plant: Plant, draft: GuardState, input: Extract<Input, { type: 'reading' }>): void {
  const sensor = known(plant.sensors, input.sensor);
  if ((sensor.measures !== 'total' && sensor.measures !== 'flow') || !input.live) return;
  const route = known(plant.routes, sensor.route);
  const pipe = known(draft.routes, route.id);
  const value = input.value as number;
  const amount =
    sensor.measures === 'total' ? countedL(draft, sensor, route, pipe, value) : flowedL(pipe, value);
  const uncountedMostL = sensor.measures === 'total' ? uncountedL(pipe, value) : 0;
  const errorShare = sensor.uncertainty;
  if (amount === null) {
    settle(pipe, 0, pipe.pendingMostL - uncountedMostL, pipe.ran);
  } else {
    const lostL = sensor.measures === 'total' && pipe.startedSinceMeter ? sensor.lostAtStartL : 0;
    settle(pipe, amount[0] * (1 - errorShare), amount[1] * (1 + errorShare) + lostL, true);
    notice(route, pipe, zeroOf(sensor, route), amount[0]);
  }
  pipe.pendingLeastL = 0;
  pipe.pendingMostL = uncountedMostL;
  pipe.sinceMeterMs = 0;
  // What a start may lose is lost once, however long the wheel stands still afterwards.
  pipe.startedSinceMeter = false;
  if (pipe.running === 'no' && pipe.restMs > route.runDownMs) pipe.ran = false;
}

/** Water that passes while the route rests for certain is nobody's wish. */
function notice(route: Route, pipe: RouteState, zeroLpm: number, amountL: number): void {
  const resting = pipe.running === 'no' && pipe.restMs > route.runDownMs + pipe.sinceMeterMs;
  const idleNoiseL = (zeroLpm * pipe.sinceMeterMs) / MINUTE_MS;
  if (resting && amountL > idleNoiseL) pipe.strayL += amountL;
}

/** Less than a count, and what a count that fell back hides. */
function uncountedL(pipe: RouteState, totalL: number): number {
  const fallenL = Math.max(0, (pipe.lastTotalL ?? totalL) - totalL);
  const hidesL = fallenL <= NOISE_COUNTS * pipe.countL ? fallenL : 0;
  return Math.min(pipe.pendingMostL, pipe.countL + hidesL);
}

/** Litres between two absolute counts, or null where the counter says something that can't be. */
function countedL(
  draft: GuardState,
  sensor: Extract<Sensor, { measures: 'total' }>,
  route: Route,
  pipe: RouteState,
  totalL: number,
): readonly [number, number] | null {
  const lastL = pipe.lastTotalL;
  const deltaL = lastL === null ? null : changeL(sensor, lastL, totalL);
  // A count that falls back has not been taken back: the highest stands, and the window goes on. A wheel that ran back as the
  // water came to rest may flutter below that until it has made up for it.
  const noiseL = NOISE_COUNTS * pipe.countL;
  const behindL = isBehind(sensor, route, pipe, noiseL) ? sensor.lostAtStartL : 0;
  const flutters = deltaL !== null && deltaL < 0 && -deltaL <= noiseL + behindL;
  if (deltaL !== null && deltaL !== 0) learnCount(sensor, pipe, Math.abs(deltaL));
  if (flutters) {
    lookAtFlow(sensor, route, pipe, 0);
    return NOTHING;
  }
  pipe.lastTotalL = totalL;
  if (lastL === null || deltaL === null) return null;
  // A wheel runs back as the water comes to rest, by no more than it may miss at a start: many counts of a fine meter.
  if (pipe.running !== 'yes' && deltaL < 0 && -deltaL <= sensor.lostAtStartL) return NOTHING;
  const mostL = possibleL(sensor, route, pipe);
  // After a pause of the service everything that waited arrives at once.
  if (deltaL >= 0 && (deltaL <= mostL || draft.link.lateMs > 0)) {
    lookAtFlow(sensor, route, pipe, deltaL);
    if (deltaL === 0) return NOTHING;
    // The first count of all may have been nearly full when it was first read.
    const before = pipe.hasCounted ? 0 : Math.min(pipe.countL, deltaL);
    pipe.hasCounted = true;
    return [deltaL - before, deltaL];
  }
  Object.assign(pipe, { windowMs: 0, windowL: 0, flowLpm: null, lowLooks: 0, hasCounted: false });
  const startedAnew = totalL < lastL && totalL <= mostL;
  doubt(draft, sensor.id, startedAnew ? RESTART_CHATTER : JUMP_CHATTER);
  return null;
}
const NOTHING = [0, 0] as const;

/** Has it started so lately that its wheel may not have made up yet for what it missed, and for what it ran back? */
function isBehind(
  sensor: Extract<Sensor, { measures: 'total' }>,
  route: Route,
  { running, runMs }: RouteState,
  noiseL: number,
): boolean {
  const madeUpMs = ((sensor.lostAtStartL + noiseL) * MINUTE_MS) / slowestLpm(sensor, route);
  return running === 'yes' && runMs <= route.primingMs + madeUpMs;
}

/** From one count to the next, the short way round where it wraps. */
function changeL({ wrapsAtL }: Extract<Sensor, { measures: 'total' }>, fromL: number, toL: number): number {
  const changeL = toL - fromL;
  if (wrapsAtL === null || Math.abs(changeL) <= wrapsAtL / 2) return changeL;
  return changeL - Math.sign(changeL) * wrapsAtL;
}

/** The least step ever seen is no less than one count. */
function learnCount(sensor: Extract<Sensor, { measures: 'total' }>, pipe: RouteState, stepL: number): void {
  const finestL = Math.min(sensor.countL, FINEST_COUNT_L);
  pipe.countL = Math.max(Math.min(pipe.countL, stepL), finestL);
}

/** No more can have passed than the route's most flow for the time: beyond that the counter restarted or jumped. */
function possibleL(
  sensor: Extract<Sensor, { measures: 'total' }>,
  route: Route,
  { sinceMeterMs, countL }: RouteState,
): number {
  const byFlowL = (1.5 * route.flowMostLpm * (sinceMeterMs + BUNCHED_MS)) / MINUTE_MS;
  return byFlowL + sensor.lostAtStartL + countL;
}

/** Until it has counted steadily for a while it says nothing (row I-12). */
function doubt(draft: GuardState, sensorId: string, chatter: number): void {
  const seen = known(draft.sensors, sensorId);
  seen.chatter += chatter;
  if (seen.chatter > CHATTER_LIMIT && seen.fault === null) seen.fault = 'jumped';
}

/**
 * The flow since the window began is known within a count. The window ends when that decides what is asked: is there too
 * little for a run, is there none at rest? A fine meter decides within a second, one of a pulse a litre takes a pulse.
 */
function lookAtFlow(
  sensor: Extract<Sensor, { measures: 'total' }>,
  route: Route,
  pipe: RouteState,
  deltaL: number,
): void {
  // What arrives as the window begins had passed before.
  if (pipe.windowMs > 0) pipe.windowL += deltaL;
  if (pipe.windowMs < FLOW_WINDOW_MS) return;
  const runs = pipe.running === 'yes';
  const askedLpm = runs ? slowestLpm(sensor, route) : zeroOf(sensor, route);
  const flowLpm = (pipe.windowL * MINUTE_MS) / pipe.windowMs;
  const isBelow = ((pipe.windowL + pipe.countL) * MINUTE_MS) / pipe.windowMs < askedLpm;
  if (!isBelow && flowLpm < askedLpm) return;
  if (!isBelow || !runs) pipe.lowLooks = 0;
  else pipe.lowLooks = pipe.windowMs >= LONE_LOOK_MS ? 2 : Math.min(pipe.lowLooks + 1, 2);
  if (pipe.lowLooks !== 1) pipe.flowLpm = flowLpm;
  pipe.windowMs = 0;
  pipe.windowL = 0;
}

/** Litres between two readings of a flow: it was somewhere between them. */
function flowedL(pipe: RouteState, flowLpm: number): readonly [number, number] | null {
  const before = pipe.flowLpm;
  pipe.flowLpm = Math.max(0, flowLpm);
  if (before === null || pipe.sinceMeterMs >= AGE_CAP_MS) return null;
  const minutes = pipe.sinceMeterMs / MINUTE_MS;
  const mostL = minutes * Math.max(before, pipe.flowLpm);
  // What did not flow before began to when it may have begun to run.
  const began = before === 0 && pipe.pendingMostL > 0;
  return [minutes * Math.min(before, pipe.flowLpm), began ? Math.min(mostL, pipe.pendingMostL) : mostL];
}
