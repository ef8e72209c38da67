// Sensors and actuators of the plant: where each is found on the wire, what its words mean, how long it may be believed.
import type { StationValues } from './file/station.ts';
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
import { readStation } from './quantities.ts';
import { shapeOf, tableOf } from './shape.ts';

type SensorValues = StationValues['sensors'][string];
type ActuatorValues = StationValues['actuators'][string];
type FileSensor<M extends SensorValues['measures']> = Extract<SensorValues, { measures: M }>;

export function sensorsOf(station: StationValues): Record<string, Sensor> {
  return Object.fromEntries(
    Object.entries(station.sensors).map(([id, sensor]) => [id, sensorOf(id, sensor, station)]),
  );
}

function sensorOf(id: string, sensor: SensorValues, station: StationValues): Sensor {
  switch (sensor.measures) {
    case 'float':
      return floatOf(id, sensor);
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
      return flowOf(id, sensor);
    case 'total':
      return totalOf(id, sensor);
    case 'temperature':
      return {
        measures: 'temperature',
        ...numberOf(id, sensor),
        vessel: sensor.vessel,
        uncertaintyK: sensor.uncertainty,
      };
    case 'conductivity':
      return conductivityOf(id, sensor);
  }
}

/** How long one message counts, and how often the next is due without a change. */
const habitsOf = ({ maxAge, republishes, availability }: SensorValues | Heard) => ({
  maxAgeMs: maxAge,
  republishesMs: republishes,
  availability: availability === null ? null : availabilityOf(availability),
});
type Heard = NonNullable<ActuatorValues['feedback']>;

function availabilityOf(file: NonNullable<Heard['availability']>): Availability {
  return {
    topic: file.topic,
    at: file.at,
    online: String(file.online),
    offline: String(file.offline),
  };
}

function baseOf(id: string, sensor: SensorValues) {
  return {
    id,
    name: sensor.name ?? id,
    tag: sensor.tag,
    topic: sensor.topic,
    at: sensor.at,
    ...habitsOf(sensor),
    failureDomain: sensor.failureDomain,
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
    bit: sensor.bit,
    yes: String(yes),
    no: String(no),
    believeStartMs: sensor.believe.start,
    believeStopMs: sensor.believe.stop,
  };
}

function numberOf(id: string, sensor: FileSensor<'level' | 'flow' | 'temperature' | 'conductivity'>) {
  return {
    ...baseOf(id, sensor),
    scale: sensor.scale,
    offset: sensor.offset,
    range: sensor.range,
    sentinels: sensor.sentinels ?? [],
    unit: sensor.unit,
  };
}

function floatOf(id: string, sensor: FileSensor<'float'>): FloatSensor {
  return {
    measures: 'float',
    ...contactOf(id, sensor, sensor.wet, sensor.dry),
    vessel: sensor.vessel,
    position: sensor.position,
    markL: sensor.mark,
    toleranceL: sensor.tolerance,
    normallyClosed: sensor.normallyClosed,
  };
}

function levelOf(id: string, sensor: FileSensor<'level'>, station: StationValues): LevelSensor {
  const isLength = sensor.unit !== 'L' && sensor.unit !== 'gal' && sensor.unit !== '%';
  const shape = station.vessels[sensor.vessel]?.shape ?? null;
  const fromShape = shape === null ? null : tableOf(shapeOf(shape));
  return {
    measures: 'level',
    ...numberOf(id, sensor),
    vessel: sensor.vessel,
    table: isLength ? (sensor.table ?? fromShape) : null,
    uncertaintyL: sensor.uncertainty,
  };
}

function flowOf(id: string, sensor: FileSensor<'flow'>): FlowSensor {
  return {
    measures: 'flow',
    ...numberOf(id, sensor),
    route: sensor.route,
    uncertainty: sensor.uncertainty,
    zeroLpm: sensor.zero,
  };
}

/**
 * The coarsest step that a counter in this unit is known to make: whole litres and gallons; hundredths of a cubic metre; and
 * ten pulses a litre where somebody counts in millilitres.
 */
const COARSEST_COUNT_L = { L: 1, gal: 3.785411784, m3: 10, mL: 0.1, pulses: 1 } as const;

function totalOf(id: string, sensor: FileSensor<'total'>): TotalSensor {
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
    uncertainty: sensor.uncertainty,
    inPulses,
    countL: inPulses ? scale : COARSEST_COUNT_L[sensor.unit],
    lostAtStartL: sensor.lostAtStart,
    wrapsAtL: sensor.wrapsAt === null ? null : readStation(`${sensor.wrapsAt * scale} ${unit}`, 'volume'),
  };
}

function conductivityOf(id: string, sensor: FileSensor<'conductivity'>): ConductivitySensor {
  const { validAfter } = sensor;
  return {
    measures: 'conductivity',
    ...numberOf(id, sensor),
    vessel: sensor.vessel,
    compensatedToC: sensor.compensatedTo,
    temperatureFrom: sensor.temperatureFrom,
    validAfter: validAfter === null ? null : { route: validAfter.route, runsForMs: validAfter.runsFor },
    validForMs: sensor.validFor,
  };
}

export function actuatorOf(id: string, file: ActuatorValues): Actuator {
  return {
    id,
    name: file.name ?? id,
    tag: file.tag,
    kind: file.kind,
    command: file.command,
    leaseMs: file.lease.lasts,
    countsLease: file.lease.countedBy === 'device',
    feedback: file.feedback === null ? null : feedbackOf(file.feedback),
    offProvenBy: file.offProvenBy,
    upstream: file.upstream,
    failureDomain: file.failureDomain,
  };
}

function feedbackOf(file: Heard): Feedback {
  return {
    topic: file.topic,
    at: file.at,
    bit: file.bit,
    on: String(file.on),
    off: String(file.off),
    withinMs: file.within,
    ...habitsOf(file),
  };
}
