import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';
import { draftOf, type Heard, type Part } from '../../src/hub/draft.ts';
import { filterUnder, listen } from '../../src/hub/listen.ts';
import { messagesOf } from '../../src/simulate/payloads.ts';
import { makeTwin } from '../../src/simulate/twin.ts';
import { loadStation } from '../../src/station/load.ts';
import { schemaErrors } from '../../src/station/schema.ts';
import { device as ear, pause } from '../bridge/rig.ts';
import { embedded } from '../tools/brokers.ts';
import { spyBroker } from './rig.ts';
import { loaded, stationFile } from './stations.ts';

const heard = (topic: string, ...samples: readonly string[]): Heard => ({
  topic,
  samples,
  live: samples.length,
  retained: false,
  longestGapMs: null,
});
const only = (one: Heard): Part | undefined => Object.values(draftOf([one]).sensors)[0];

/** The draft put into a station that has everything else. */
const merged = (sensors: object) => {
  const station = stationFile('marram-point');
  return { ...station, sensors: { ...station.sensors, ...sensors } };
};

describe('what is proposed', () => {
  it.each<readonly [string, Heard, object]>([
    [
      'a leak by its name',
      heard('cellar/tray/leak', 'DRY', 'WET'),
      { measures: 'leak', wet: 'WET', dry: 'DRY' },
    ],
    [
      'a float, and which',
      heard('vat/overflow/float', '0', '1'),
      { measures: 'float', position: 'overflow', wet: '1', dry: '0' },
    ],
    ['a low float', heard('vat/low', 'off'), { measures: 'float', position: 'low', dry: 'off' }],
    [
      'a temperature in a document',
      heard('vat/probe', '{"t":{"temperature":24.5}}'),
      { measures: 'temperature', at: '/t/temperature' },
    ],
    ['a unit that its name has', heard('vat/temperature_f', '77.5'), { unit: 'degF' }],
    ['a unit in a document', heard('vat/flow', '{"l_min":3}'), { measures: 'flow', unit: 'L/min' }],
    ['a conductivity', heard('purifier/conductivity', '350'), { measures: 'conductivity' }],
    ['a counter', heard('inlet/pulses', '10', '12'), { measures: 'total', unit: 'pulses' }],
    ['a flow', heard('inlet/flow', '0.2'), { measures: 'flow' }],
    ['a level', heard('vat/level', '{"mm":300}'), { measures: 'level', unit: 'mm' }],
    ['a pointer with strokes in it', heard('vat/temperature', '{"a/b":{"~":20}}'), { at: '/a~1b/~0' }],
  ])('%s', (_, one, expected) => {
    expect(only(one)).toMatchObject(expected);
  });

  it.each<readonly [string, Heard, string]>([
    ['presence', heard('board/status', 'online'), 'availability'],
    ['a number without a name', heard('x/y', '7'), 'but of what?'],
    ['a switch that may be anything', heard('x/y', 'on', 'off'), 'feedback'],
    ['a count that falls', heard('inlet/total', '12', '10'), 'counts down'],
    ['words of another kind', heard('x/mode', 'auto', 'eco', 'manual'), 'no words'],
    ['nothing', heard('x/level', ''), 'nothing that a sensor could say'],
  ])('%s is not proposed, and the remark says why', (_, one, words) => {
    const { sensors, remarks } = draftOf([one]);
    expect(sensors).toEqual({});
    expect(remarks.join('\n')).toContain(words);
  });

  it('what was not heard is left out: the other word of a pair, units, litres', () => {
    expect(only(heard('cellar/tray/leak', 'DRY'))).not.toHaveProperty('wet');
    expect(only(heard('vat/low', 'off'))).not.toHaveProperty('wet');
    for (const topic of ['vat/temperature', 'vat/conductivity', 'inlet/total', 'inlet/flow', 'vat/level'])
      expect(only(heard(topic, '77.5'))).not.toHaveProperty('unit');
    const whole = only(heard('vat/high/float', 'WET', 'DRY'));
    expect(whole).not.toHaveProperty('mark');
    expect(only(heard('inlet/pulses', '1', '2'))).not.toHaveProperty('pulsesPerLitre');
  });

  it('how often it repeats is said only where that was heard', () => {
    expect(only({ ...heard('vat/temperature', '20'), longestGapMs: 29_400 })).toMatchObject({
      republishes: '30 s',
    });
    expect(only(heard('vat/temperature', '20'))).not.toHaveProperty('republishes');
  });

  it('of what was only stored a person is told', () => {
    expect(
      draftOf([{ ...heard('vat/temperature', '20'), live: 0, retained: true }]).remarks.join(),
    ).toContain('still there?');
  });
});

it('Whatever is on a broker, the draft lacks what nobody heard and is wrong in nothing else, and nothing throws', () => {
  const level = fc.constantFrom(
    'vat',
    'temp',
    'level',
    'flow',
    'pulse',
    'leak',
    'low',
    'Ä b',
    '1',
    'ec',
    'x',
  );
  const sample = fc.oneof(
    fc.constantFrom(
      'on',
      'OFF',
      '1',
      '',
      'wet',
      'online',
      '{"a":1}',
      '[1,2]',
      '{"b":{"c":"dry"}}',
      'null',
      '{"level":{"mm":3,"temp":9e99}}',
    ),
    fc.json({ maxDepth: 5 }),
    fc.string(),
  );
  const one = fc.record({
    topic: fc.array(level, { minLength: 1, maxLength: 4 }).map((levels) => levels.join('/')),
    samples: fc.array(sample, { maxLength: 5 }),
    live: fc.nat(5),
    retained: fc.boolean(),
    longestGapMs: fc.option(fc.double({ min: 0, max: 1e7, noNaN: true }), { nil: null }),
  });
  fc.assert(
    fc.property(fc.uniqueArray(one, { maxLength: 8, selector: ({ topic }) => topic }), (all) => {
      expect(
        schemaErrors(merged(draftOf(all).sensors)).filter(({ keyword }) => keyword !== 'required'),
      ).toEqual([]);
    }),
  );
});

