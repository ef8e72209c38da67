import { describe, expect, it } from 'vitest';
import { messagesOf, readCommand } from '../../src/simulate/payloads.ts';
import { resolutionOf } from '../../src/simulate/sensors.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { litresOf } from '../../src/simulate/world.ts';
import type { Actuator, Payload, Plant, Sensor } from '../../src/station/plant.ts';
import { isSaid } from '../../src/station/words.ts';
import { bench, driversOf, marram } from './stations.ts';

function run(twin: Twin, route: string, seconds: number): void {
  for (let second = 0; second < seconds; second++) {
    for (const id of driversOf(twin.plant, route)) twin.command(id, true, 5000);
    twin.advance(1000);
  }
}

// ---- a reader that was not written by the writer -------------------------------------------------------------------

const TO_HOUSE: Readonly<Record<string, (value: number) => number>> = {
  L: (x) => x,
  mL: (x) => x / 1000,
  m3: (x) => x * 1000,
  gal: (x) => x * 3.785411784,
  'L/min': (x) => x,
  'L/h': (x) => x / 60,
  'L/s': (x) => x * 60,
  'L/d': (x) => x / 1440,
  'gal/min': (x) => x * 3.785411784,
  'gal/d': (x) => (x * 3.785411784) / 1440,
  'm3/h': (x) => (x * 1000) / 60,
  degC: (x) => x,
  degF: (x) => ((x - 32) * 5) / 9,
  K: (x) => x - 273.15,
  'mS/cm': (x) => x,
  'uS/cm': (x) => x / 1000,
  'S/m': (x) => x * 10,
  mm: (x) => x,
  cm: (x) => x * 10,
  m: (x) => x * 1000,
  in: (x) => x * 25.4,
};

function dug(payload: string, at: string | null): unknown {
  if (at === null) return payload;
  let found: unknown = JSON.parse(payload);
  for (const token of at.split('/').slice(1)) {
    found = (found as Record<string, unknown>)[token.replaceAll('~1', '/').replaceAll('~0', '~')];
  }
  return found;
}

function read(plant: Plant, sensor: Sensor, payload: string): number | boolean {
  const said = dug(payload, sensor.at);
  if ('yes' in sensor) {
    expect([...sensor.yes, ...sensor.no]).toContain(String(said));
    return isSaid(sensor.yes, String(said));
  }
  const value = Number(said) * sensor.scale + sensor.offset;
  if (sensor.measures === 'level' && sensor.unit === '%') {
    return (value / 100) * (plant.vessels[sensor.vessel]?.capacityL ?? 0);
  }
  const house = TO_HOUSE[sensor.unit]?.(value) ?? Number.NaN;
  if (sensor.measures !== 'level' || sensor.table === null) return house;
  const above = sensor.table.findIndex(([mm]) => mm >= house);
  const [mm0, litres0] = sensor.table[Math.max(0, above - 1)] ?? [0, 0];
  const [mm1, litres1] = sensor.table[above < 0 ? sensor.table.length - 1 : above] ?? [0, 0];
  return mm1 === mm0 ? litres1 : litres0 + ((litres1 - litres0) * (house - mm0)) / (mm1 - mm0);
}

function withSensor(plant: Plant, id: string, change: object): Plant {
  const sensor = plant.sensors[id];
  if (sensor === undefined) throw new Error(`no sensor ${id}`);
  return { ...plant, sensors: { ...plant.sensors, [id]: { ...sensor, ...change } as Sensor } };
}

const DAM = [
  [0, 0],
  [100, 60],
  [400, 200],
  [850, 320],
] as const;

const SPEECH: readonly [string, Plant][] = [
  ['as Marram Point speaks', marram],
  ['as the bench rig speaks', bench],
  ['level in %', withSensor(marram, 'mixing-level', { unit: '%', table: null, scale: 1, offset: 0 })],
  ['level in gallons', withSensor(marram, 'mixing-level', { unit: 'gal', table: null, scale: 1, offset: 0 })],
  [
    'distance from above, in inches',
    withSensor(marram, 'mixing-level', { unit: 'in', table: DAM, scale: -1, offset: 40 }),
  ],
  [
    'level in m by a bent table',
    withSensor(marram, 'mixing-level', { unit: 'm', table: DAM, scale: 1, offset: 0 }),
  ],
  [
    'temperature in K',
    withSensor(marram, 'mixing-temperature', { unit: 'K', scale: 1, offset: 0, at: null }),
  ],
  [
    'temperature in tenths of degF',
    withSensor(marram, 'mixing-temperature', { unit: 'degF', scale: 0.1, offset: 0 }),
  ],
  ['conductivity in S/m', withSensor(marram, 'mixing-conductivity', { unit: 'S/m', scale: 1, offset: 0 })],
  [
    'a total in m3',
    withSensor(marram, 'transfer-meter', { unit: 'm3', scale: 1, offset: 0, at: null, inPulses: false }),
  ],
  [
    'a total in gallons that wraps',
    withSensor(marram, 'transfer-meter', { unit: 'gal', scale: 1, wrapsAtL: 5, inPulses: false }),
  ],
  [
    'a float as true and false in a list',
    withSensor(marram, 'fresh-low', { at: '/0/in~1put/2', yes: ['true'], no: ['false'] }),
  ],
  ['a float as 1 and 0', withSensor(marram, 'fresh-low', { at: '/state', yes: ['1'], no: ['0'] })],
  [
    'a level and a float in one message',
    withSensor(withSensor(marram, 'mixing-level', { topic: 'vat', at: '/a/level' }), 'mixing-low', {
      topic: 'vat',
      at: '/a/low',
    }),
  ],
];

