// What was understood from a station file, as text: whoever wrote it should see their own plumbing, or see at once where
// it differs.
import { KINDS } from './kinds.ts';
import type { Actuator, Plant, Route, Sensor, Vessel } from './plant.ts';
import { printedWords } from './words.ts';

export interface PictureSection {
  readonly title: string;
  readonly lines: readonly string[];
}

export function pictureOf(plant: Plant): readonly PictureSection[] {
  const sections: PictureSection[] = [
    { title: 'Vessels', lines: columns(Object.values(plant.vessels).map((v) => vesselRow(plant, v))) },
    { title: 'Routes', lines: columns(Object.values(plant.routes).map((r) => routeRow(r))) },
    { title: 'Heaters', lines: columns(Object.values(plant.heaters).map((h) => heaterRow(h))) },
    { title: 'Dosers', lines: columns(Object.values(plant.dosers).map((d) => doserRow(d))) },
    { title: 'Sensors', lines: columns(Object.values(plant.sensors).map((s) => sensorRow(s))) },
    { title: 'Actuators', lines: columns(Object.values(plant.actuators).map((a) => actuatorRow(plant, a))) },
    { title: 'Process', lines: columns(processRows(plant)) },
  ];
  return sections.filter(({ lines }) => lines.length > 0);
}

const NUMBERS = Object.entries(KINDS).flatMap(([kind, { about }]) => (about === null ? [] : [kind]));

function vesselRow(plant: Plant, vessel: Vessel): string[] {
  const marks = (['low', 'high', 'overflow'] as const).flatMap((position) => {
    const sensor = plant.sensors[vessel.floats[position] ?? ''];
    return sensor?.measures === 'float' ? [`${position} ${number(sensor.markL)} L`] : [];
  });
  const here = Object.values(plant.sensors).filter((s) => 'vessel' in s && s.vessel === vessel.id);
  const probes = NUMBERS.filter((kind) => here.some(({ measures }) => measures === kind));
  const size = Number.isFinite(vessel.capacityL)
    ? `${number(vessel.capacityL)} L, usable ${number(vessel.minimumL)}..${number(vessel.capacityL - vessel.marginL)} L`
    : 'without limit';
  return [
    vessel.id,
    vessel.role,
    size,
    vessel.volumeL > 0 ? `normally ${number(vessel.volumeL)} L` : '',
    marks.length > 0 ? `floats: ${marks.join(', ')}` : '',
    probes.join(', '),
  ];
}

function routeRow(route: Route): string[] {
  const through = [...route.through, ...(route.meter === null ? [] : [route.meter])].join(', ');
  const apart = route.excludes.length > 0 ? `never with ${route.excludes.join(', ')}` : '';
  return [
    route.id,
    `${route.from} --(${through})--> ${route.to}`,
    `${number(route.flowLeastLpm)}..${number(route.flowMostLpm)} L/min`,
    route.purpose,
    route.upstream.length > 0 ? `cut off by ${route.upstream.join(', ')}` : 'nothing upstream',
    apart,
  ];
}

function heaterRow(heater: Plant['heaters'][string]): string[] {
  return [
    heater.id,
    `${number(heater.powerW)} W in ${heater.vessel}, switched by ${heater.actuator}`,
    `covered from ${number(heater.coveredL)} L`,
    `trips at ${number(heater.limitC)} degC`,
    heater.cutOutC === null ? 'no cut-out' : `cut-out at ${number(heater.cutOutC)} degC`,
  ];
}

function doserRow(doser: Plant['dosers'][string]): string[] {
  return [
    doser.id,
    `${number(doser.rateKgPerMin)} kg/min into ${doser.vessel}, switched by ${doser.actuator}`,
    `at most ${number(doser.largestKg)} kg`,
  ];
}

function sensorRow(sensor: Sensor): string[] {
  const habit = sensor.republishesMs === null ? 'on change only' : `every ${duration(sensor.republishesMs)}`;
  return [
    sensor.id,
    sensorWords(sensor),
    `${sensor.topic}${sensor.at === null ? '' : ` at ${sensor.at}`}`,
    'yes' in sensor ? `${printedWords(sensor.yes)} / ${printedWords(sensor.no)}` : sensor.unit,
    `${habit}, counts for ${duration(sensor.maxAgeMs)}`,
  ];
}

