// Sensors and actuators of the plant: where each is found on the wire, what its words mean, how long it may be believed.
import type {
  Actuator,
  Availability,
  ConductivitySensor,
  Feedback,
  FloatSensor,
  FlowSensor,
  LevelSensor,
  Sensor,
  TotalSensor,
} from './plant.ts';
import { readOr, readStation } from './quantities.ts';
import { shapeOf, tableOf } from './shape.ts';
import type { Actuator as ActuatorFile, Sensor as SensorFile, StationFile } from './station.generated.ts';

const DAY_MS = 86_400_000;
const MS_PER_MIN = 60_000;

type FileSensor<M extends SensorFile['measures']> = Extract<SensorFile, { measures: M }>;

export function sensorsOf(station: StationFile): Record<string, Sensor> {
  return Object.fromEntries(
    Object.entries(station.sensors).map(([id, sensor]) => [id, sensorOf(id, sensor, station)]),
  );
}

function sensorOf(id: string, sensor: SensorFile, station: StationFile): Sensor {
  switch (sensor.measures) {
    case 'float':
      return floatOf(id, sensor, station);
    case 'leak':
      return { measures: 'leak', ...contactOf(id, sensor, sensor.wet, sensor.dry), tray: sensor.tray };
    case 'top-off':
      return {
        measures: 'top-off',
        ...contactOf(id, sensor, sensor.running, sensor.resting),
        vessel: sensor.vessel,
      };
    case 'level':
      return levelOf(id, sensor, station);
    case 'flow':
      return flowOf(id, sensor, station);
    case 'total':
      return totalOf(id, sensor, station);
    case 'temperature':
      return {
        measures: 'temperature',
        ...numberOf(id, sensor),
        vessel: sensor.vessel,
        uncertaintyK: readOr(sensor.uncertainty, 'temperature-difference', 0.3),
      };
    case 'conductivity':
      return conductivityOf(id, sensor);
  }
}

interface Habits {
  readonly maxAge?: string;
  readonly republishes?: string;
  readonly availability?: { topic: string; at?: string; online: unknown; offline: unknown };
}

/** How long one message counts, and how often the next is due without a change. */
function habitsOf({ maxAge, republishes, availability }: Habits) {
  const republishesMs = republishes === undefined ? null : readStation(republishes, 'duration-with-unit');
  const otherwise = availability === undefined ? MS_PER_MIN : DAY_MS;
  return {
    maxAgeMs: readOr(maxAge, 'duration-with-unit', republishesMs === null ? otherwise : 3 * republishesMs),
    republishesMs,
    availability: availability === undefined ? null : availabilityOf(availability),
  };
}

function availabilityOf(file: NonNullable<Habits['availability']>): Availability {
  return {
    topic: file.topic,
    at: file.at ?? null,
    online: String(file.online),
    offline: String(file.offline),
  };
}

function baseOf(id: string, sensor: SensorFile) {
  return {
    id,
    name: sensor.name ?? id,
    tag: sensor.tag ?? null,
    topic: sensor.topic,
    at: sensor.at ?? null,
    ...habitsOf(sensor),
    failureDomain: sensor.failureDomain ?? null,
  };
}

function contactOf(
  id: string,
  sensor: FileSensor<'float' | 'leak' | 'top-off'>,
  yes: string | number | boolean,
  no: string | number | boolean,
) {
  return {
    ...baseOf(id, sensor),
    bit: sensor.bit ?? null,
    yes: String(yes),
    no: String(no),
    believeStartMs: readOr(sensor.believe?.start, 'duration-with-unit', 3000),
    believeStopMs: readOr(sensor.believe?.stop, 'duration-with-unit', 0),
  };
}

function numberOf(id: string, sensor: FileSensor<'level' | 'flow' | 'temperature' | 'conductivity'>) {
  return {
    ...baseOf(id, sensor),
    scale: sensor.scale ?? 1,
    offset: sensor.offset ?? 0,
    range: sensor.range ?? null,
    sentinels: sensor.sentinels ?? [],
    unit: sensor.unit,
  };
}

function floatOf(id: string, sensor: FileSensor<'float'>, station: StationFile): FloatSensor {
  const capacityL = readOr(station.vessels[sensor.vessel]?.capacity, 'volume', 0);
  return {
    measures: 'float',
    ...contactOf(id, sensor, sensor.wet, sensor.dry),
    vessel: sensor.vessel,
    position: sensor.position,
    markL: readStation(sensor.mark, 'volume'),
    toleranceL: readOr(sensor.tolerance, 'volume', 0.01 * capacityL),
    normallyClosed: sensor.normallyClosed ?? null,
  };
}

