// A station of four families of general-purpose devices, as `devices` of its file has them, over the simulated water: a whole
// cycle, whoever was there first, through restarts of a device and of the broker, with nobody needed but for the salt.
import { describe, expect, it } from 'vitest';
import { askingOf } from '../../src/bridge/asking.ts';
import { codecOf } from '../../src/bridge/codec.ts';
import type { Input } from '../../src/control/guard/types.ts';
import { rawOf } from '../../src/simulate/scales.ts';
import { resolutionOf } from '../../src/simulate/sensors.ts';
import type { Twin } from '../../src/simulate/twin.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { isNumberSensor } from '../../src/station/kinds.ts';
import { renderPayload } from '../../src/station/payloads.ts';
import type { Plant, Sensor } from '../../src/station/plant.ts';
import { example, plantFrom, spoilt } from '../station/stations.ts';
import { couple } from '../tools/coupled.ts';
import { type Device, EspHome, type Said, Shelly, type Station, Tasmota, Zigbee } from './devices.ts';
import { fittedOn, onDevices } from './fitted.ts';

const DEVICES = {
  valves: { profile: 'tasmota', topic: 'valves', lease: { lasts: '60 s' } },
  pumps: { profile: 'shelly', topic: 'shelly-pumps' },
  board: { profile: 'esphome', topic: 'vat-board', lease: { lasts: '90 s' } },
  plug: { profile: 'zigbee2mqtt', topic: 'zigbee2mqtt/plug', lease: { lasts: '30 s', countedBy: 'device' } },
  tray: { profile: 'zigbee2mqtt', topic: 'zigbee2mqtt/tray' },
  cabinet: { profile: 'zigbee2mqtt', topic: 'zigbee2mqtt/cabinet' },
} as const;
type DeviceName = keyof typeof DEVICES;

const ACTUATORS: Readonly<Record<string, readonly [DeviceName, string?]>> = {
  'master-valve': ['board', 'master'],
  'inlet-valve': ['valves', '1'],
  'pump-contactor': ['board', 'contactor'],
  'transfer-pump': ['pumps', '0'],
  'circulation-pump': ['plug'],
  'supply-pump': ['pumps', '1'],
  'drain-pump': ['pumps', '2'],
  'heater-contactor': ['board', 'heater-contactor'],
  'heater-relay': ['pumps', '3'],
  'top-off-inhibit': ['valves', '2'],
  'alive-lamp': ['board', 'alive'],
};
const SENSORS: Readonly<Record<string, readonly [DeviceName, string]>> = {
  'fresh-low': ['valves', 'Switch1'],
  'fresh-high': ['valves', 'Switch2'],
  'mixing-low': ['valves', 'Switch3'],
  'mixing-high': ['valves', 'Switch4'],
  'system-low': ['valves', 'Switch5'],
  'system-high': ['valves', 'Switch6'],
  'fresh-overflow': ['board', 'binary_sensor/fresh'],
  'mixing-overflow': ['board', 'binary_sensor/mixing'],
  'system-overflow': ['board', 'binary_sensor/sump'],
  'fresh-level': ['board', 'sensor/fresh'],
  'mixing-level': ['board', 'sensor/mixing'],
  'mixing-temperature': ['valves', 'DS18B20/Temperature'],
  'mixing-conductivity': ['board', 'sensor/conductivity'],
  'system-temperature': ['board', 'sensor/display'],
  'top-off': ['pumps', 'input:0/state'],
  'purified-conductivity': ['board', 'sensor/purifier'],
  'inlet-meter': ['valves', 'COUNTER/C1'],
  'transfer-meter': ['pumps', 'input:1/counts/total'],
  'supply-meter': ['pumps', 'input:2/counts/total'],
  'drain-meter': ['pumps', 'input:3/counts/total'],
  'tray-leak': ['tray', 'water_leak'],
  'sump-leak': ['cabinet', 'water_leak'],
};
function familiesFile(): StationFile {
  // Full of purified water: what takes a day otherwise.
  const file = spoilt(example('marram-point'), '/vessels/fresh/initial', {
    contents: '280 L',
    temperature: '18 degC',
  });
  return onDevices(file, { devices: DEVICES, actuators: ACTUATORS, sensors: SENSORS });
}

function deviceOf(name: DeviceName, station: Station): Device {
  const { profile, topic } = DEVICES[name];
  const fitted = fittedOn(name, ACTUATORS, SENSORS);
  if (profile === 'tasmota') return new Tasmota(topic, fitted, station, 60_000);
  const Kind = { shelly: Shelly, esphome: EspHome, zigbee2mqtt: Zigbee }[profile];
  return new Kind(topic, fitted, station);
}

const EPOCH_MS = Date.parse('2026-03-01T06:00:00Z');
const STEP_MS = 5000;

type What = `${DeviceName | 'broker'} ${'down' | 'up'}`;

/** Somebody who restarts things: at a moment, in seconds. */
interface Day {
  readonly devicesFirst: boolean;
  readonly at?: Readonly<Record<number, What>>;
}