function sensorWords(sensor: Sensor): string {
  switch (sensor.measures) {
    case 'float':
      return `${sensor.position} float of ${sensor.vessel}`;
    case 'leak':
      return `leak in ${typeof sensor.tray === 'string' ? sensor.tray : sensor.tray.en}`;
    case 'flow':
      return `flow of ${sensor.route}`;
    case 'total':
      return `litres of ${sensor.route}`;
    default:
      return `${sensor.measures} of ${sensor.vessel}`;
  }
}

function actuatorRow(plant: Plant, actuator: Actuator): string[] {
  const counted = actuator.countsLease ? 'counted by the device' : 'counted by NOBODY';
  const proof = {
    feedback: 'feedback',
    lease: 'the end of its lease',
    'no-flow': 'no flow',
    assumption: 'an ASSUMPTION',
  }[actuator.offProvenBy];
  return [
    actuator.id,
    actuator.kind,
    `lease ${duration(actuator.leaseMs)}, ${counted}${actuator.longestMs > actuator.leaseMs ? ', anew after a restart' : ''}`,
    `off proven by ${proof}`,
    actuator.upstream === null ? '' : `cut off by ${actuator.upstream}`,
    actuator.id === plant.alive ? 'held on while the service is healthy' : '',
  ];
}

function processRows({ process, policy }: Plant): string[][] {
  const { salinity, temperature, refill, batch, quietHours } = process;
  const by = { itself: 'by itself', person: 'when a person asks' };
  return [
    ['salinity', `${salinity.target} +- ${salinity.tolerance}`],
    ...(temperature === null
      ? []
      : [['temperature', `${number(temperature.targetC)} degC +- ${number(temperature.toleranceK)} K`]]),
    ...(refill === null
      ? []
      : [
          [
            'refill',
            `below ${number(refill.startBelowL)} L up to ${number(refill.stopAtL)} L, ${by[policy.starts.refill]}`,
          ],
        ]),
    ['batch', `${number(batch.contentsL)} L, ${by[policy.starts.batch]}`],
    ...Object.entries(process.exchange).map(([system, { perDayShare, stepL }]) => [
      'exchange',
      `${system}: ${number(perDayShare * 100)} % a day in steps of ${number(stepL)} L, ${by[policy.starts.exchange]}`,
    ]),
    ['reserve', `${number(process.reserveShare * 100)} % of the systems' volume`],
    ...(quietHours === null
      ? []
      : [
          [
            'quiet hours',
            `${clock(quietHours.fromMinute)} to ${clock(quietHours.toMinute)}: no ${quietHours.rest.join(', ')}`,
          ],
        ]),
  ];
}

/** Pads cells so that they stand below each other; the last cell of a row ends it. */
function columns(rows: readonly (readonly string[])[]): string[] {
  const count = Math.max(0, ...rows.map((row) => row.length));
  const widths = Array.from({ length: count }, (_, index) =>
    Math.max(...rows.map((row) => (row[index] ?? '').length)),
  );
  return rows.map((row) =>
    row
      .map((cell, index) => cell.padEnd((widths[index] ?? 0) > 0 ? (widths[index] ?? 0) + 2 : 0))
      .join('')
      .trimEnd(),
  );
}

function number(value: number): string {
  return String(Number(value.toPrecision(4)));
}

function clock(minute: number): string {
  const two = (part: number) => String(part).padStart(2, '0');
  return `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;
}

const UNITS = [
  ['d', 86_400_000],
  ['h', 3_600_000],
  ['min', 60_000],
  ['s', 1000],
] as const;

function duration(ms: number): string {
  // 90 s stays 90 s: what the file says should be found again.
  const [unit, size] = UNITS.find(([, one]) => ms >= 2 * one && ms % one === 0) ?? ['s', 1000];
  return `${number(ms / size)} ${unit}`;
}