describe('a device', () => {
  it.each(SPEECH)('says what it sees so that it is understood: %s', (_, plant) => {
    const twin = makeTwin(plant, 9);
    const topics = new Map<string, string>();
    const seen = new Map<string, number | boolean>();
    for (let minute = 0; minute < 10; minute++) {
      run(twin, 'transfer', minute < 4 ? 20 : 0);
      run(twin, 'circulate', minute < 4 ? 0 : 20);
      twin.advance(1000);
      const reports = twin.reports();
      for (const { topic, payload } of messagesOf(plant, reports)) topics.set(topic, payload);
      for (const report of reports) if (report.of === 'sensor') seen.set(report.sensor.id, report.value);
      for (const [id, value] of seen) {
        const sensor = plant.sensors[id];
        if (sensor === undefined) throw new Error(id);
        const understood = read(plant, sensor, topics.get(sensor.topic) ?? '');
        if (typeof value === 'boolean') expect([id, understood]).toEqual([id, value]);
        // A whole pulse is the least that a counter of pulses can say.
        else {
          const pulseL = 'scale' in sensor && sensor.measures === 'total' ? Math.abs(sensor.scale) : 0;
          const allowed = Math.max(
            resolutionOf(plant, sensor),
            sensor.measures === 'total' && sensor.inPulses ? pulseL : 0,
          );
          expect(Math.abs(Number(understood) - value), `${id} ${understood} ${value}`).toBeLessThanOrEqual(
            allowed,
          );
        }
      }
    }
    expect(seen.size).toBe(Object.keys(plant.sensors).length);
  });

  it('sends values that share a topic together, in one JSON document', () => {
    const plant = SPEECH.at(-1)?.[1] ?? marram;
    const twin = makeTwin(plant, 1);
    const [message, ...more] = messagesOf(plant, twin.reports()).filter(({ topic }) => topic === 'vat');
    expect(more).toEqual([]);
    expect(JSON.parse(message?.payload ?? '')).toEqual({
      a: { level: expect.any(Number), low: expect.anything() },
    });
  });

  it('speaks at once on a change, and otherwise no later than it promises', () => {
    const twin = makeTwin(bench, 1);
    const sensor = bench.sensors['fresh-low'];
    const everyMs = sensor?.republishesMs ?? 0;
    twin.inputs();
    let silentMs = 0;
    let mostMs = 0;
    for (let tick = 0; tick < 100; tick++) {
      twin.advance(100);
      silentMs += 100;
      if (twin.inputs().some((heard) => 'sensor' in heard && heard.sensor === 'fresh-low')) silentMs = 0;
      mostMs = Math.max(mostMs, silentMs);
    }
    expect(everyMs).toBeGreaterThan(0);
    expect(mostMs).toBeLessThanOrEqual(everyMs);
  });

  it('turns over within the tolerance of its mark, rising and falling, and does not flutter at it', () => {
    for (const seed of [1, 2, 3, 4, 5]) {
      const twin = makeTwin(marram, seed);
      const float = marram.sensors['mixing-low'];
      if (float?.measures !== 'float') throw new Error('a float');
      const at: number[] = [];
      let wet: unknown = false;
      const watch = () => {
        const now = twin.present('mixing-low');
        if (now !== wet) at.push(litresOf(twin.world.bodies.mixing ?? never()));
        wet = now;
      };
      for (let second = 0; second < 400; second++) {
        run(twin, 'transfer', 1);
        watch();
      }
      for (let second = 0; second < 1800; second++) {
        run(twin, 'supply', 1);
        watch();
      }
      expect(at).toHaveLength(2);
      for (const litres of at) expect(Math.abs(litres - float.markL)).toBeLessThanOrEqual(float.toleranceL);
      expect(at[1]).toBeLessThan(at[0] ?? 0);
    }
  });
});

function never(): never {
  throw new Error('missing');
}

// ---- commands ------------------------------------------------------------------------------------------------------

/** Fills a template as a service would: a placeholder alone in a JSON string becomes a number, inside text it is text. */
function filled(template: Payload, values: Readonly<Record<string, number | string>>): string {
  const text = (part: string) => part.replaceAll(/\$(\w+)/gu, (_, name: string) => String(values[name]));
  if (typeof template !== 'object') return text(String(template));
  return JSON.stringify(template, (_, value) =>
    typeof value === 'string' && /^\$\w+$/u.test(value)
      ? values[value.slice(1)]
      : typeof value === 'string'
        ? text(value)
        : value,
  );
}

