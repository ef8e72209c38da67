// From the owner's file to the plant: what `file/station.ts` reads from it, under the names that say the house unit, and
// what follows from the plumbing worked out once.
//
// It trusts the file to have passed the loader: a reference to nothing ends in an exception, not in a sentence.
import { called, stopOf } from './called.ts';
import { actuatorOf, sensorsOf } from './compile-devices.ts';
import { exercisesOf } from './compile-exercises.ts';
import { processOf } from './compile-process.ts';
import { SENSOR_KINDS } from './file/sensor-kinds.ts';
import { readStationFile, type StationFile, type StationValues } from './file/station.ts';
import { isBounded, rolesIn } from './file/waterways.ts';
import type { Actuator, FloatPosition, Plant, Probes, Route, Sensor, Vessel } from './plant.ts';
import { purposeOf } from './purpose.ts';
import { shapeOf } from './shape.ts';

type RouteValues = StationValues['routes'][string];

export function plantOf(file: StationFile): Plant {
  const station = readStationFile(file).values;
  const actuators = mapped(station.actuators, actuatorOf);
  const sensors = sensorsOf(station);
  const { freshId, mixingId, systemIds } = rolesIn(station.vessels);
  if (mixingId === '') throw new Error('a plant without a mixing vat: the loader should have refused it');
  const vessels = mapped(station.vessels, (id) => vesselOf(id, station, sensors));
  const routes = mapped(station.routes, (id, route) => routeOf(id, route, station, { actuators, sensors }));
  const { policy, link } = station;
  return {
    id: station.id,
    ...called(station.name, station.id),
    vessels,
    routes,
    heaters: mapped(station.heaters ?? {}, (id, heater) => ({
      id,
      ...called(heater.name, id),
      vessel: heater.in,
      actuator: heater.switch,
      powerW: heater.power,
      coveredL: heater.covered,
      limitC: heater.limit,
      cutOutC: heater.cutOut,
      lagMs: heater.lag,
      lossWPerK: heater.losses,
    })),
    dosers: mapped(station.dosers ?? {}, (id, doser) => ({
      id,
      vessel: doser.in,
      actuator: doser.switch,
      rateKgPerMin: doser.rate,
      largestKg: doser.largest,
    })),
    sensors,
    actuators,
    exercises: exercisesOf(station, { actuators, routes, vessels }),
    alive: station.alive,
    mains: station.mains,
    freshId,
    mixingId,
    systemIds,
    process: processOf(station.process),
    policy: {
      starts: policy.starts,
      restarts: {
        afterLinkLoss: policy.restarts.afterLinkLoss,
        afterPowerCut: policy.restarts.afterPowerCut,
        evidenceStandsForMs: policy.restarts.evidenceStandsFor,
        perDay: policy.restarts.perDay,
      },
      proofTests: { everyMs: policy.proofTests.every, graceMs: policy.proofTests.grace },
    },
    link: { provenWithinMs: link.provenWithin, tickWithinMs: link.tickWithin },
  };
}

interface RouteContext {
  readonly actuators: Readonly<Record<string, Actuator>>;
  readonly sensors: Readonly<Record<string, Sensor>>;
}

function routeOf(
  id: string,
  route: RouteValues,
  station: StationValues,
  { actuators, sensors }: RouteContext,
): Route {
  const { freshId, roleOf } = rolesIn(station.vessels);
  const ends = { from: roleOf(route.from), to: roleOf(route.to) };
  const meter = Object.values(sensors).find(
    (sensor) => (sensor.measures === 'flow' || sensor.measures === 'total') && sensor.route === id,
  );
  return {
    id,
    ...called(route.name, id),
    stop: stopOf(route.stop),
    from: route.from,
    to: route.to,
    purpose: purposeOf({ ...ends, loop: route.from === route.to, hasFresh: freshId !== null }),
    loop: route.from === route.to,
    pumped: route.through.some((actuator) => actuators[actuator]?.kind === 'pump'),
    siphons: siphonsOf(route, station, actuators),
    through: route.through,
    shut: route.shut ?? [],
    upstream: upstreamOf(route.through, actuators),
    excludes: Object.keys(station.routes).filter(
      (other) => other !== id && excludeEachOther(station, roleOf, id, other),
    ),
    flowLeastLpm: route.flow.least,
    flowMostLpm: route.flow.most,
    flowUsualLpm: route.flow.usual,
    primingMs: route.priming,
    runDownMs: route.runDown,
    minimumRunMs: route.minimumRun,
    minimumRestMs: route.minimumRest,
    startsPerHour: route.startsPerHour,
    leaseMs: Math.max(...route.through.map((actuator) => actuators[actuator]?.longestMs ?? 0)),
    meter: meter?.id ?? null,
  };
}

