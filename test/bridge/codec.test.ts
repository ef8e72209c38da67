import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codecOf } from '../../src/bridge/codec.ts';
import { contentsAt } from '../../src/bridge/conversion.ts';
import { LIMITS } from '../../src/bridge/limits.ts';
import type { Input } from '../../src/control/guard/types.ts';
import type { Plant, Sensor } from '../../src/station/plant.ts';
import { plant, stationPlant } from './rig.ts';

const codec = codecOf(plant);
const bytes = (text: string) => new TextEncoder().encode(text);
const read = (topic: string, text: string, retain = false) => codec.read(topic, bytes(text), retain);

/** The bench rig with other things said about one sensor. */
function withSensor(id: string, changes: Partial<Record<string, unknown>>): Plant {
  const sensor = { ...plant.sensors[id], ...changes } as Sensor;
  return { ...plant, sensors: { ...plant.sensors, [id]: sensor } };
}
const readWith = (id: string, changes: Partial<Record<string, unknown>>, text: string): Input | undefined => {
  const other = withSensor(id, changes);
  return codecOf(other).read(other.sensors[id]?.topic ?? '', bytes(text), false)[0];
};

describe('what a message says', () => {
  it.each([
    ['rig/fresh/float/low', '1', 'fresh-low', true],
    ['rig/fresh/float/high', 'DRY', 'fresh-high', false],
    ['rig/fresh/float/over', '{"contact":"open"}', 'fresh-overflow', true],
    ['rig/mixing/float/high', 'true', 'mixing-high', true],
    ['rig/mixing/float/over', '{"state":{"wet":false}}', 'mixing-overflow', false],
  ])('%s saying %s is the contact %s at %s', (topic, text, sensor, value) => {
    expect(read(topic, text)).toEqual([{ type: 'reading', sensor, value, live: true }]);
  });

  it('one message carries several sensors, each found by its pointer', () => {
    const inputs = read('rig/mixing/probe', '{"ec_us":53000,"t_c":24.5}');
    expect(inputs).toHaveLength(2);
    expect(inputs).toContainEqual({ type: 'reading', sensor: 'mixing-conductivity', value: 53, live: true });
    expect(inputs).toContainEqual({ type: 'reading', sensor: 'mixing-temperature', value: 24.5, live: true });
  });

  it('of two values in one message the one that is missing is bad and the other is good', () => {
    const inputs = read('rig/mixing/probe', '{"t_c":24.5}');
    expect(inputs).toContainEqual({
      type: 'bad-reading',
      sensor: 'mixing-conductivity',
      reason: 'unparsable',
    });
    expect(inputs).toContainEqual({ type: 'reading', sensor: 'mixing-temperature', value: 24.5, live: true });
  });

  it('R9: a retained message is a reading of history', () => {
    expect(read('rig/fresh/float/high', 'DRY', true)).toEqual([
      { type: 'reading', sensor: 'fresh-high', value: false, live: false },
    ]);
  });

  it('R11: neither word, another case and words around it are no reading', () => {
    for (const text of ['dry', 'WET!', 'DRY DRY', '0', 'null', '{}']) {
      expect(read('rig/fresh/float/high', text)).toEqual([
        { type: 'bad-reading', sensor: 'fresh-high', reason: 'unparsable' },
      ]);
    }
  });

  it('blanks round a word do not matter; nothing at all is `empty`', () => {
    expect(read('rig/fresh/float/high', ' WET\n')).toMatchObject([{ value: true }]);
    for (const text of ['', '  ']) {
      expect(read('rig/fresh/float/high', text)).toEqual([
        { type: 'bad-reading', sensor: 'fresh-high', reason: 'empty' },
      ]);
    }
  });

  it('R11: a device that goes offline makes all its sensors bad, and coming online makes none of them good', () => {
    const offline = read('rig/available', 'offline');
    const told = offline.filter((input) => input.type === 'bad-reading').map((input) => input.reason);
    expect(told.length).toBe(
      Object.values(plant.sensors).filter(({ availability }) => availability.length > 0).length,
    );
    expect(new Set(told)).toEqual(new Set(['offline']));
    expect(offline.some((input) => input.type === 'bad-feedback')).toBe(true);
    expect(read('rig/available', 'online')).toEqual([]);
    expect(new Set(read('rig/available', 'maybe').map((input) => 'reason' in input && input.reason))).toEqual(
      new Set(['unparsable']),
    );
  });

  it('feedback is read with its own words, never with those of the command', () => {
    expect(read('rig/circulate/state', 'on')).toEqual([
      { type: 'feedback', actuator: 'circulate', on: true, live: true },
    ]);
    expect(read('rig/circulate/state', 'ON')).toEqual([
      { type: 'bad-feedback', actuator: 'circulate', reason: 'unparsable' },
    ]);
  });

  it('a topic that the station does not know says nothing', () => {
    expect(read('rig/elsewhere', '1')).toEqual([]);
  });
});

