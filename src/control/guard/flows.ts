// Which routes run, and how much water has passed through each since the last event: an interval, never a guess.
//
// A route runs for certain only when every actuator on its way was told to be on and none denies it; it rests for certain
// only when one of them is proven off and the run-down is over. Between the two it may do either. What a meter counted is
// widened by its error and by what it may miss at a start; without a fresh meter the route's own least and most flow count.
import type { Actuator, Plant, Route, Sensor } from '../../station/plant.ts';
import { contact, fresh, freshFeedback, isFresh, probeOf } from './evidence.ts';
import { known } from './invariant.ts';
import {
  AGE_CAP_MS,
  IMPURE_REST_MS,
  LOW_FLOW_MS,
  RUN_BUDGET_GRACE,
  SILENT_COUNTER_MS,
  STARVED_REST_MS,
  STRAY_FORGET_MS,
  STRAY_SHARE,
} from './limits.ts';
import { perPlant } from './per-plant.ts';
import { actuatorsOf } from './row-kinds.ts';
import type { DeviceState, GuardState, RouteState, Running } from './state.ts';
import { watched } from './watched.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
export const older = (ageMs: number, elapsedMs: number) => Math.min(ageMs + elapsedMs, AGE_CAP_MS);

/** Time passes for devices and routes; whatever runs moves what it must and may. */
export function run(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const { devices, routes } = draft;
  for (const id in devices) ageDevice(known(plant.actuators, id), known(devices, id), elapsedMs);
  for (const id in routes) ageRoute(plant, draft, known(plant.routes, id), known(routes, id), elapsedMs);
}

function ageDevice(actuator: Actuator, device: DeviceState, elapsedMs: number): void {
  device.sinceMs = older(device.sinceMs, elapsedMs);
  device.sinceSentMs = older(device.sinceSentMs, elapsedMs);
  if (actuator.countsLease) device.leaseLeftMs = Math.max(0, device.leaseLeftMs - elapsedMs);
}

/** Below this a meter's flow is no flow. */
export function zeroOf(meter: Sensor, route: Route): number {
  return meter.measures === 'flow' ? meter.zeroLpm : route.flowLeastLpm / 10;
}

/** For how long it may run on unasked: for ever where one of its actuators counts no lease. */
const leasedMs = (plant: Plant, { through, leaseMs }: Route): number =>
  through.every((id) => known(plant.actuators, id).countsLease) ? leaseMs : AGE_CAP_MS;

/** What must be on for a route to run, by route. */
const ways = perPlant(
  (plant): Readonly<Record<string, readonly Actuator[]>> =>
    Object.fromEntries(
      Object.keys(plant.routes).map((id) => [
        id,
        actuatorsOf(plant, id).map((actuatorId) => known(plant.actuators, actuatorId)),
      ]),
    ),
);

/** Is every way on, and does nothing deny it? */
export function runningOf(plant: Plant, draft: GuardState, route: Route): Running {
  let certain = true;
  for (const actuator of known(ways(plant), route.id)) {
    const device = known(draft.devices, actuator.id);
    if (device.provenOff) return 'no';
    const feedback = freshFeedback(actuator, device);
    const denies = feedback === false && actuator.offProvenBy === 'feedback' && !device.on;
    if (denies && draft.link.up && device.offsSent > 0) return 'no';
    if (!device.on || feedback === false) certain = false;
  }
  return certain ? 'yes' : 'maybe';
}

function ageRoute(plant: Plant, draft: GuardState, route: Route, pipe: RouteState, elapsedMs: number): void {
  const minutes = elapsedMs / MINUTE_MS;
  const watchedMs = watched(plant, elapsedMs);
  // Nobody renewed its lease in a gap: it has run for no longer than that.
  if (pipe.running === 'yes')
    pipe.runMs = older(pipe.runMs, watchedMs > 0 ? elapsedMs : Math.min(elapsedMs, leasedMs(plant, route)));
  if (pipe.running === 'no') pipe.restMs = older(pipe.restMs, elapsedMs);
  // Until the run-down is over, and before it is primed, anything from nothing to the most may pass.
  const moves = pipe.running !== 'no' || pipe.restMs <= route.runDownMs;
  const primed = pipe.running === 'yes' && pipe.runMs > route.primingMs;
  if (moves) pipe.pendingMostL += minutes * route.flowMostLpm;
  if (primed && route.meter === null) pipe.pendingLeastL += minutes * route.flowLeastLpm;
  pipe.sinceMeterMs = older(pipe.sinceMeterMs, elapsedMs);
  // Nor does a window reach over a gap, or into the time before a pump is primed.
  const judgedMs = pipe.running === 'yes' ? Math.max(0, pipe.runMs - route.primingMs) : AGE_CAP_MS;
  pipe.windowMs = watchedMs < elapsedMs ? 0 : Math.min(older(pipe.windowMs, elapsedMs), judgedMs);
  if (pipe.windowMs === 0) pipe.windowL = 0;
  if (route.meter !== null) forgetFlow(known(plant.sensors, route.meter), route, pipe);
  pipe.starvedMs = Math.max(0, pipe.starvedMs - elapsedMs);
  pipe.impureMs = Math.max(0, pipe.impureMs - elapsedMs);
  pipe.starts = Math.min(route.startsPerHour, pipe.starts + (elapsedMs / HOUR_MS) * route.startsPerHour);
  if (pipe.strayL > 0)
    pipe.strayL = Math.max(0, pipe.strayL - (elapsedMs / STRAY_FORGET_MS) * strayBoundL(plant, route, pipe));
  pipe.movedLeastL = 0;
  pipe.movedMostL = 0;
  pipe.movedL = 0;
  if (!isCountedLater(plant, draft, route)) {
    settle(pipe, pipe.pendingLeastL, pipe.pendingMostL, pipe.ran);
    pipe.pendingLeastL = 0;
    pipe.pendingMostL = 0;
    if (!moves) pipe.ran = false;
  }
}

