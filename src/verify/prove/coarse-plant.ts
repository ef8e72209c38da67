// The coarse plant: the station's own plumbing, devices, sensors and policy, with every amount a few units and every time
// a few ticks. It is a `Plant` like any other, so the core derives the same rows and walks the same phases on it; nothing
// of the core is copied or bent.
//
// What is kept: every vessel, route, heater, sensor, actuator, what lies upstream of what, what excludes what, what has
// feedback, who counts a lease, how off is proven, who starts and restarts what, target and tolerance of the salinity.
//
// What is changed, and why the result still says something about the real station:
// - a route moves one unit in one tick, a vessel holds about eleven; marks keep their order. Only order matters to a row
//   that compares; amounts between two marks have no counterpart.
// - a tick is one minute. It is longer than every short wait of `limits.ts` (an `off` is repeated every 2 s, low flow
//   counts after 2 s), so these happen within one tick, and what a real station does in seconds takes a whole tick here:
//   reactions are slower than in truth against the size of a vessel, never faster.
// - instruments are exact, and only a fault makes them lie. Errors within a meter's stated uncertainty are the campaign's.
// - the clock never counts: no quiet hours, and what is counted more coarsely is listed in `abstraction.ts`.
import { heatCapacityJPerK } from '../../engineering/heat.ts';
import { saltMassKg } from '../../engineering/salting.ts';
import { houseUnitOf, isNumberSensor } from '../../station/kinds.ts';
import type { Actuator, Heater, Plant, Route, Sensor, Vessel } from '../../station/plant.ts';

export const TICK_MS = 60_000;
/** For so many ticks a lease lasts, a silent sensor is believed (less one), a disagreeing device is forgiven (less one). */
export const LEASE_TICKS = 2;
/** Where floats turn over, in units: halves, so that a whole number of units is always clearly one or the other. */
export const MARKS = { low: 1.5, high: 4.5, overflow: 7.5 } as const;
/** A finished batch, a full fresh vat, a system's normal contents; below `needs` a vessel is filled, or has no more to give. */
export const FULL = 4;
const START_BELOW = 3;
/** Least contents for a pump: one unit less is dry. */
const PUMP_NEEDS = 1;
/** A heater is covered from here on, in units, with the margin that a real cover mark has. */
export const COVERED = 2;
const COVER_MARGIN = 0.5;
const LEVEL_UNCERTAINTY = 0.25;
const FLOAT_TOLERANCE = 0.25;
/** Above this the delivered water is too hot; the heater's limit lies beyond, as in a real file. */
const WARM = { tooCold: 22, cold: 23, most: 1.5, limit: 3, cutOut: 4 } as const;
/** Longer than any way through the phases: only the fault `grows-old` ends it. */
const SERVES_TICKS = 1000;
const DUE_PER_TICK = 1;
const PRACTICE_C = 20;

const ticks = (count: number): number => count * TICK_MS;
/** A wait that the station has becomes one step of the core; one that it has not stays none. */
type Wait = (realMs: number) => number;
/** A wait that only forgives, or only delays what is safe, counts for no longer than it is. */
const wholeTicks = (realMs: number): number => ticks(Math.floor(realMs / TICK_MS));
const mapped = <A, B>(record: Readonly<Record<string, A>>, make: (item: A) => B): Record<string, B> =>
  Object.fromEntries(Object.entries(record).map(([id, item]) => [id, make(item)]));

/**
 * The coarse counterpart of a station. Quantities are units, ticks are minutes, temperatures and salinities are real.
 * @param stepMs how long a step of the core takes: a tick, or a part of one
 */
