// Sensors and actuators of the plant: where each is found on the wire, what its words mean, how long it may be believed.
import { called, stopOf } from './called.ts';
import { SENSOR_KINDS } from './file/sensor-kinds.ts';
import type { StationValues } from './file/station.ts';
import type { Actuator, Availability, Feedback, Sensor } from './plant.ts';
import { wordsIn } from './words.ts';

type SensorValues = StationValues['sensors'][string];
type ActuatorValues = StationValues['actuators'][string];

export function sensorsOf(station: StationValues): Record<string, Sensor> {
  return Object.fromEntries(
    Object.entries(station.sensors).map(([id, sensor]) => [id, sensorOf(id, sensor, station)]),
  );
}

function sensorOf(id: string, sensor: SensorValues, station: StationValues): Sensor {
  const { inPlant } = SENSOR_KINDS[sensor.measures];
  return {
    measures: sensor.measures,
    ...baseOf(id, sensor),
    ...('believe' in sensor ? contactOf(sensor) : 'offset' in sensor ? numberOf(sensor) : {}),
    ...inPlant(sensor as never, station),
  } as Sensor;
}

/** How long one message counts, and how often the next is due without a change. */
const habitsOf = ({
  maxAge,
  republishes,
  ask,
  availability,
  stamp,
  mayLack,
  faultAt,
}: SensorValues | Heard) => ({
  maxAgeMs: maxAge,
  republishesMs: republishes ?? ask?.every ?? null,
  ask: ask === null ? null : { topic: ask.topic, payload: ask.payload, everyMs: ask.every },
  availability: (availability ?? []).map(availabilityOf),
  stamp,
  mayLack,
  faultAt,
});
type Heard = NonNullable<ActuatorValues['feedback']>;

const availabilityOf = (file: NonNullable<Heard['availability']>[number]): Availability => ({
  ...file,
  online: wordsIn(file.online),
  offline: wordsIn(file.offline),
});

function baseOf(id: string, sensor: SensorValues) {
  return {
    id,
    ...called(sensor.name, id),
    tag: sensor.tag,
    topic: sensor.topic,
    at: sensor.at,
    ...habitsOf(sensor),
    failureDomain: sensor.failureDomain,
  };
}

const contactOf = ({ bit, believe }: Extract<SensorValues, { believe: object }>) => ({
  bit,
  believeStartMs: believe.start,
  believeStopMs: believe.stop,
});

const numberOf = (sensor: Extract<SensorValues, { offset: number }>) => ({
  scale: sensor.scale,
  offset: sensor.offset,
  range: sensor.range,
  sentinels: sensor.sentinels ?? [],
  unit: sensor.unit,
});

export function actuatorOf(id: string, file: ActuatorValues): Actuator {
  return {
    id,
    ...called(file.name, id),
    stop: stopOf(file.stop),
    tag: file.tag,
    kind: file.kind,
    command: { ...file.command, harmless: file.command.harmless ?? [] },
    leaseMs: file.lease.lasts,
    longestMs: (file.lease.restartsInFull ? 2 : 1) * file.lease.lasts,
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
    on: wordsIn(file.on),
    off: wordsIn(file.off),
    withinMs: file.within,
    ...habitsOf(file),
  };
}