function dayOf(plant: Plant, { devicesFirst, at = {} }: Day) {
  let nowMs = 0;
  const codec = codecOf(plant, () => EPOCH_MS + nowMs);
  const asking = askingOf(plant);
  const stored = new Map<string, Said>();
  let fleet: Record<string, Device> | null = null;
  let brokerUp = true;
  const wire: Said[] = [];
  const publish = (said: readonly Said[]) => {
    for (const one of said) {
      if (!brokerUp) continue;
      if (one.retain) stored.set(one.topic, one);
      wire.push({ ...one, retain: false });
    }
  };
  const toDevices = (topic: string, payload: string) => {
    if (brokerUp) for (const device of Object.values(fleet ?? {})) device.hear(topic, payload);
  };
  const bridgeState: Said = {
    topic: 'zigbee2mqtt/bridge/state',
    payload: '{"state":"online"}',
    retain: true,
  };
  const begin = (twin: Twin) => {
    const station: Station = {
      isOn: (id) => twin.relays.contact(id),
      command: (id, on, forMs) => twin.command(id, on, forMs),
      value: (id) => {
        const sensor = plant.sensors[id] as Sensor;
        const value = twin.present(id) ?? 0;
        return isNumberSensor(sensor)
          ? rawOf(plant, sensor, Number(value), resolutionOf(plant, sensor))
          : value === true;
      },
      nowMs: () => EPOCH_MS + twin.world.nowMs,
    };
    fleet = Object.fromEntries(
      (Object.keys(DEVICES) as DeviceName[]).map((name) => [name, deviceOf(name, station)]),
    );
    publish([bridgeState, ...Object.values(fleet).flatMap((device) => device.up())]);
  };
  /** What a service hears that connects: what is stored, as such. */
  const connected = () => {
    asking.anew();
    wire.push(...stored.values());
  };
  const hears = (inputs: readonly Input[]): readonly Input[] => {
    nowMs += STEP_MS;
    for (const message of asking.due(nowMs)) toDevices(message.topic, message.payload);
    for (const device of Object.values(fleet ?? {})) publish(device.speak(nowMs));
    const kept = inputs.filter(({ type }) => type === 'clock' || type === 'echo' || type === 'request');
    const read = wire
      .splice(0)
      .flatMap(({ topic, payload, retain }) => codec.read(topic, new TextEncoder().encode(payload), retain));
    return [...kept, ...read];
  };
  let sequence = 0;
  const coupled = couple(plant, {
    stepMs: STEP_MS,
    hears,
    arrives: (effect) => {
      if (effect.do !== 'command') return true;
      const { command } = plant.actuators[effect.actuator] ?? {};
      if (command === undefined) return false;
      sequence++;
      const values = { leaseMs: effect.leaseMs, sequence, boot: 'b', issuedMs: nowMs };
      toDevices(command.topic, renderPayload(effect.on ? command.on : command.off, values));
      return false;
    },
  });
  if (devicesFirst) {
    begin(coupled.twin);
    // They have spoken, and nobody listened.
    for (const device of Object.values<Device>(fleet ?? {})) device.speak(-1);
    wire.splice(0);
    connected();
  }
  const events = Object.entries(at).map(([s, what]) => ({ atMs: 1000 * Number(s), what }));
  const happen = () => {
    if (!devicesFirst && fleet === null && nowMs >= 60_000) begin(coupled.twin);
    for (const { what } of events.filter((one) => one.atMs === nowMs)) {
      const [who = '', way] = what.split(' ');
      const device = fleet?.[who];
      if (device !== undefined) publish(way === 'down' ? device.down() : device.up());
      if (what === 'broker down') {
        brokerUp = false;
        coupled.setLink(false);
      }
      if (what === 'broker up') {
        brokerUp = true;
        coupled.setLink(true);
        // Devices come back and say that they are there; what was stored is.
        publish(Object.values<Device>(fleet ?? {}).flatMap((device) => device.up()));
        connected();
      }
    }
  };
  return { coupled, happen };
}

const plant = plantFrom(familiesFile());

describe('a station of four families', () => {
  it.each<readonly [string, Day]>([
    ['that was there before the service', { devicesFirst: true }],
    ['that comes a minute after the service', { devicesFirst: false }],
    [
      'whose relays restart amid the work',
      {
        devicesFirst: true,
        at: {
          4200: 'pumps down',
          4240: 'pumps up',
          6000: 'plug down',
          6020: 'plug up',
          7000: 'board down',
          7010: 'board up',
          8000: 'valves down',
          8010: 'valves up',
        },
      },
    ],
    ['whose broker restarts', { devicesFirst: true, at: { 5000: 'broker down', 5030: 'broker up' } }],
  ])(
    '%s makes a batch and delivers it',
    (_, day) => {
      const { coupled, happen } = dayOf(plant, day);
      const done = coupled.run(15 * 3_600_000, ({ state }) => {
        happen();
        return Object.values(state().exchange).some(({ todayL }) => todayL > 0);
      });
      const { log, twin } = coupled;
      const told = log.flatMap(({ effect }) => (effect.do === 'alarm' ? [effect.alarm] : []));
      const trips = log.filter(({ effect }) => effect.do === 'record' && effect.about === 'trip');
      expect({ done, trips, floorL: twin.world.floorL }).toEqual({ done: true, trips: [], floorL: 0 });
      // Nobody else's hand was seen, and no relay stood otherwise than it was told for longer than it may.
      expect(told.filter((alarm) => /^I-(?:23|24)/u.test(alarm))).toEqual([]);
    },
    60_000,
  );
});