export function coarsePlantOf(real: Plant, stepMs: number = TICK_MS): Plant {
  const oneStep: Wait = (realMs) => (realMs > 0 ? stepMs : 0);
  return {
    ...real,
    vessels: mapped(real.vessels, (vessel) => coarseVessel(vessel)),
    routes: mapped(real.routes, (route) => coarseRoute(route, stepMs, oneStep)),
    heaters: mapped(real.heaters, (heater) => coarseHeater(real, heater)),
    dosers: mapped(real.dosers, (doser) => ({
      ...doser,
      rateKgPerMin: productKgPerUnit(real),
      largestKg: 100 * productKgPerUnit(real),
    })),
    sensors: mapped(real.sensors, (sensor) => coarseSensor(sensor, oneStep)),
    actuators: mapped(real.actuators, coarseActuator),
    // Valves that stand still for a month are no matter of minutes: see abstraction.ts.
    exercises: {},
    process: coarseProcess(real, stepMs, oneStep),
    policy: {
      ...real.policy,
      restarts: {
        ...real.policy.restarts,
        evidenceStandsForMs: oneStep(real.policy.restarts.evidenceStandsForMs),
        perDay: Math.min(real.policy.restarts.perDay, 1),
      },
    },
    link: { provenWithinMs: 1.5 * TICK_MS, tickWithinMs: 1.5 * TICK_MS },
  };
}

/** Dry product that brings one unit of fresh water to the target. */
export function productKgPerUnit(real: Plant): number {
  return saltMassKg(1, 0, real.process.salinity.target, PRACTICE_C, real.process.saltYield);
}

/** Degrees of the mixing vat that a cold batch starts from and that a warm one has; equal where nothing heats. */
export function temperaturesOf(real: Plant): { readonly cold: number; readonly warm: number } {
  const warm = Math.round(real.process.temperature?.targetC ?? PRACTICE_C);
  const heated = Object.values(real.heaters).some(({ vessel }) => vessel === real.mixingId);
  return { cold: heated ? warm - (25 - WARM.cold) : warm, warm };
}

function coarseVessel(vessel: Vessel): Vessel {
  if (!Number.isFinite(vessel.capacityL)) return vessel;
  // The station's loader holds that a lease fits between a float's mark and the brim; so does this.
  const capacityL = Math.ceil(MARKS.overflow) + LEASE_TICKS * Math.max(1, vessel.into.length) + 1;
  return {
    ...vessel,
    capacityL,
    marginL: 1,
    minimumL: PUMP_NEEDS,
    volumeL: vessel.volumeL > 0 ? FULL : 0,
    shape: null,
    handDrawn: vessel.handDrawn === null ? null : { flowLpm: 1, perDayL: 1 },
  };
}

function coarseRoute(route: Route, stepMs: number, oneStep: Wait): Route {
  return {
    ...route,
    flowLeastLpm: 1,
    flowMostLpm: 1,
    flowUsualLpm: 1,
    primingMs: 0,
    // What is switched off within a tick has moved that tick's water all the same.
    runDownMs: TICK_MS - stepMs,
    minimumRunMs: oneStep(route.minimumRunMs),
    minimumRestMs: oneStep(route.minimumRestMs),
    startsPerHour: 60,
    leaseMs: ticks(LEASE_TICKS),
  };
}

/** One kelvin in one tick in a full batch. */
function coarseHeater(real: Plant, heater: Heater): Heater {
  const { warm } = temperaturesOf(real);
  const capacity = heatCapacityJPerK(FULL, real.process.salinity.target, PRACTICE_C, PRACTICE_C);
  return {
    ...heater,
    powerW: capacity / (TICK_MS / 1000),
    coveredL: COVERED + COVER_MARGIN,
    limitC: warm + WARM.limit,
    cutOutC: heater.cutOutC === null ? null : warm + WARM.cutOut,
    lagMs: ticks(1),
    lossWPerK: 0,
  };
}