/** A pump at rest is an open pipe: only a break, a valve or the heights stop the water. */
function siphonsOf(
  route: RouteValues,
  { vessels }: StationValues,
  actuators: Readonly<Record<string, Actuator>>,
): Route['siphons'] {
  const kinds = route.through.map((id) => actuators[id]?.kind);
  if (route.from === route.to || !kinds.includes('pump') || route.siphonBreak) return 'never';
  const levels = vessels[route.from]?.levels ?? null;
  if (levels === null || route.outlet === null) return 'may';
  if (kinds.includes('valve')) return 'never';
  return levels.most > Math.max(route.outlet, vessels[route.to]?.levels?.least ?? route.outlet)
    ? 'by itself'
    : 'never';
}

/** Every actuator that cuts one of these off, nearest first, without those that are in the route themselves. */
function upstreamOf(through: readonly string[], actuators: Readonly<Record<string, Actuator>>): string[] {
  const found: string[] = [];
  let nearest: readonly string[] = through;
  // Each round climbs one step; a chain is never longer than there are actuators.
  for (let climbed = 0; nearest.length > 0 && climbed <= Object.keys(actuators).length; climbed += 1) {
    nearest = nearest.flatMap((id) => actuators[id]?.upstream ?? []);
    for (const id of nearest) if (!found.includes(id) && !through.includes(id)) found.push(id);
  }
  return found;
}

/** Whether two routes must not run together; the same either way round. */
function excludeEachOther(
  station: StationValues,
  roleOf: (id: string) => string,
  one: string,
  other: string,
): boolean {
  const a = station.routes[one];
  const b = station.routes[other];
  if (a === undefined || b === undefined) return false;
  // A master valve that both routes list above a valve of their own lets both through. A pump never does: two routes
  // that share one would share its flow, and neither meter nor bound would be true any more.
  const isMaster = (id: string) =>
    station.actuators[id]?.kind !== 'pump' &&
    [a, b].every(({ through }) => through.some((below) => station.actuators[below]?.upstream === id));
  const shares = a.through.some((actuator) => b.through.includes(actuator) && !isMaster(actuator));
  // What comes into a vat would go on to the system with what is being delivered from it.
  const joins = (x: RouteValues, y: RouteValues) =>
    x.from !== x.to && x.to === y.from && roleOf(x.to) !== 'system' && roleOf(y.to) === 'system';
  const contradicts = (x: RouteValues, y: RouteValues) => (x.shut ?? []).some((id) => y.through.includes(id));
  return (
    shares ||
    contradicts(a, b) ||
    contradicts(b, a) ||
    joins(a, b) ||
    joins(b, a) ||
    (a.notWith ?? []).includes(other) ||
    (b.notWith ?? []).includes(one)
  );
}

function vesselOf(id: string, station: StationValues, sensors: Readonly<Record<string, Sensor>>): Vessel {
  const vessel = station.vessels[id] as StationValues['vessels'][string];
  const here = Object.values(sensors).filter((sensor) => 'vessel' in sensor && sensor.vessel === id);
  const floats: Partial<Record<FloatPosition, string>> = {};
  for (const sensor of here) if (sensor.measures === 'float') floats[sensor.position] = sensor.id;
  const routes = Object.entries(station.routes).filter(([, route]) => route.from !== route.to);
  const { handDrawn, initial } = vessel;
  return {
    id,
    ...called(vessel.name, id),
    role: vessel.role,
    capacityL: isBounded(vessel) ? (vessel.capacity ?? 0) : Number.POSITIVE_INFINITY,
    marginL: isBounded(vessel) ? vessel.margin : 0,
    minimumL: isBounded(vessel) ? vessel.minimum : 0,
    volumeL: vessel.volume ?? 0,
    shape: vessel.shape === null ? null : shapeOf(vessel.shape),
    handDrawn: handDrawn === null ? null : { flowLpm: handDrawn.flow, perDayL: handDrawn.perDay },
    purityLimitMsPerCm: vessel.purityLimit,
    stop: { inflow: stopOf(vessel.stop.inflow), outflow: stopOf(vessel.stop.outflow) },
    floats,
    ...probesOf(here),
    into: routes.filter(([, route]) => route.to === id).map(([route]) => route),
    outOf: routes.filter(([, route]) => route.from === id).map(([route]) => route),
    initial: {
      contentsL: initial.contents,
      salinity: initial.salinity,
      temperatureC: initial.temperature,
    },
  };
}

function probesOf(here: readonly Sensor[]): Probes {
  const kinds = Object.entries(SENSOR_KINDS).filter(
    ([kind, { members }]) => 'vessel' in members && kind !== 'float',
  );
  return Object.fromEntries(
    kinds.map(([kind]) => [
      kind.replaceAll(/-([a-z])/gu, (_, letter: string) => letter.toUpperCase()),
      here.find(({ measures }) => measures === kind)?.id ?? null,
    ]),
  ) as unknown as Probes;
}

function mapped<T, U>(
  record: Readonly<Record<string, T>>,
  make: (id: string, value: T) => U,
): Record<string, U> {
  return Object.fromEntries(Object.entries(record).map(([id, value]) => [id, make(id, value)]));
}
