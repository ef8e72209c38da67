// From the owner's file to the plant: every quantity in its house unit, every default filled in, and what follows from
// the plumbing worked out once. The defaults are those that the schema states beside each property.
//
// It trusts the file to have passed the loader: a reference to nothing ends in an exception, not in a sentence.
import { actuatorOf, sensorsOf } from './compile-devices.ts';
import { exercisesOf } from './compile-exercises.ts';
import { processOf } from './compile-process.ts';
import type { Actuator, FloatPosition, Plant, Route, Sensor, Vessel } from './plant.ts';
import { purposeOf } from './purpose.ts';
import { readOr, readStation } from './quantities.ts';
import { shapeOf } from './shape.ts';
import type { Route as RouteFile, StationFile, Vessel as VesselFile } from './station.generated.ts';

const DAY_MS = 86_400_000;

export function plantOf(station: StationFile): Plant {
  const actuators = mapped(station.actuators, actuatorOf);
  const sensors = sensorsOf(station);
  const routes = mapped(station.routes, (id, route) => routeOf(id, route, station, { actuators, sensors }));
  const vessels = mapped(station.vessels, (id, vessel) => vesselOf(id, vessel, station, sensors));
  const { freshId, mixingId, systemIds } = rolesOf(station);
  return {
    id: station.id,
    name: station.name,
    vessels,
    routes,
    heaters: mapped(station.heaters ?? {}, (id, heater) => ({
      id,
      name: heater.name ?? id,
      vessel: heater.in,
      actuator: heater.switch,
      powerW: readStation(heater.power, 'power'),
      coveredL: readStation(heater.covered, 'volume'),
      limitC: readStation(heater.limit, 'temperature'),
      cutOutC: heater.cutOut === undefined ? null : readStation(heater.cutOut, 'temperature'),
      lagMs: readOr(heater.lag, 'duration-with-unit', 600_000),
      lossWPerK: readOr(heater.losses, 'conductance', 0),
    })),
    dosers: mapped(station.dosers ?? {}, (id, doser) => ({
      id,
      vessel: doser.in,
      actuator: doser.switch,
      rateKgPerMin: readStation(doser.rate, 'mass-flow'),
      largestKg: readStation(doser.largest, 'mass'),
    })),
    sensors,
    actuators,
    exercises: exercisesOf(station, { actuators, routes, vessels }),
    alive: station.alive ?? null,
    freshId,
    mixingId,
    systemIds,
    process: processOf(station, { vessels, routes, freshId }),
    policy: policyOf(station),
    link: {
      provenWithinMs: readOr(station.link?.provenWithin, 'duration-with-unit', 6000),
      tickWithinMs: readOr(station.link?.tickWithin, 'duration-with-unit', 5000),
    },
  };
}

function rolesOf(station: StationFile) {
  const withRole = (role: VesselFile['role']) =>
    Object.keys(station.vessels).filter((id) => station.vessels[id]?.role === role);
  const [mixingId] = withRole('mixing');
  if (mixingId === undefined)
    throw new Error('a plant without a mixing vat: the loader should have refused it');
  return { freshId: withRole('fresh')[0] ?? null, mixingId, systemIds: withRole('system') };
}

interface RouteContext {
  readonly actuators: Readonly<Record<string, Actuator>>;
  readonly sensors: Readonly<Record<string, Sensor>>;
}

