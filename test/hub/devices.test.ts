// Devices as the station file describes them: everything in one payload, bits of a number, counters that wrap and reset,
// an `on` that ends by itself. The reader is the bridge's, the writer is the simulated devices'.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codecOf } from '../../src/bridge/codec.ts';
import type { Input } from '../../src/control/guard/types.ts';
import { describe as describeState } from '../../src/control/process/describe.ts';
import { initial } from '../../src/control/process/initial.ts';
import { step } from '../../src/control/step.ts';
import { messagesOf, readCommand } from '../../src/simulate/payloads.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { renderPayload } from '../../src/station/payloads.ts';
import { exampleOf } from '../../src/station/words.ts';
import { loaded, stationFile } from './stations.ts';

/** Every contact of the nursery on one input module: one number, a bit each, beside a temperature. */
function onOneModule(): StationFile {
  const station = structuredClone(stationFile('one-vat'));
  let bit = 0;
  for (const sensor of Object.values(station.sensors)) {
    if (!('wet' in sensor)) continue;
    const turned = bit % 2 === 1;
    Object.assign(sensor, {
      topic: 'module/in',
      at: '/io/inputs',
      bit,
      wet: turned ? 0 : 1,
      dry: turned ? 1 : 0,
    });
    bit += 7;
  }
  for (const sensor of Object.values(station.sensors)) {
    if (sensor.measures === 'temperature')
      Object.assign(sensor, { topic: 'module/in', at: `/io/degrees/${sensor.vessel}` });
  }
  return station;
}

const { plant } = loaded(onOneModule());
const codec = codecOf(plant);
const contacts = Object.values(plant.sensors).filter((sensor) => 'yes' in sensor && sensor.bit !== null);
const read = (payload: string): readonly Input[] => codec.read('module/in', Buffer.from(payload), false);
const saidBy = (inputs: readonly Input[]) =>
  Object.fromEntries(
    inputs.map((input) => ['sensor' in input ? input.sensor : '', 'value' in input ? input.value : 'bad']),
  );

describe('bits of one number', () => {
  it('there are several of them, and one lies beyond the 32nd bit', () => {
    expect(contacts.length).toBeGreaterThanOrEqual(4);
    expect(contacts.some((sensor) => 'bit' in sensor && (sensor.bit ?? 0) > 31)).toBe(true);
  });

  it('every contact is read from its own bit, whatever the others are, and as the devices write it', () => {
    fc.assert(
      fc.property(
        fc.array(fc.boolean(), { minLength: contacts.length, maxLength: contacts.length }),
        (values) => {
          const reports = contacts.map((sensor, place) => ({
            of: 'sensor' as const,
            sensor,
            value: values[place] === true,
          }));
          const messages = messagesOf(plant, reports);
          expect(messages.map(({ topic }) => topic)).toEqual(['module/in']);
          const said = saidBy(read(messages[0]?.payload ?? ''));
          contacts.forEach((sensor, place) => {
            expect([sensor.id, said[sensor.id]]).toEqual([sensor.id, values[place]]);
          });
        },
      ),
    );
  });

  it.each(['1.5', '-1', '"x"', 'true', '9007199254740992', '1e300'])(
    'what has no bits says nothing: %s',
    (inputs) => {
      const said = saidBy(read(`{"io":{"inputs":${inputs},"degrees":{}}}`));
      for (const sensor of contacts) expect(said[sensor.id]).toBe('bad');
    },
  );

  it('a number in quotation marks, as some modules send it, is a number', () => {
    const said = saidBy(read('{"io":{"inputs":"0"}}'));
    for (const sensor of contacts)
      expect(said[sensor.id]).toBe('yes' in sensor && exampleOf(sensor.yes) === '0');
  });
});

it('Several values in one payload are read by one message, each at its own place', () => {
  const degrees = Object.values(plant.sensors).filter(({ measures }) => measures === 'temperature');
  const body = {
    io: {
      inputs: 0,
      degrees: Object.fromEntries(degrees.map((s, at) => ['vessel' in s ? s.vessel : '', 60 + at])),
    },
  };
  const inputs = read(JSON.stringify(body));
  expect(inputs).toHaveLength(contacts.length + degrees.length);
  expect(inputs.every(({ type }) => type === 'reading')).toBe(true);
});

describe('counters', () => {
  const { plant: marram } = loaded(stationFile('marram-point'));
  const meter = marram.sensors['transfer-meter'];
  if (meter?.measures !== 'total') throw new Error('no such meter');
  const perLitre = 60;
  const marramCodec = codecOf(marram);
  const count = (pulses: number) =>
    marramCodec
      .read(meter.topic, Buffer.from(JSON.stringify({ count: pulses })), false)
      .filter((input) => 'sensor' in input && input.sensor === meter.id);

  it('pulses become litres', () => {
    expect(count(600)).toEqual([{ type: 'reading', sensor: meter.id, value: 600 / perLitre, live: true }]);
  });

  /** What the core books for the route after these counts, ten seconds apart, with the pump feedback saying on. */
  const moved = (...counts: readonly number[]) => {
    let state = initial(marram);
    let bookedL = 0;
    const pump: Input = { type: 'feedback', actuator: 'transfer-pump', on: true, live: true };
    for (const pulses of counts) {
      state = step(marram, state, {
        elapsedMs: 10_000,
        inputs: [{ type: 'link', up: true }, pump, ...count(pulses)],
        tick: true,
      }).state;
      bookedL += state.routes.transfer?.movedLeastL ?? 0;
    }
    return bookedL;
  };

  it('a counter of sixteen bits that wraps goes on counting: the core books what flowed and no more', () => {
    const straight = moved(1000, 1180, 1360);
    const wrapped = moved(65_356, 0, 180);
    expect(straight).toBeGreaterThan(0);
    expect(wrapped).toBeCloseTo(straight, 6);
  });

  it('a counter that starts again from nothing books no flow backwards and not its whole life', () => {
    const reset = moved(40_000, 40_180, 30, 210);
    expect(reset).toBeGreaterThanOrEqual(0);
    expect(reset).toBeLessThanOrEqual((180 + 210) / perLitre + 1);
  });

  it('a status made of it is still plain numbers', () => {
    expect(JSON.stringify(describeState(marram, initial(marram)))).not.toMatch(/NaN|Infinity/u);
  });
});

it('A device that ends its `on` by itself is told for how long, in the unit it wants', () => {
  const { plant: marram } = loaded(stationFile('marram-point'));
  const timed = Object.values(marram.actuators).filter(({ command }) =>
    /\$lease/u.test(JSON.stringify(command.on)),
  );
  expect(timed.length).toBeGreaterThan(2);
  for (const actuator of timed) {
    const text = renderPayload(actuator.command.on, {
      leaseMs: actuator.leaseMs,
      sequence: 7,
      boot: 'b',
      issuedMs: 1,
    });
    expect(readCommand(actuator, text)).toMatchObject({ on: true, leaseMs: actuator.leaseMs });
    expect(text).not.toContain('$');
  }
});