describe('numbers', () => {
  it.each([
    ['NaN'],
    ['Infinity'],
    ['-Infinity'],
    ['0x1F'],
    ['1_000'],
    ['1,5'],
    ['12 mm'],
    ['true'],
    ['[1]'],
    ['1e999'],
    ['--1'],
  ])('%s is no number', (text) => {
    expect(read('rig/inlet/flow', text)).toEqual([
      { type: 'bad-reading', sensor: 'inlet-flow', reason: 'unparsable' },
    ]);
  });

  it.each([
    ['12', 12],
    ['-0.5', -0.5],
    ['+3.', 3],
    ['.25', 0.25],
    ['1.2e1', 12],
  ])('%s is the number %d', (text, value) => {
    expect(read('rig/inlet/flow', text)).toEqual([
      { type: 'reading', sensor: 'inlet-flow', value, live: true },
    ]);
  });

  it('the sentinel is looked for in the raw number, the range after scale and offset, in the unit of the payload', () => {
    const changes = { sentinels: [85, -127], scale: 2, offset: 1, range: [0, 100], unit: 'degF' };
    expect(readWith('system-temperature', changes, '85')).toMatchObject({ reason: 'sentinel' });
    expect(readWith('system-temperature', changes, '50')).toMatchObject({ reason: 'out-of-range' });
    expect(readWith('system-temperature', changes, '38')).toMatchObject({ value: 25 });
  });

  it('colder than nothing is out of range', () => {
    expect(readWith('system-temperature', { range: null }, '-300')).toMatchObject({ reason: 'out-of-range' });
  });

  it.each([
    ['L', '6', 6],
    ['gal', '1', 3.785411784],
    ['%', '50', 6],
  ])('a level in %s of %s is %d L', (unit, text, litres) => {
    expect(readWith('fresh-level', { unit, table: null, at: null, range: null }, text)).toMatchObject({
      value: litres,
    });
  });

  it('a level in mm goes by the straight lines of its table, and on beyond its ends, but never below nothing', () => {
    const table = [
      [0, 0],
      [100, 2],
      [400, 12],
    ] as const;
    expect(contentsAt(table, 50)).toBeCloseTo(1, 12);
    expect(contentsAt(table, 250)).toBeCloseTo(7, 12);
    expect(contentsAt(table, 430)).toBeCloseTo(13, 12);
    expect(contentsAt(table, -20)).toBe(0);
  });

  it('contents never fall while the level rises', () => {
    const rising = fc.uniqueArray(fc.integer({ min: 0, max: 2000 }), { minLength: 2, maxLength: 8 });
    fc.assert(
      fc.property(
        rising,
        rising,
        fc.double({ min: -100, max: 2500, noNaN: true }),
        fc.double({ min: 0, max: 100, noNaN: true }),
        (mm, litres, level, more) => {
          const count = Math.min(mm.length, litres.length);
          const sorted = (list: number[]) => list.toSorted((a, b) => a - b);
          const table = sorted(mm.slice(0, count)).map(
            (x, place) => [x, sorted(litres.slice(0, count))[place] ?? 0] as const,
          );
          expect(contentsAt(table, level + more)).toBeGreaterThanOrEqual(contentsAt(table, level) - 1e-9);
        },
      ),
    );
  });
});

