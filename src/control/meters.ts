// What a meter's reading says of a route: what was pending is now known, within the meter's error; what passes while the
// route rests for certain is nobody's wish.
import type { Plant, Route, Sensor } from '../station/plant.ts';
import { settle, zeroOf } from './flows.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS, FLOW_WINDOW_MS } from './limits.ts';
import type { RouteState, State } from './state.ts';
import type { Input } from './types.ts';

const MINUTE_MS = 60_000;

/** A meter speaks: what was pending is now known, within its error. */
export function meter(plant: Plant, draft: State, input: Extract<Input, { type: 'reading' }>): void {
  const sensor = known(plant.sensors, input.sensor);
  if ((sensor.measures !== 'total' && sensor.measures !== 'flow') || !input.live) return;
  const route = known(plant.routes, sensor.route);
  const pipe = known(draft.routes, route.id);
  const value = input.value as number;
  const amount = sensor.measures === 'total' ? countedL(sensor, route, pipe, value) : flowedL(pipe, value);
  const errorShare = sensor.uncertainty;
  if (amount === null) {
    settle(pipe, 0, pipe.pendingMostL);
  } else {
    const lostL = sensor.measures === 'total' && pipe.startedSinceMeter ? sensor.lostAtStartL : 0;
    settle(pipe, amount[0] * (1 - errorShare), amount[1] * (1 + errorShare) + lostL);
    notice(route, pipe, zeroOf(sensor, route), amount[1]);
  }
  pipe.pendingLeastL = 0;
  pipe.pendingMostL = 0;
  pipe.sinceMeterMs = 0;
  // What a start may lose is lost once, however long the wheel stands still afterwards.
  pipe.startedSinceMeter = false;
}

/** Water that passes while the route rests for certain is nobody's wish. */
function notice(route: Route, pipe: RouteState, zeroLpm: number, amountL: number): void {
  const resting = pipe.running === 'no' && pipe.restMs > route.runDownMs + pipe.sinceMeterMs;
  const idleNoiseL = (zeroLpm * pipe.sinceMeterMs) / MINUTE_MS;
  if (resting && amountL > idleNoiseL) pipe.strayL += amountL;
}

/** Litres between two absolute counts, or null where the counter says something that can't be. */
function countedL(
  sensor: Extract<Sensor, { measures: 'total' }>,
  route: Route,
  pipe: RouteState,
  totalL: number,
): readonly [number, number] | null {
  const lastL = pipe.lastTotalL;
  pipe.lastTotalL = totalL;
  if (lastL === null) return null;
  let deltaL = totalL - lastL;
  if (deltaL < 0 && sensor.wrapsAtL !== null) deltaL += sensor.wrapsAtL;
  // No more can have passed than the route's most flow for the time: beyond that the counter restarted or jumped.
  const possibleL =
    (1.5 * route.flowMostLpm * (pipe.sinceMeterMs + FLOW_WINDOW_MS)) / MINUTE_MS + sensor.lostAtStartL;
  if (deltaL < 0 || deltaL > possibleL) {
    pipe.windowMs = 0;
    pipe.windowL = 0;
    return null;
  }
  pipe.windowL += deltaL;
  if (pipe.windowMs >= FLOW_WINDOW_MS) {
    pipe.flowLpm = (pipe.windowL * MINUTE_MS) / pipe.windowMs;
    pipe.windowMs = 0;
    pipe.windowL = 0;
  }
  return [deltaL, deltaL];
}

/** Litres between two readings of a flow: it was somewhere between them. */
function flowedL(pipe: RouteState, flowLpm: number): readonly [number, number] | null {
  const before = pipe.flowLpm;
  pipe.flowLpm = Math.max(0, flowLpm);
  if (before === null || pipe.sinceMeterMs >= AGE_CAP_MS) return null;
  const minutes = pipe.sinceMeterMs / MINUTE_MS;
  return [minutes * Math.min(before, pipe.flowLpm), minutes * Math.max(before, pipe.flowLpm)];
}
