import { expect, it } from 'vitest';
import { homieSettings } from '../../src/station/homie.ts';
import type { Plant, Sensor } from '../../src/station/plant.ts';
import { least, plantFrom, spoilt, textOf } from './stations.ts';

const plant = plantFrom(least());

function sensor<M extends Sensor['measures']>(measures: M): Extract<Sensor, { measures: M }> {
  const found = Object.values(plant.sensors).find((one) => one.measures === measures);
  return found as Extract<Sensor, { measures: M }>;
}

const route = (id: string) => plant.routes[id] as Plant['routes'][string];
const vessel = (id: string) => plant.vessels[id] as Plant['vessels'][string];
const { batch, exchange, temperature } = plant.process;
const batchOfLessSalt = plantFrom(
  spoilt(least(), '/process/salinity', { target: '35 PSU', tolerance: '0.4 PSU' }),
).process.batch;
const exercised = plantFrom(
  spoilt(spoilt(least(), '/actuators/inlet/exercise', {}), '/handValves', { tap: { name: 'the tap' } }),
).exercises;

/** Every property of the schema whose description states a default, and what the compiler makes of its absence. */
const STATED: Readonly<Record<string, () => unknown>> = {
  'Vessel/margin: 3 %': () => expect(vessel('fresh').marginL).toBe(3),
  'Vessel/minimum: 5 %': () => expect(vessel('fresh').minimumL).toBe(5),
  'Initial/contents: 0 L; a system: its volume': () =>
    expect([vessel('fresh').initial.contentsL, vessel('system').initial.contentsL]).toEqual([0, 400]),
  'Initial/salinity: 0 PSU; a system: the target': () =>
    expect([vessel('fresh').initial.salinity, vessel('system').initial.salinity]).toEqual([0, 35]),
  'Initial/temperature: 18 degC; a system: the target': () =>
    expect([vessel('fresh').initial.temperatureC, vessel('system').initial.temperatureC]).toEqual([18, 25]),
  'Route/flow/usual: midway': () => expect(route('transfer').flowUsualLpm).toBe(5),
  'Route/priming: 5 s': () => expect(route('transfer').primingMs).toBe(5000),
  'Route/runDown: 3 s': () => expect(route('transfer').runDownMs).toBe(3000),
  'Route/minimumRun: 0 s': () => expect(route('transfer').minimumRunMs).toBe(0),
  'Route/minimumRest: 5 s': () => expect(route('transfer').minimumRestMs).toBe(5000),
  'Route/startsPerHour: 30': () => expect(route('transfer').startsPerHour).toBe(30),
  'Heater/lag: 10 min': () => expect(plant.heaters.heater?.lagMs).toBe(600_000),
  'Heater/losses: 0 W/K': () => expect(plant.heaters.heater?.lossWPerK).toBe(0),
  'Believe/start: 3 s': () => expect(sensor('float').believeStartMs).toBe(3000),
  'Believe/stop: 0 s': () => expect(sensor('float').believeStopMs).toBe(0),
  'FloatSensor/tolerance: 1 %': () => expect(sensor('float').toleranceL).toBe(1),
  'MaxAge: three times `republishes`; without that, 1 d where the device has an availability topic, else 60 s':
    () =>
      expect([sensor('level').maxAgeMs, sensor('temperature').maxAgeMs, sensor('float').maxAgeMs]).toEqual([
        60_000, 86_400_000, 60_000,
      ]),
  'Scale: 1': () => expect(sensor('level').scale).toBe(1),
  'Offset: 0': () => expect(sensor('level').offset).toBe(0),
  'FlowSensor/uncertainty: 5 %': () => expect(sensor('flow').uncertainty).toBe(0.05),
  "FlowSensor/zero: a tenth of the route's least flow": () =>
    expect(sensor('flow').zeroLpm).toBeCloseTo(0.01, 12),
  'TotalSensor/uncertainty: 5 %': () => expect(sensor('total').uncertainty).toBe(0.05),
  'TotalSensor/lostAtStart: what flows in one second': () => expect(sensor('total').lostAtStartL).toBe(0.05),
  'TemperatureSensor/uncertainty: 0.3 K': () => expect(sensor('temperature').uncertaintyK).toBe(0.3),
  'ConductivitySensor/validFor: 12 h': () => expect(sensor('conductivity').validForMs).toBe(43_200_000),
  'Actuator/feedback/within: 3 s': () =>
    expect(plant.actuators['circulation-pump']?.feedback?.withinMs).toBe(3000),
  'Actuator/offProvenBy: feedback where it has one, else the end of the lease where the device counts it, else an assumption':
    () =>
      expect(
        ['circulation-pump', 'supply-pump', 'drain-pump'].map((id) => plant.actuators[id]?.offProvenBy),
      ).toEqual(['feedback', 'lease', 'assumption']),
  'Actuator/exercise/every: 30 d': () => expect(exercised.inlet?.everyMs).toBe(30 * 86_400_000),
  'Actuator/exercise/for: 5 s': () => expect(exercised.inlet?.opensForMs).toBe(5000),
  'HandValve/every: 90 d': () => expect(exercised.tap?.everyMs).toBe(90 * 86_400_000),
  'Process/temperature/least: 10 K below': () => expect(temperature?.leastC).toBe(15),
  'Process/temperature/most: 4 K above': () => expect(temperature?.mostC).toBe(29),
  'Process/temperature/systemMayMove: 0.3 K': () => expect(temperature?.systemMayMoveK).toBe(0.3),
  'Process/salt/name: "sea salt"': () => expect(plant.process.saltName).toBe('sea salt'),
  'Process/refill/longestRun: one and a half times': () =>
    expect(plant.process.refill?.longestRunMs).toBe(1.5 * 1000 * 60_000),
  'Process/batch/least: half of the contents': () => expect(batch.leastL).toBe(40),
  'Process/batch/steady: half of the tolerance over 5 min': () =>
    expect([batch.steadyWithin, batchOfLessSalt.steadyWithin, batch.steadyOverMs]).toEqual([
      0.25, 0.2, 300_000,
    ]),
  'Process/batch/trims: 4': () => expect(batch.trims).toBe(4),
  'Process/batch/ageLimit: 14 d': () => expect(batch.ageLimitMs).toBe(14 * 86_400_000),
  'Process/batch/circulate: 10 min every 6 h': () =>
    expect([batch.circulateForMs, batch.circulateEveryMs]).toEqual([600_000, 21_600_000]),
  'Process/batch/measurementServes: 12 h': () => expect(batch.measurementServesMs).toBe(43_200_000),
  'Process/reserve: 20 %': () => expect(plant.process.reserveShare).toBe(0.2),
  'Exchange/largest: half of the system': () => expect(exchange.system?.largestL).toBe(200),
  'Exchange/errorBound: one step': () => expect(exchange.system?.errorBoundL).toBe(4),
  'Exchange/settle: 30 s': () => expect(exchange.system?.settleMs).toBe(30_000),
  'Policy/starts: `person`': () =>
    expect(plant.policy.starts).toEqual({ refill: 'person', batch: 'person', exchange: 'person' }),
  'Policy/restarts/afterLinkLoss: `person`': () => expect(plant.policy.restarts.afterLinkLoss).toBe('person'),
  'Policy/restarts/afterPowerCut: `person`': () => expect(plant.policy.restarts.afterPowerCut).toBe('person'),
  'Policy/restarts/evidenceStandsFor: 30 s': () =>
    expect(plant.policy.restarts.evidenceStandsForMs).toBe(30_000),
  'Policy/restarts/perDay: 4': () => expect(plant.policy.restarts.perDay).toBe(4),
  'Policy/proofTests/every: 90 d': () => expect(plant.policy.proofTests.everyMs).toBe(90 * 86_400_000),
  'Policy/proofTests/grace: 180 d': () => expect(plant.policy.proofTests.graceMs).toBe(180 * 86_400_000),
  'Homie/domain: "homie"': () => expect(homieSettings(undefined).domain).toBe('homie'),
  'Homie/qos: 2': () => expect(homieSettings({}).qos).toBe(2),
  'Homie/log: "warn"': () => expect(homieSettings({ homie: {} }).log).toBe('warn'),
  'Homie/stopOnBroadcast: false': () => expect(homieSettings({}).stopOnBroadcast).toBe(false),
  'Link/provenWithin: 6 s': () => expect(plant.link.provenWithinMs).toBe(6000),
  'Link/tickWithin: 5 s': () => expect(plant.link.tickWithinMs).toBe(5000),
};

interface Node {
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Node>>;
}

/** `Vessel/margin` -> the sentence after the word Default. */
function statedDefaults(): Map<string, string> {
  const found = new Map<string, string>();
  const walk = (node: Node, path: string) => {
    const words = /default:? (.*)$/isu.exec(node.description ?? '')?.[1];
    if (words !== undefined) found.set(path, words);
    for (const [key, inner] of Object.entries(node.properties ?? {})) walk(inner, `${path}/${key}`);
  };
  const schema = JSON.parse(textOf('schemas/station.schema.json')) as { $defs: Record<string, Node> };
  for (const [name, node] of Object.entries(schema.$defs)) walk(node, name);
  return found;
}

it('Every default that the schema states has a test, and no test names a default that it does not state', () => {
  const tested = Object.keys(STATED).map((title) => title.slice(0, title.indexOf(':')));
  expect([...statedDefaults().keys()].toSorted()).toEqual(tested.toSorted());
});

it.each(Object.entries(STATED))('The schema says, and the compiler does, %s', (title, holds) => {
  const path = title.slice(0, title.indexOf(':'));
  const words = title.slice(title.indexOf(':') + 2);
  expect(statedDefaults().get(path)?.startsWith(words)).toBe(true);
  holds();
});