it('A draft is refused as it is, at the places that a person must fill in and at no other', () => {
  const { sensors } = draftOf([heard('cellar/vat/temperature', '20'), heard('cellar/inlet/flow', '0.1')]);
  const result = loadStation('draft', JSON.stringify(merged(sensors)));
  expect(result.ok ? [] : result.errors.map(({ pointer }) => pointer.split('/').at(-1)).toSorted()).toEqual([
    // Each lacks its unit.
    'inlet-flow',
    'route',
    'vat-temperature',
    'vessel',
  ]);
});

it('From what the devices of the Marram Point station say, most sensors are found as the kind that they are', () => {
  const { plant } = loaded(stationFile('marram-point'));
  const twin = makeTwin(plant, 1);
  const said = new Map<string, string[]>();
  for (let step = 0; step < 20; step++) {
    twin.advance(10_000);
    for (const { topic, payload } of messagesOf(plant, twin.reports()))
      said.set(topic, [...(said.get(topic) ?? []), payload]);
  }
  const { sensors } = draftOf([...said].map(([topic, samples]) => heard(topic, ...new Set(samples))));
  const drafted = new Map(
    Object.values(sensors).map((one) => [`${one.topic} ${one.at ?? ''}`, one.measures]),
  );
  const right = Object.values(plant.sensors).filter(
    ({ topic, at, measures }) => drafted.get(`${topic} ${at ?? ''}`) === measures,
  );
  const wrong = Object.values(plant.sensors).filter(({ topic, at, measures }) => {
    const found = drafted.get(`${topic} ${at ?? ''}`);
    return found !== undefined && found !== measures;
  });
  expect(right.length).toBeGreaterThanOrEqual(Math.floor(Object.keys(plant.sensors).length / 2));
  expect(wrong.map(({ id }) => id)).toEqual([]);
});

describe('listening', () => {
  const cleanups: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const clean of cleanups.splice(0).reverse()) await clean();
  });
  const access = (port: number) => ({
    url: `mqtt://127.0.0.1:${port}`,
    version: 4 as const,
    clientId: 'vatwarden-listen-test',
  });
  const never = new AbortController().signal;

  it.each([
    [null, '#'],
    ['house/cellar', 'house/cellar/#'],
    ['house/', 'house/#'],
  ])('under %j it subscribes to %s and to nothing wider', async (under, filter) => {
    const broker = await spyBroker();
    cleanups.push(broker.close);
    await listen({ access: access(broker.port), under, forMs: 50, stop: never });
    expect(broker.seen.flatMap(({ filters }) => filters ?? [])).toEqual([filter]);
    expect(broker.seen.filter(({ cmd }) => cmd === 'publish')).toEqual([]);
  });

  it.each(['#', 'a/#', '+/b', '/'])('a prefix of %j is refused with the mend', (under) => {
    expect(() => filterUnder(under)).toThrow('without # and +');
  });

  it('tells stored from live, keeps few different samples, and ends in time or when it is told to', async () => {
    const broker = await embedded();
    cleanups.push(broker.close);
    const hand = await ear(broker.port, 4, ['none']);
    cleanups.push(hand.close);
    await hand.say('a/stored', '1', true);
    const stop = new AbortController();
    const listening = listen({ access: access(broker.port), under: 'a', forMs: 60_000, stop: stop.signal });
    await pause(150);
    for (let n = 0; n < 20; n++) await hand.say('a/live', String(n));
    await hand.say('b/elsewhere', '1');
    await pause(50);
    stop.abort();
    const { heard: found, leftOut } = await listening;
    expect(found.map(({ topic }) => topic)).toEqual(['a/live', 'a/stored']);
    expect(found[0]).toMatchObject({ live: 20, retained: false });
    expect(found[0]?.samples).toHaveLength(8);
    expect(found[1]).toMatchObject({ live: 0, retained: true, longestGapMs: null });
    expect(leftOut).toBe(0);
  });

  it('a flood of topics is bounded and counted', async () => {
    const broker = await embedded();
    cleanups.push(broker.close);
    const hand = await ear(broker.port, 4, ['none']);
    cleanups.push(hand.close);
    const listening = listen({ access: access(broker.port), under: 'a', forMs: 1500, stop: never });
    await pause(150);
    await Promise.all(
      Array.from({ length: 2100 }, (_, n) => hand.client.publishAsync(`a/${n}`, '1', { qos: 0 })),
    );
    const { heard: found, leftOut } = await listening;
    expect([found.length, leftOut]).toEqual([2000, 100]);
  });

  it('a broker that is not there is an error, at once and once', async () => {
    await expect(listen({ access: access(1), under: null, forMs: 50, stop: never })).rejects.toThrow();
  });
});
