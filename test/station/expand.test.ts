// One device once, and entries that name it: what comes of them is the same station as when everything was written out.
import { describe, expect, it } from 'vitest';
import { expanded } from '../../src/station/expand.ts';
import type { Plant } from '../../src/station/plant.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { PROFILES } from '../../src/station/profiles.ts';
import { errorsOf, least, load, plantFrom, spoilt, textOf } from './stations.ts';

const WRITTEN_OUT = JSON.parse(textOf('test/stations/bench-rig.json'));
const SHORT = textOf('test/stations/bench-rig-devices.json');

/** Without what the two files call by other names. */
const wired = ({ sensors, actuators, routes }: Plant) => ({
  routes,
  sensors: Object.values(sensors).map((sensor) => ({ ...sensor, failureDomain: null })),
  actuators: Object.values(actuators).map((actuator) => ({ ...actuator, failureDomain: null })),
});

describe('the bench rig with its devices said once', () => {
  it('is the same plant as written out, in less than 250 lines', () => {
    const short = plantFrom(JSON.parse(SHORT));
    expect(wired(short)).toEqual(wired(plantFrom(WRITTEN_OUT)));
    expect(SHORT.trimEnd().split('\n').length).toBeLessThan(250);
    expect(new Set(Object.values(short.sensors).map(({ failureDomain }) => failureDomain))).toEqual(
      new Set(['board']),
    );
  });
});

const DEVICES = Object.fromEntries(
  PROFILES.map((profile) => [
    profile,
    { profile, topic: profile === 'zigbee2mqtt' ? 'z/plug' : `my-${profile}` },
  ]),
);
const station = (device: string, channel?: string) => {
  const { command: _, lease: __, feedback: ___, ...pump } = least().actuators['supply-pump'] ?? {};
  const bare = { ...pump, device, ...(channel === undefined ? {} : { channel }) };
  return spoilt(spoilt(least(), '/devices', DEVICES), '/actuators/supply-pump', bare);
};
const relay = (device: string, channel?: string) =>
  plantFrom(station(device, channel)).actuators['supply-pump'];

describe('a relay of a profile', () => {
  it('tasmota: an index, a restart that counts anew, states that are repeated', () => {
    expect(relay('tasmota', '2')).toMatchObject({
      command: { topic: 'cmnd/my-tasmota/POWER2', on: 'ON', off: 'OFF' },
      feedback: {
        topic: 'tele/my-tasmota/STATE',
        at: '/POWER2',
        republishesMs: 10_000,
        availability: [{ topic: 'tele/my-tasmota/LWT', online: ['Online'], offline: ['Offline'] }],
      },
      countsLease: true,
      leaseMs: 30_000,
      longestMs: 60_000,
      failureDomain: 'tasmota',
    });
  });

  it('shelly: the lease in whole seconds, asked where nothing is commanded', () => {
    expect(relay('shelly', '0')).toMatchObject({
      command: { topic: 'my-shelly/command/switch:0', on: 'on,$leaseWholeS', harmless: ['status_update'] },
      feedback: {
        topic: 'my-shelly/status/switch:0',
        on: ['true'],
        ask: { topic: 'my-shelly/command', payload: 'status_update', everyMs: 10_000 },
      },
    });
  });

  it('esphome: a lease on its own topic, which off can not be read as', () => {
    expect(relay('esphome', 'circulation')).toMatchObject({
      command: { topic: 'my-esphome/circulation/lease', on: '+$leaseWholeS', off: '0' },
      feedback: { topic: 'my-esphome/circulation/state', republishesMs: 5000 },
    });
  });

  it('zigbee2mqtt: two availabilities that hold, a stamp, and nobody who counts the lease before it was tried', () => {
    expect(relay('zigbee2mqtt')).toMatchObject({
      command: { topic: 'z/plug/set', on: { state: 'ON', on_time: '$leaseWholeS' } },
      feedback: {
        topic: 'z/plug',
        at: '/state',
        mayLack: true,
        stamp: { at: '/last_seen', format: 'ISO 8601' },
        availability: [
          { topic: 'z/plug/availability', holds: true },
          { topic: 'z/bridge/state', holds: true },
        ],
      },
      countsLease: false,
    });
    expect(relay('zigbee2mqtt', 'l2')).toMatchObject({
      command: { topic: 'z/plug/l2/set' },
      feedback: { at: '/state_l2' },
    });
  });

  it('plain: topics under its own', () => {
    expect(relay('plain', 'p1')).toMatchObject({
      command: { topic: 'my-plain/p1/set' },
      feedback: { topic: 'my-plain/p1' },
    });
  });
});