describe("somebody else's commands", () => {
  it.each([
    ['{"on":true,"for_ms":9000}', true],
    ['{"on":true}', true],
    ['{"on":false,"by":"hub"}', false],
    ['{"on":1}', null],
    ['ON', null],
    ['{"on":true', null],
    [' ', null],
  ])('%s to the fill valve means %s', (text, on) => {
    expect(read('rig/fill/cmd', text)).toEqual([
      { type: 'foreign-command', actuator: 'fill', on, retained: false },
    ]);
  });

  it('an empty message is none: it clears what the broker stored', () => {
    expect(read('rig/fill/cmd', '')).toEqual([{ type: 'empty-command', actuator: 'fill' }]);
  });

  it('R1: a stored one is told as stored', () => {
    expect(read('rig/circulate/cmd', 'ON', true)).toEqual([
      { type: 'foreign-command', actuator: 'circulate', on: true, retained: true },
    ]);
  });

  it('of several relays on one topic only the one that is meant is named; an unreadable command means all of them', () => {
    const board = (id: string, relay: number) => {
      const actuator = plant.actuators[id];
      if (actuator === undefined) throw new Error(id);
      return {
        ...actuator,
        command: {
          topic: 'board/cmd',
          on: { relay, on: true, ms: '$leaseMs' },
          off: { relay, on: false },
          harmless: [],
        },
      };
    };
    const shared = codecOf({ ...plant, actuators: { fill: board('fill', 1), drain: board('drain', 2) } });
    expect(shared.read('board/cmd', bytes('{"relay":2,"on":true,"ms":500}'), false)).toEqual([
      { type: 'foreign-command', actuator: 'drain', on: true, retained: false },
    ]);
    expect(
      shared.read('board/cmd', bytes('?'), false).map((input) => 'actuator' in input && input.actuator),
    ).toEqual(['fill', 'drain']);
    expect(shared.topics.filter((topic) => topic === 'board/cmd')).toHaveLength(1);
  });
});

/** PAYLOADS=10000000 for the long run. */
const PAYLOADS = Number(process.env.PAYLOADS ?? 120_000);

