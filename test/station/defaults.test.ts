// What is taken where the file says nothing: each value as a person would write it; that writing it changes nothing, and that
// writing another one changes the plant.
import { expect, it } from 'vitest';
import { plantOf } from '../../src/station/compile.ts';
import { readStationFile, type StationFile } from '../../src/station/file/station.ts';
import { homieSettings } from '../../src/station/homie.ts';
import { least, plantFrom, spoilt, textOf } from './stations.ts';

const station = spoilt(spoilt(least(), '/actuators/inlet/exercise', {}), '/handValves', {
  tap: { name: 'the tap' },
});
const ASSUMED = readStationFile(station).assumed;

/** Each value of each key once, where it is assumed first. */
const VALUES: Readonly<Record<string, string>> = {
  '/vessels/fresh/margin': '3 L',
  '/vessels/fresh/minimum': '5 L',
  '/vessels/system/margin': '15 L',
  '/vessels/system/minimum': '25 L',
  '/routes/refill/flow/usual': '0.2 L/min',
  '/routes/refill/priming': '5 s',
  '/routes/refill/runDown': '3 s',
  '/routes/refill/minimumRun': '0 s',
  '/routes/refill/minimumRest': '5 s',
  '/routes/refill/startsPerHour': '30',
  '/routes/transfer/flow/usual': '5 L/min',
  '/routes/circulate/flow/usual': '15 L/min',
  '/routes/supply/flow/usual': '2.5 L/min',
  '/heaters/heater/lag': '10 min',
  '/heaters/heater/losses': '0 W/K',
  '/sensors/low/tolerance': '1 L',
  '/sensors/low/maxAge': '1 min',
  '/sensors/low/believe/start': '3 s',
  '/sensors/low/believe/stop': '0 s',
  '/sensors/inlet-flow/uncertainty': '5 %',
  '/sensors/inlet-flow/zero': '0.01 L/min',
  '/sensors/supply-total/lostAtStart': '0.05 L',
  '/sensors/temperature/uncertainty': '0.3 K',
  '/sensors/temperature/maxAge': '1 d',
  '/sensors/probe/validFor': '12 h',
  '/actuators/inlet/offProvenBy': 'lease',
  '/actuators/inlet/exercise/every': '30 d',
  '/actuators/inlet/exercise/for': '5 s',
  '/actuators/circulation-pump/feedback/maxAge': '1 min',
  '/actuators/circulation-pump/feedback/within': '3 s',
  '/actuators/circulation-pump/offProvenBy': 'feedback',
  '/actuators/drain-pump/offProvenBy': 'assumption',
  '/handValves/tap/every': '90 d',
  '/process/temperature/least': '15 degC',
  '/process/temperature/most': '29 degC',
  '/process/temperature/systemMayMove': '0.3 K',
  '/process/refill/longestRun': '25 h',
  '/process/batch/least': '40 L',
  '/process/batch/steady': 'within 0.25 PSU, over 5 min',
  '/process/batch/trims': '4',
  '/process/batch/ageLimit': '14 d',
  '/process/batch/circulate': 'every 6 h, lasts 10 min',
  '/process/batch/measurementServes': '12 h',
  '/process/reserve': '20 %',
  '/process/exchange/system/largest': '200 L',
  '/process/exchange/system/errorBound': '4 L',
  '/process/exchange/system/settle': '30 s',
  '/policy/starts/refill': 'person',
  '/policy/starts/batch': 'person',
  '/policy/starts/exchange': 'person',
  '/policy/restarts/afterLinkLoss': 'person',
  '/policy/restarts/afterPowerCut': 'person',
  '/policy/restarts/evidenceStandsFor': '30 s',
  '/policy/restarts/perDay': '4',
  '/policy/proofTests/every': '90 d',
  '/policy/proofTests/grace': '180 d',
  '/link/provenWithin': '6 s',
  '/link/tickWithin': '5 s',
};

it('Every value that is assumed of the least station stands here', () => {
  const met = new Set<string>();
  const first = ASSUMED.filter(({ key, value }) => !met.has(`${key} ${value}`) && met.add(`${key} ${value}`));
  expect(Object.fromEntries(first.map(({ at, value }) => [at, value]))).toEqual(VALUES);
});

/** As it is written in a file. */
function written(value: string): unknown {
  if (/^\d+$/u.test(value)) return Number(value);
  const pairs = value.split(', ').map((pair) => /^([a-z]+) (\S+ \S+)$/u.exec(pair));
  return pairs.every((pair) => pair !== null)
    ? Object.fromEntries(pairs.map(([, key, quantity]) => [key, quantity]))
    : value;
}

/** With what stands at a pointer, groups that are not there included. */
function stating(pointer: string, value: unknown): StationFile {
  const parents = pointer.split('/').slice(1, -1);
  const grown = parents.reduce((file, _, depth) => {
    const parent = `/${parents.slice(0, depth + 1).join('/')}`;
    const there = parent
      .split('/')
      .slice(1)
      .reduce<unknown>((here, key) => (here as Record<string, unknown> | undefined)?.[key], file);
    return there === undefined ? spoilt(file, parent, {}) : file;
  }, station);
  return spoilt(grown, pointer, value);
}

const OTHER: Readonly<Record<string, string>> = {
  person: 'itself',
  lease: 'no-flow',
  feedback: 'no-flow',
  assumption: 'no-flow',
};

it.each(Object.entries(VALUES))(
  '%s is %s: written, it changes nothing, and another changes the plant',
  (at, value) => {
    expect(plantOf(stating(at, written(value)))).toEqual(plantOf(station));
    const another =
      OTHER[value] ?? value.replaceAll(/\d+(?:\.\d+)?/gu, (digits) => `${2 * Number(digits) + 1}`);
    expect(plantOf(stating(at, written(another)))).not.toEqual(plantOf(station));
  },
);

it('What decides nothing at the station has its value all the same, and is not told', () => {
  const plant = plantFrom(station);
  expect(plant.sensors.level).toMatchObject({ scale: 1, offset: 0 });
  expect(plant.process.saltName).toBe('sea salt');
  expect(plant.vessels.fresh?.initial).toEqual({ contentsL: 0, salinity: 0, temperatureC: 18 });
  expect(plant.vessels.system?.initial).toEqual({ contentsL: 400, salinity: 35, temperatureC: 25 });
  expect(homieSettings(undefined)).toEqual({
    domain: 'homie',
    qos: 2,
    log: 'warn',
    stopOnBroadcast: false,
    discovery: null,
  });
  expect(ASSUMED.filter(({ at }) => /initial|scale|offset|salt|announce/u.test(at))).toEqual([]);
});

it('The steadiness that a batch wants follows the tolerance', () => {
  const finer = spoilt(station, '/process/salinity', { target: '35 PSU', tolerance: '0.4 PSU' });
  expect(plantFrom(finer).process.batch.steadyWithin).toBe(0.2);
});

it('An editor is shown each value of its own as the keyword `default`, and every one in words', () => {
  const texts = textOf('schemas/station.schema.json');
  const constants = [...texts.matchAll(/"default": ("?)(.+?)\1[,\n]/gu)].map(([, , value]) => value);
  expect(constants).toContain('180 d');
  const words = [...texts.matchAll(/Default [^"]+/gu)];
  expect(words.length).toBeGreaterThan(constants.length);
});