/**
 * An absolute counter that is silent will tell, once it is back, what passed meanwhile: until then that stays pending, and
 * is never booked twice. A silent flow meter tells nothing of the past.
 */
function isCountedLater(plant: Plant, draft: GuardState, route: Route): boolean {
  if (route.meter === null) return false;
  return known(plant.sensors, route.meter).measures === 'total' || isFresh(plant, draft, route.meter);
}

/** After this event's inputs: low flow, a starved inlet, impure water. */
function watchFlow(plant: Plant, draft: GuardState, route: Route, pipe: RouteState, elapsedMs: number): void {
  const low = pipe.running === 'yes' && pipe.runMs > route.primingMs && flowsTooLittle(plant, route, pipe);
  pipe.lowFlowMs = low ? older(pipe.lowFlowMs, watched(plant, elapsedMs)) : 0;
  if (pipe.lowLooks === 1) pipe.lowFlowMs = Math.min(pipe.lowFlowMs, LOW_FLOW_MS - 1);
  if (!route.pumped && pipe.lowFlowMs >= LOW_FLOW_MS) pipe.starvedMs = STARVED_REST_MS;
  if (impure(plant, draft, route)) pipe.impureMs = IMPURE_REST_MS;
}

function flowsTooLittle(plant: Plant, route: Route, pipe: RouteState): boolean {
  if (route.meter === null) return false;
  const sensor = known(plant.sensors, route.meter);
  // A counter that speaks only on change and says nothing counts nothing; one that re-publishes is silent, which is I-12's.
  if (sensor.measures !== 'total') return pipe.flowLpm !== null && pipe.flowLpm < slowestLpm(sensor, route);
  const silentMs = Math.min(pipe.sinceMeterMs, pipe.runMs - route.primingMs);
  const onlyOnChange = sensor.republishesMs === null;
  return pipe.lowLooks > 0 || (onlyOnChange && silentMs > SILENT_COUNTER_MS + countMs(sensor, route, pipe));
}

/** Below this a route that runs has too little flow: its least, as little as its meter may show of that. */
export const slowestLpm = (meter: Sensor, route: Route): number =>
  route.flowLeastLpm * (1 - ('uncertainty' in meter ? meter.uncertainty : 0));

/** One count takes no longer than this while there is flow enough. */
const countMs = (meter: Sensor, route: Route, { running, countL }: RouteState): number =>
  (countL * MINUTE_MS) / (running === 'yes' ? slowestLpm(meter, route) : zeroOf(meter, route));

/** A flow that no count has confirmed for longer than that, and than the meter may be silent, is unknown. */
function forgetFlow(meter: Sensor, route: Route, pipe: RouteState): void {
  if (meter.measures !== 'total' || pipe.flowLpm === null) return;
  const servesMs = (meter.republishesMs ?? 0) + SILENT_COUNTER_MS + 2 * countMs(meter, route, pipe);
  // A counter that speaks only on change, and says nothing, counts nothing.
  if (pipe.windowMs > servesMs) pipe.flowLpm = meter.republishesMs === null ? 0 : null;
}

/** The purifier's water is above its limit, by a probe that is valid now. */
export function impure(plant: Plant, draft: GuardState, route: Route): boolean {
  const source = known(plant.vessels, route.from);
  if (source.purityLimitMsPerCm === null || source.conductivity === null) return false;
  const probe = probeOf(plant, source.id);
  const after = probe?.validAfter ?? null;
  if (after !== null) {
    const rinsed = known(draft.routes, after.route);
    if (rinsed.running !== 'yes' || rinsed.runMs < after.runsForMs) return false;
  }
  const conductivity = fresh(plant, draft, source.conductivity);
  return conductivity !== null && conductivity > source.purityLimitMsPerCm;
}

/** So much has passed for certain, and so much may have. @param seen by a meter, or by a run that is certain */
export function settle(pipe: RouteState, leastL: number, mostL: number, seen: boolean): void {
  const isL = Math.max(0, leastL);
  const mayL = Math.max(isL, mostL);
  pipe.movedLeastL += isL;
  pipe.movedMostL += mayL;
  // Of what only might have run, nobody counts a half.
  if (seen) pipe.movedL += (isL + mayL) / 2;
}