describe('hostile payloads', () => {
  const all = (payload: Uint8Array) => codec.topics.flatMap((topic) => codec.read(topic, payload, false));
  const isBad = (input: Input) =>
    input.type === 'bad-reading' ||
    input.type === 'bad-feedback' ||
    (input.type === 'foreign-command' && input.on === null);

  it.each([
    ['ten megabytes', new Uint8Array(10_000_000).fill(49)],
    ['one byte more than allowed', new Uint8Array(LIMITS.payloadBytes + 1).fill(49)],
    ['lists in lists, 30000 deep', bytes('['.repeat(30_000))],
    ['objects in objects, closed', bytes(`${'{"a":'.repeat(10_000)}1${'}'.repeat(10_000)}`)],
    ['broken UTF-8', new Uint8Array([0xff, 0xfe, 0x80])],
    ['half a surrogate', new Uint8Array([0xed, 0xa0, 0x80])],
    ['prototype keys', bytes('{"__proto__":{"contact":"open"},"constructor":{"prototype":{"wet":true}}}')],
  ])('%s is bad for everybody who reads it', (_, payload) => {
    const inputs = all(payload);
    expect(inputs.length).toBeGreaterThan(20);
    expect(inputs.filter((input) => !isBad(input))).toEqual([]);
  });

  it('a pointer into the prototype finds nothing', () => {
    for (const at of ['/__proto__/constructor/name', '/constructor/name', '/toString/length', '/length']) {
      expect(readWith('fresh-overflow', { at, yes: ['Object'], no: ['x'] }, '{}')).toMatchObject({
        reason: 'unparsable',
      });
    }
    expect(readWith('fresh-overflow', { at: '/__proto__' }, '{"__proto__":"open"}')).toMatchObject({
      value: true,
    });
  });

  it(
    `no payload whatever makes the codec throw, or say something that is no input (${PAYLOADS} payloads)`,
    () => {
      const said = fc.constantFrom(
        'WET',
        'DRY',
        'ON',
        'OFF',
        'online',
        'offline',
        '1',
        '0',
        'true',
        '{"on":true,"for_ms":1}',
        '{"contact":"open"}',
        '{"ec_us":5e4,"t_c":25}',
        '{"mm":200}',
        '{"pulses":17}',
      );
      const bent = fc
        .tuple(said, fc.nat(40), fc.string({ maxLength: 3 }))
        .map(([text, at, noise]) => text.slice(0, at) + noise + text.slice(at));
      const payloads = fc.oneof(
        { weight: 2, arbitrary: fc.uint8Array({ maxLength: 64 }) },
        { weight: 2, arbitrary: bent.map(bytes) },
        { weight: 1, arbitrary: fc.json({ maxDepth: 4 }).map(bytes) },
        { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 40 }).map(bytes) },
        { weight: 1, arbitrary: fc.double().map((value) => bytes(String(value))) },
      );
      const topics = fc.constantFrom(...codec.topics);
      fc.assert(
        fc.property(topics, payloads, fc.boolean(), (topic, payload, retain) => {
          for (const input of codec.read(topic, payload, retain)) {
            if (!isSound(input, retain)) throw new Error(`${topic}: ${JSON.stringify(input)}`);
          }
        }),
        { numRuns: PAYLOADS },
      );
    },
    60_000 + PAYLOADS / 5,
  );

  it('a contact is read only from exactly its own words', () => {
    const sensors = Object.values(plant.sensors).filter((sensor) => 'yes' in sensor && sensor.at === null);
    fc.assert(
      fc.property(fc.constantFrom(...sensors), fc.string({ maxLength: 6 }), (sensor, text) => {
        const input = codec.read(sensor.topic, bytes(text), false)[0];
        const words = 'yes' in sensor ? [...sensor.yes, ...sensor.no] : [];
        expect(input?.type === 'reading').toBe(words.includes(text.trim()));
      }),
    );
  });
});

function isSound(input: Input, retain: boolean): boolean {
  switch (input.type) {
    case 'reading': {
      const sensor = plant.sensors[input.sensor];
      const fits =
        sensor !== undefined &&
        ('yes' in sensor ? typeof input.value === 'boolean' : Number.isFinite(input.value));
      return fits && input.live === !retain;
    }
    case 'bad-reading':
      return plant.sensors[input.sensor] !== undefined;
    case 'feedback':
      return plant.actuators[input.actuator] !== undefined && input.live === !retain;
    case 'bad-feedback':
    case 'empty-command':
      return plant.actuators[input.actuator] !== undefined;
    case 'foreign-command':
      return plant.actuators[input.actuator] !== undefined && input.retained === retain;
    default:
      return false;
  }
}

describe('the example stations', () => {
  it.each(['marram-point', 'one-vat', 'unequal-vats'])(
    '%s: every sensor, feedback and command topic is listened to, once',
    (name) => {
      const other = stationPlant(`schemas/examples/${name}.json`);
      const { topics } = codecOf(other);
      expect(new Set(topics).size).toBe(topics.length);
      for (const { topic } of Object.values(other.sensors)) expect(topics).toContain(topic);
      for (const { command, feedback } of Object.values(other.actuators)) {
        expect(topics).toContain(command.topic);
        if (feedback !== null) expect(topics).toContain(feedback.topic);
      }
    },
  );
});