function coarseSensor(sensor: Sensor, oneStep: Wait): Sensor {
  const habits = { maxAgeMs: 1.5 * TICK_MS, republishesMs: sensor.republishesMs === null ? null : TICK_MS };
  const plain = isNumberSensor(sensor)
    ? { scale: 1, offset: 0, range: null, sentinels: [], unit: houseUnitOf(sensor) }
    : {};
  switch (sensor.measures) {
    case 'float':
      return {
        ...sensor,
        ...habits,
        markL: MARKS[sensor.position],
        toleranceL: FLOAT_TOLERANCE,
        believeStartMs: wholeTicks(sensor.believeStartMs),
        believeStopMs: oneStep(sensor.believeStopMs),
      };
    case 'leak':
    case 'top-off':
      return {
        ...sensor,
        ...habits,
        believeStartMs: wholeTicks(sensor.believeStartMs),
        believeStopMs: oneStep(sensor.believeStopMs),
      };
    case 'level':
      return { ...sensor, ...habits, ...plain, table: null, uncertaintyL: LEVEL_UNCERTAINTY };
    case 'flow':
      return { ...sensor, ...habits, ...plain, uncertainty: 0, zeroLpm: 0.1 };
    case 'total':
      return {
        ...sensor,
        ...habits,
        ...plain,
        uncertainty: 0,
        countL: 0,
        lostAtStartL: 0,
        wrapsAtL: null,
      };
    case 'temperature':
      return { ...sensor, ...habits, ...plain, uncertaintyK: 0.2 };
    case 'conductivity':
      return {
        ...sensor,
        ...habits,
        ...plain,
        compensatedToC: 25,
        temperatureFrom: null,
        validAfter:
          sensor.validAfter === null ? null : { route: sensor.validAfter.route, runsForMs: TICK_MS / 2 },
        validForMs: ticks(SERVES_TICKS),
      };
    default:
      return Object.assign({}, sensor, habits, plain);
  }
}

function coarseActuator(actuator: Actuator): Actuator {
  const { feedback } = actuator;
  return {
    ...actuator,
    leaseMs: ticks(LEASE_TICKS),
    longestMs: ticks(LEASE_TICKS),
    feedback:
      feedback === null
        ? null
        : {
            ...feedback,
            withinMs: wholeTicks(feedback.withinMs) + TICK_MS / 2,
            maxAgeMs: 1.5 * TICK_MS,
            republishesMs: TICK_MS,
          },
  };
}

function coarseProcess(real: Plant, stepMs: number, oneStep: Wait): Plant['process'] {
  const { process } = real;
  const { warm } = temperaturesOf(real);
  const { temperature, refill, batch } = process;
  return {
    ...process,
    temperature:
      temperature === null
        ? null
        : {
            targetC: warm,
            toleranceK: 0.5,
            leastC: warm - (25 - WARM.tooCold),
            mostC: warm + WARM.most,
            systemMayMoveK: 0.1,
          },
    refill:
      refill === null
        ? null
        : { startBelowL: START_BELOW, stopAtL: FULL - LEVEL_UNCERTAINTY, longestRunMs: ticks(16) },
    // Each by name: a time that came over as it is would be a hundred ticks long.
    batch: {
      contentsL: FULL,
      leastL: 2,
      dissolveMs: stepMs,
      // Each ends at the next tick; short, because the core's patience with an unsteady probe is six times their sum.
      settleMs: TICK_MS / 8,
      steadyWithin: batch.steadyWithin,
      steadyOverMs: TICK_MS / 8,
      trims: Math.min(batch.trims, 2),
      ageLimitMs: ticks(SERVES_TICKS),
      circulateEveryMs: ticks(3),
      circulateForMs: ticks(2),
      measurementServesMs: ticks(SERVES_TICKS),
    },
    exchange: mapped(process.exchange, (aims) => ({
      ...aims,
      perDayShare: aims.perDayShare > 0 ? (DUE_PER_TICK * 1440) / FULL : 0,
      stepL: 1,
      largestL: 2,
      errorBoundL: 1.5,
      settleMs: oneStep(aims.settleMs),
    })),
    quietHours: null,
  };
}