const VALUES = { leaseMs: 7000, leaseS: 7, sequence: 41, boot: 'b-7f', issuedMs: 123456 };

function relay(on: Payload, off: Payload): Actuator {
  const actuator = marram.actuators['transfer-pump'] ?? never();
  return { ...actuator, leaseMs: 20_000, command: { topic: 'x', on, off, harmless: [] } };
}

describe('a relay', () => {
  it.each(
    [...Object.values(marram.actuators), ...Object.values(bench.actuators)].map(
      (one) => [one.id, one] as const,
    ),
  )('of the two stations reads the commands of its own file: %s', (_, actuator) => {
    const { on, off } = actuator.command;
    expect(readCommand(actuator, filled(on, VALUES))?.on).toBe(true);
    expect(readCommand(actuator, filled(off, VALUES))?.on).toBe(false);
  });

  it.each<[string, Payload, Payload, number]>([
    ['plain words', 'ON', 'OFF', 20_000],
    ['bare numbers', 1, 0, 20_000],
    ['true and false', true, false, 20_000],
    ['a lease in text', 'on,$leaseS', 'off', 7000],
    ['a lease in milliseconds in text', 'open for $leaseMs ms ({}.*)', 'close', 7000],
    ['a lease in JSON', { on: true, for: '$leaseMs' }, { on: false }, 7000],
    ['a lease deep in JSON', { pulse: [{ s: '$leaseS', note: 'boot $boot' }] }, { pulse: [] }, 7000],
    [
      'sequence and boot',
      { state: 'ON', n: '$sequence', boot: '$boot', at: '$issuedMs' },
      { state: 'OFF' },
      20_000,
    ],
  ])('reads what its template says: %s', (_, on, off, leaseMs) => {
    const actuator = relay(on, off);
    const read = readCommand(actuator, filled(on, VALUES));
    expect(read).toMatchObject({ on: true, leaseMs });
    if (JSON.stringify(on).includes('$sequence')) expect(read).toMatchObject({ sequence: 41, boot: 'b-7f' });
    expect(readCommand(actuator, filled(off, VALUES))).toMatchObject({ on: false });
  });

  it.each<[string, Payload, Payload, string]>([
    ['nothing', 'ON', 'OFF', ''],
    ['another word', 'ON', 'OFF', 'TOGGLE'],
    ['more than its words', 'ON', 'OFF', 'ON ON'],
    ['JSON for text', 'ON', 'OFF', '"ON"'],
    ['text for JSON', { on: true }, { on: false }, 'ON'],
    ['half a document', { on: true }, { on: false }, '{"on":'],
    ['a member too many', { on: true }, { on: false }, '{"on":true,"x":1}'],
    ['a lease of nothing', { on: true, for: '$leaseMs' }, { on: false }, '{"on":true,"for":0}'],
    ['a lease below nothing', 'on $leaseS', 'off', 'on -5'],
    ['a lease of words', { on: true, for: '$leaseMs' }, { on: false }, '{"on":true,"for":"ever"}'],
    ['null', { on: true }, { on: false }, 'null'],
  ])('refuses what it cannot read: %s', (_, on, off, text) => {
    expect(readCommand(relay(on, off), text)).toBeNull();
  });

  it('drops out in station time when its lease ends, to the millisecond', () => {
    const twin = makeTwin(marram, 1);
    twin.command('transfer-pump', true, 7000);
    twin.advance(6999);
    expect(twin.relays.contact('transfer-pump')).toBe(true);
    twin.advance(1);
    expect(twin.relays.contact('transfer-pump')).toBe(false);
    expect(twin.relays.all['transfer-pump']?.dropOuts).toBe(1);
  });

  it('drops out inside a longer step too, and the water stops there', () => {
    const litres = (stepMs: number) => {
      const twin = makeTwin(marram, 1);
      for (const id of driversOf(marram, 'transfer')) twin.command(id, true, 31_000);
      for (let passed = 0; passed < 300_000; passed += stepMs) twin.advance(stepMs);
      return twin.world.ledger.moved.transfer?.litres;
    };
    expect(litres(300_000)).toBe(litres(1000));
    expect(litres(1000)).toBeGreaterThan(5);
  });

  it('that is renewed in time does not drop out', () => {
    const twin = makeTwin(marram, 1);
    for (let renewal = 0; renewal < 20; renewal++) {
      twin.command('transfer-pump', true, 9000);
      twin.advance(3000);
    }
    expect(twin.relays.contact('transfer-pump')).toBe(true);
    expect(twin.relays.all['transfer-pump']).toMatchObject({ commands: 20, starts: 1, dropOuts: 0 });
  });

  it('that counts no lease stays on until it is told', () => {
    const nobody = Object.values(bench.actuators).find(({ countsLease }) => !countsLease) ?? never();
    const twin = makeTwin(bench, 1);
    twin.command(nobody.id, true, 5000);
    twin.advance(86_400_000);
    expect(twin.relays.contact(nobody.id)).toBe(true);
    twin.command(nobody.id, false, 0);
    expect(twin.relays.contact(nobody.id)).toBe(false);
  });
});