describe('a sensor of a profile', () => {
  const sensor = (device: string, channel: string, more: object = {}) => {
    const entry = { measures: 'temperature', vessel: 'mixing', unit: 'degC', device, channel, ...more };
    return plantFrom(spoilt(spoilt(least(), '/devices', DEVICES), '/sensors/temperature', entry)).sensors
      .temperature;
  };

  it.each([
    ['tasmota', 'DS18B20/Temperature', 'tele/my-tasmota/SENSOR', '/DS18B20/Temperature', [85]],
    ['shelly', 'temperature:100/tC', 'my-shelly/status/temperature:100', '/tC', []],
    ['esphome', 'sensor/vat', 'my-esphome/sensor/vat/state', null, [85]],
    ['zigbee2mqtt', 'temperature', 'z/plug', '/temperature', []],
    ['plain', 'vat', 'my-plain/vat', null, []],
  ])('%s: %s is %s at %s', (device, channel, topic, at, sentinels) => {
    expect(sensor(device, channel)).toMatchObject({ topic, at, sentinels });
  });

  it('says itself what is otherwise with it', () => {
    expect(
      sensor('tasmota', 'x', { republishes: '1 min', sentinels: [-127], failureDomain: 'tank' }),
    ).toMatchObject({
      republishesMs: 60_000,
      sentinels: [-127],
      failureDomain: 'tank',
    });
  });
});

describe('defaults', () => {
  const file = spoilt(spoilt(least(), '/devices', DEVICES), '/defaults', {
    sensors: { republishes: '7 s', measures: 'temperature' },
    temperature: { unit: 'degC', device: 'plain', channel: '$vessel/$id' },
    routes: { priming: '9 s' },
    pump: { failureDomain: 'pumps' },
  });
  const made = plantFrom(spoilt(file, '/sensors/warmth', { vessel: 'system' }));

  it('count for a section, for a kind, and not where an entry says it itself', () => {
    expect(made.sensors.warmth).toMatchObject({
      measures: 'temperature',
      topic: 'my-plain/system/warmth',
      republishesMs: 7000,
    });
    expect(made.routes.supply?.primingMs).toBe(9000);
    expect(made.actuators['supply-pump']?.failureDomain).toBe('pumps');
    const own = plantFrom(spoilt(file, '/sensors/warmth', { vessel: 'system', republishes: '3 s' }));
    expect(own.sensors.warmth).toMatchObject({ republishesMs: 3000 });
  });

  it('of what is no section and no kind are refused; what does not fit is told at the entry', () => {
    expect(errorsOf(spoilt(least(), '/defaults', { floats: {} })).map(wordsOf)).toEqual([
      expect.stringMatching(/Did you mean "float"\?/u),
    ]);
    const pointers = errorsOf(spoilt(least(), '/defaults', { routes: { primming: '1 s' } })).map(
      ({ pointer }) => pointer,
    );
    expect(pointers).toContain('/routes/supply/primming');
  });
});

describe('slips', () => {
  const told = (file: unknown) => errorsOf(file).map((error) => `${error.pointer} ${wordsOf(error)}`);

  it('an entry without a device says itself where it is heard and commanded', () => {
    const { topic: _, ...total } = least().sensors['supply-total'] ?? {};
    expect(told(spoilt(least(), '/sensors/supply-total', total))).toEqual([
      expect.stringMatching(/^\/sensors\/supply-total .*no "topic" here/u),
    ]);
  });

  it('a device that is not there, and a profile that is not there', () => {
    const gone = spoilt(least(), '/sensors/supply-total/device', 'bord');
    expect(told(spoilt(gone, '/devices', { board: DEVICES.plain }))).toEqual([
      expect.stringMatching(/^\/sensors\/supply-total\/device .*Did you mean "board"\?/u),
    ]);
    expect(told(spoilt(least(), '/devices', { board: { profile: 'tasmotta', topic: 't' } }))).toEqual([
      expect.stringMatching(/^\/devices\/board\/profile .*Did you mean "tasmota"\?/u),
    ]);
  });

  it('feedback that neither entry nor device says whole', () => {
    const fed = spoilt(least(), '/actuators/supply-pump/feedback', { topic: 't/s', on: 'on' });
    expect(told(fed)).toEqual([
      expect.stringMatching(
        /^\/actuators\/supply-pump\/feedback .*no "off" here; accepted: "off", or a "device" that says it/u,
      ),
    ]);
  });

  it('what a device gives and does not fit is told where the entry stands', () => {
    const twice = spoilt(
      spoilt(station('tasmota', '1'), '/actuators/drain-pump', {
        kind: 'pump',
        device: 'tasmota',
        channel: '1',
      }),
      '/devices',
      DEVICES,
    );
    const loaded = load(twice);
    const errors = loaded.ok ? [] : loaded.errors;
    expect(errors.length).toBeGreaterThan(0);
    for (const { line, pointer } of errors) expect([pointer, line > 1]).toEqual([pointer, true]);
  });
});

it('whatever stands for the devices, writing it out throws nothing', () => {
  for (const devices of [
    null,
    [],
    7,
    { a: null },
    { a: [] },
    { a: { profile: {}, topic: 1 } },
    { __proto__: {} },
  ]) {
    for (const defaults of [null, 3, { sensors: 3 }, { float: [] }])
      expect(() => expanded({ defaults, devices, sensors: { x: {} } })).not.toThrow();
    for (const entry of [null, 3, [], { device: 'a' }, { device: '__proto__' }, { device: {} }])
      expect(() => expanded({ devices, sensors: { x: entry }, actuators: { y: entry } })).not.toThrow();
  }
});