function routeOf(
  id: string,
  route: RouteFile,
  station: StationFile,
  { actuators, sensors }: RouteContext,
): Route {
  const flowLeastLpm = readStation(route.flow.least, 'flow');
  const flowMostLpm = readStation(route.flow.most, 'flow');
  const hasFresh = Object.values(station.vessels).some(({ role }) => role === 'fresh');
  const roleOf = (vessel: string) => station.vessels[vessel]?.role ?? 'waste';
  const ends = { from: roleOf(route.from), to: roleOf(route.to) };
  const meter = Object.values(sensors).find(
    (sensor) => (sensor.measures === 'flow' || sensor.measures === 'total') && sensor.route === id,
  );
  return {
    id,
    name: route.name ?? id,
    from: route.from,
    to: route.to,
    purpose: purposeOf({ ...ends, loop: route.from === route.to, hasFresh }),
    loop: route.from === route.to,
    pumped: route.through.some((actuator) => actuators[actuator]?.kind === 'pump'),
    through: route.through,
    shut: route.shut ?? [],
    upstream: upstreamOf(route.through, actuators),
    excludes: Object.keys(station.routes).filter(
      (other) => other !== id && excludeEachOther(station, id, other),
    ),
    flowLeastLpm,
    flowMostLpm,
    flowUsualLpm: readOr(route.flow.usual, 'flow', (flowLeastLpm + flowMostLpm) / 2),
    primingMs: readOr(route.priming, 'duration-with-unit', 5000),
    runDownMs: readOr(route.runDown, 'duration-with-unit', 3000),
    minimumRunMs: readOr(route.minimumRun, 'duration-with-unit', 0),
    minimumRestMs: readOr(route.minimumRest, 'duration-with-unit', 5000),
    startsPerHour: route.startsPerHour ?? 30,
    leaseMs: Math.max(...route.through.map((actuator) => actuators[actuator]?.leaseMs ?? 0)),
    meter: meter?.id ?? null,
  };
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
function excludeEachOther(station: StationFile, one: string, other: string): boolean {
  const a = station.routes[one];
  const b = station.routes[other];
  if (a === undefined || b === undefined) return false;
  // A master valve that both routes list above a valve of their own lets both through. A pump never does: two routes
  // that share one would share its flow, and neither meter nor bound would be true any more.
  const isMaster = (id: string) =>
    station.actuators[id]?.kind !== 'pump' &&
    [a, b].every(({ through }) => through.some((below) => station.actuators[below]?.upstream === id));
  const shares = a.through.some((actuator) => b.through.includes(actuator) && !isMaster(actuator));
  const contradicts = (x: RouteFile, y: RouteFile) => (x.shut ?? []).some((id) => y.through.includes(id));
  return (
    shares ||
    contradicts(a, b) ||
    contradicts(b, a) ||
    (a.notWith ?? []).includes(other) ||
    (b.notWith ?? []).includes(one)
  );
}

function vesselOf(
  id: string,
  vessel: VesselFile,
  station: StationFile,
  sensors: Readonly<Record<string, Sensor>>,
): Vessel {
  const bounded = vessel.role === 'fresh' || vessel.role === 'mixing' || vessel.role === 'system';
  const capacityL = bounded ? readOr(vessel.capacity, 'volume', 0) : Number.POSITIVE_INFINITY;
  const volumeL = readOr(vessel.volume, 'volume', 0);
  const here = Object.values(sensors).filter((sensor) => 'vessel' in sensor && sensor.vessel === id);
  const first = (measures: Sensor['measures']) => here.find((s) => s.measures === measures)?.id ?? null;
  const floats: Partial<Record<FloatPosition, string>> = {};
  for (const sensor of here) if (sensor.measures === 'float') floats[sensor.position] = sensor.id;
  const routes = Object.entries(station.routes).filter(([, route]) => route.from !== route.to);
  const isSystem = vessel.role === 'system';
  const { process } = station;
  return {
    id,
    name: vessel.name ?? id,
    role: vessel.role,
    capacityL,
    marginL: bounded ? readOr(vessel.margin, 'volume', 0.03 * capacityL) : 0,
    minimumL: bounded ? readOr(vessel.minimum, 'volume', 0.05 * capacityL) : 0,
    volumeL,
    shape: vessel.shape === undefined ? null : shapeOf(vessel.shape),
    handDrawn:
      vessel.handDrawn === undefined
        ? null
        : {
            flowLpm: readStation(vessel.handDrawn.flow, 'flow'),
            perDayL: readStation(vessel.handDrawn.perDay, 'volume'),
          },
    purityLimitMsPerCm:
      vessel.purityLimit === undefined ? null : readStation(vessel.purityLimit, 'conductivity'),
    tap: vessel.tap ?? null,
    floats,
    level: first('level'),
    temperature: first('temperature'),
    conductivity: first('conductivity'),
    topOff: first('top-off'),
    into: routes.filter(([, route]) => route.to === id).map(([route]) => route),
    outOf: routes.filter(([, route]) => route.from === id).map(([route]) => route),
    initial: {
      contentsL: readOr(vessel.initial?.contents, 'volume', isSystem ? volumeL : 0),
      salinity: readOr(
        vessel.initial?.salinity,
        'salinity',
        isSystem ? readStation(process.salinity.target, 'salinity') : 0,
      ),
      temperatureC: readOr(
        vessel.initial?.temperature ?? (isSystem ? process.temperature?.target : undefined),
        'temperature',
        18,
      ),
    },
  };
}

function policyOf({ policy }: StationFile): Plant['policy'] {
  const { starts = {}, restarts = {}, proofTests = {} } = policy ?? {};
  return {
    starts: {
      refill: starts.refill ?? 'person',
      batch: starts.batch ?? 'person',
      exchange: starts.exchange ?? 'person',
    },
    restarts: {
      afterLinkLoss: restarts.afterLinkLoss ?? 'person',
      afterPowerCut: restarts.afterPowerCut ?? 'person',
      evidenceStandsForMs: readOr(restarts.evidenceStandsFor, 'duration-with-unit', 30_000),
      perDay: restarts.perDay ?? 4,
    },
    proofTests: {
      everyMs: readOr(proofTests.every, 'duration-with-unit', 90 * DAY_MS),
      graceMs: readOr(proofTests.grace, 'duration-with-unit', 180 * DAY_MS),
    },
  };
}

function mapped<T, U>(
  record: Readonly<Record<string, T>>,
  make: (id: string, value: T) => U,
): Record<string, U> {
  return Object.fromEntries(Object.entries(record).map(([id, value]) => [id, make(id, value)]));
}