function levelOf(id: string, sensor: FileSensor<'level'>, station: StationFile): LevelSensor {
  const isLength = sensor.unit !== 'L' && sensor.unit !== 'gal' && sensor.unit !== '%';
  const shape = station.vessels[sensor.vessel]?.shape;
  const fromShape = shape === undefined ? null : tableOf(shapeOf(shape));
  const fromTable = sensor.table?.map(
    ([level, contents]) => [readStation(level, 'length'), readStation(contents, 'volume')] as const,
  );
  return {
    measures: 'level',
    ...numberOf(id, sensor),
    vessel: sensor.vessel,
    table: isLength ? (fromTable ?? fromShape) : null,
    uncertaintyL: readStation(sensor.uncertainty, 'volume'),
  };
}

function flowOf(id: string, sensor: FileSensor<'flow'>, station: StationFile): FlowSensor {
  return {
    measures: 'flow',
    ...numberOf(id, sensor),
    route: sensor.route,
    uncertainty: readOr(sensor.uncertainty, 'ratio', 0.05),
    zeroLpm: readOr(sensor.zero, 'flow', readOr(station.routes[sensor.route]?.flow.least, 'flow', 0) / 10),
  };
}

/**
 * The coarsest step that a counter in this unit is known to make: whole litres and gallons; hundredths of a cubic metre; and
 * ten pulses a litre where somebody counts in millilitres.
 */
const COARSEST_COUNT_L = { L: 1, gal: 3.785411784, m3: 10, mL: 0.1, pulses: 1 } as const;

function totalOf(id: string, sensor: FileSensor<'total'>, station: StationFile): TotalSensor {
  const mostLpm = readOr(station.routes[sensor.route]?.flow.most, 'flow', 0);
  // A count of pulses is litres with a scale; nobody behind the wire needs to know that there were pulses.
  const inPulses = sensor.unit === 'pulses';
  const scale = inPulses ? 1 / (sensor.pulsesPerLitre ?? 1) : 1;
  const unit = sensor.unit === 'pulses' ? 'L' : sensor.unit;
  return {
    measures: 'total',
    ...baseOf(id, sensor),
    scale,
    offset: 0,
    range: null,
    sentinels: sensor.sentinels ?? [],
    unit,
    route: sensor.route,
    uncertainty: readOr(sensor.uncertainty, 'ratio', 0.05),
    inPulses,
    countL: inPulses ? scale : COARSEST_COUNT_L[sensor.unit],
    lostAtStartL: readOr(sensor.lostAtStart, 'volume', mostLpm / 60),
    wrapsAtL:
      sensor.wrapsAt === undefined ? null : readStation(`${sensor.wrapsAt * scale} ${unit}`, 'volume'),
  };
}

function conductivityOf(id: string, sensor: FileSensor<'conductivity'>): ConductivitySensor {
  const { validAfter } = sensor;
  return {
    measures: 'conductivity',
    ...numberOf(id, sensor),
    vessel: sensor.vessel,
    compensatedToC:
      sensor.compensatedTo === undefined ? null : readStation(sensor.compensatedTo, 'temperature'),
    temperatureFrom: sensor.temperatureFrom ?? null,
    validAfter:
      validAfter === undefined
        ? null
        : { route: validAfter.route, runsForMs: readStation(validAfter.runsFor, 'duration-with-unit') },
    validForMs: readOr(sensor.validFor, 'duration-with-unit', DAY_MS / 2),
  };
}

export function actuatorOf(id: string, file: ActuatorFile): Actuator {
  const countsLease = file.lease.countedBy === 'device';
  const feedback = file.feedback === undefined ? null : feedbackOf(file.feedback);
  const otherwise = countsLease ? 'lease' : 'assumption';
  return {
    id,
    name: file.name ?? id,
    tag: file.tag ?? null,
    kind: file.kind,
    command: file.command,
    leaseMs: readStation(file.lease.lasts, 'duration-with-unit'),
    countsLease,
    feedback,
    offProvenBy: file.offProvenBy ?? (feedback === null ? otherwise : 'feedback'),
    upstream: file.upstream ?? null,
    failureDomain: file.failureDomain ?? null,
  };
}

function feedbackOf(file: NonNullable<ActuatorFile['feedback']>): Feedback {
  return {
    topic: file.topic,
    at: file.at ?? null,
    bit: file.bit ?? null,
    on: String(file.on),
    off: String(file.off),
    withinMs: readOr(file.within, 'duration-with-unit', 3000),
    ...habitsOf(file),
  };
}