/** By so much what has most likely passed may be wrong. */
export const doubtOfL = ({ movedLeastL, movedMostL, movedL }: RouteState): number =>
  Math.max(movedMostL - movedL, movedL - movedLeastL);

/** How much may pass unasked before it counts as a stuck valve or a siphon; the first count may be the end of a run's last. */
export const strayBoundL = (plant: Plant, route: Route, { countL }: RouteState): number =>
  known(strayBoundsL(plant), route.id) + countL;

const strayBoundsL = perPlant((plant) =>
  Object.fromEntries(Object.values(plant.routes).map((route) => [route.id, boundOf(plant, route)])),
);

function boundOf(plant: Plant, route: Route): number {
  const smaller = Math.min(
    known(plant.vessels, route.from).capacityL,
    known(plant.vessels, route.to).capacityL,
  );
  const meter = route.meter === null ? null : known(plant.sensors, route.meter);
  const lostL = meter?.measures === 'total' ? 3 * meter.lostAtStartL : 0;
  return Math.max(lostL, STRAY_SHARE * (Number.isFinite(smaller) ? smaller : 0), 0.05);
}

/** After this event's inputs and before anything is decided: which routes run now. */
export function settleRunning(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const { routes } = draft;
  for (const id in routes) {
    const route = known(plant.routes, id);
    const pipe = known(routes, id);
    turn(plant, draft, route, pipe, runningOf(plant, draft, route));
    watchFlow(plant, draft, route, pipe, elapsedMs);
  }
}

function turn(plant: Plant, draft: GuardState, route: Route, pipe: RouteState, now: Running): void {
  if (now === pipe.running) return;
  if (now === 'yes' && pipe.runMs === 0) started(plant, draft, route, pipe);
  if (now === 'yes') pipe.ran = true;
  if (now === 'no') Object.assign(pipe, { runMs: 0, restMs: 0, windowMs: 0, windowL: 0, lowLooks: 0 });
  pipe.running = now;
}

function started(plant: Plant, draft: GuardState, route: Route, pipe: RouteState): void {
  pipe.starts = Math.max(0, pipe.starts - 1);
  Object.assign(pipe, { startedSinceMeter: true, windowMs: 0, windowL: 0, lowLooks: 0 });
  if (route.meter !== null && known(plant.sensors, route.meter).measures === 'total') pipe.flowLpm = null;
  pipe.runBudgetMs = budgetMs(plant, draft, route);
}

/** The longest that filling can take: the room that there may be, at the least flow. */
function budgetMs(plant: Plant, draft: GuardState, route: Route): number {
  const target = known(plant.vessels, route.to);
  if (route.loop || !Number.isFinite(target.capacityL)) return AGE_CAP_MS;
  const roomL = Math.max(0, target.capacityL - target.marginL - known(draft.vessels, target.id).leastL);
  const byRoomMs = fillingMs(route, roomL) + route.primingMs;
  const longest = route.purpose === 'refill' ? plant.process.refill?.longestRunMs : undefined;
  return Math.min(byRoomMs, longest ?? AGE_CAP_MS, AGE_CAP_MS);
}

const fillingMs = (route: Route, litres: number): number =>
  (litres / route.flowLeastLpm) * MINUTE_MS * RUN_BUDGET_GRACE;

/** What leaves a vessel while it is being filled makes room, and the filling may take that much longer. */
export function extendBudgets(plant: Plant, draft: GuardState): void {
  for (const id in draft.routes) {
    const pipe = known(draft.routes, id);
    if (pipe.runBudgetMs >= AGE_CAP_MS || pipe.running === 'no') continue;
    const route = known(plant.routes, id);
    const target = known(plant.vessels, route.to);
    let leftL = known(draft.vessels, target.id).handDrawnL;
    for (const out of target.outOf) leftL += known(draft.routes, out).movedMostL;
    if (leftL > 0) pipe.runBudgetMs = Math.min(pipe.runBudgetMs + fillingMs(route, leftL), AGE_CAP_MS);
  }
}

const circulations = perPlant((plant) => {
  const found: Record<string, Route[]> = {};
  for (const route of Object.values(plant.routes)) {
    if (route.purpose !== 'circulate') continue;
    found[route.from] = [...(found[route.from] ?? []), route];
  }
  return found;
});

/** Circulation of a vessel that is certain: told, not denied, and primed. */
export function circulates(plant: Plant, state: GuardState, vesselId: string): boolean {
  return (circulations(plant)[vesselId] ?? []).some((route) => {
    const pipe = known(state.routes, route.id);
    if (pipe.running !== 'yes' || pipe.runMs < route.primingMs) return false;
    const metered = route.meter !== null && isFresh(plant, state, route.meter) && pipe.flowLpm !== null;
    return !metered || (pipe.flowLpm ?? 0) >= route.flowLeastLpm / 2;
  });
}

/** Does the system's own top-off report itself running? Null where nobody says. */
export function topOffRuns(plant: Plant, state: GuardState, vesselId: string): boolean | null {
  const id = known(plant.vessels, vesselId).topOff;
  if (id === null) return null;
  const seen = contact(plant, state, id);
  return seen.kind === 'fresh' ? seen.value : null;
}
