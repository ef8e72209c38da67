// The bench rig's station on devices of the four families. The water is another process behind a broker of its own, with the
// payloads of the rig; here each device stands between the two, as its firmware would: it counts its leases itself.
import type { MqttClient } from 'mqtt';
import mqtt from 'mqtt';
import type { StationFile } from '../../src/station/file/station.ts';
import { textOf } from '../station/stations.ts';
import { type Device, EspHome, type Said, Shelly, type Station, Tasmota, Zigbee } from './devices.ts';
import { fittedOn, onDevices, type Parts } from './fitted.ts';

/** A bench's vats fill in a minute: what the families do every 10 s they do every second here. */
const EVERY_MS = 1000;
const LEASE = { lasts: '3 s', countedBy: 'device' } as const;
const HABITS = { republishes: '1 s', believe: { start: '1 s' }, feedback: { within: '2 s' } } as const;
const every = (topic: string, payload: string) => ({ ask: { topic, payload, every: '1 s' } });

const DEVICES = {
  valves: { profile: 'tasmota', topic: 'valves', lease: LEASE, ...HABITS },
  pumps: {
    profile: 'shelly',
    topic: 'shelly-pumps',
    lease: LEASE,
    ...every('shelly-pumps/command', 'status_update'),
    feedback: { within: '2 s' },
  },
  board: { profile: 'esphome', topic: 'vat-board', lease: LEASE, ...HABITS },
  plug: {
    profile: 'zigbee2mqtt',
    topic: 'zigbee2mqtt/plug',
    lease: LEASE,
    ...every('zigbee2mqtt/plug/get', '{"state":""}'),
    feedback: { within: '2 s' },
  },
  // Fed by the mains, so that it answers.
  tray: {
    profile: 'zigbee2mqtt',
    topic: 'zigbee2mqtt/tray',
    ...every('zigbee2mqtt/tray/get', '{"water_leak":""}'),
  },
} as const;
export type DeviceName = keyof typeof DEVICES;
export const DEVICE_NAMES = Object.keys(DEVICES) as readonly DeviceName[];

const ACTUATORS: Parts = {
  master: ['valves', '1'],
  fill: ['valves', '2'],
  transfer: ['pumps', '0'],
  supply: ['pumps', '1'],
  circulate: ['board', 'circulation'],
  heater: ['board', 'heater'],
  drain: ['plug'],
};
const SENSORS: Parts = {
  'fresh-low': ['valves', 'Switch1'],
  'fresh-high': ['valves', 'Switch2'],
  'fresh-overflow': ['board', 'binary_sensor/fresh-over'],
  'fresh-level': ['board', 'sensor/fresh-level'],
  'mixing-low': ['valves', 'Switch3'],
  'mixing-high': ['valves', 'Switch4'],
  'mixing-overflow': ['board', 'binary_sensor/mixing-over'],
  'mixing-temperature': ['valves', 'DS18B20/Temperature'],
  'mixing-conductivity': ['board', 'sensor/conductivity'],
  'system-low': ['valves', 'Switch5'],
  'system-high': ['valves', 'Switch6'],
  'system-temperature': ['board', 'sensor/system'],
  'inlet-flow': ['board', 'sensor/inlet'],
  'transfer-meter': ['pumps', 'input:0/counts/total'],
  'supply-total': ['pumps', 'input:1/counts/total'],
  'drain-total': ['board', 'sensor/drain'],
  'tray-leak': ['tray', 'water_leak'],
};

/** Where the rig says each value, and how. */
const SAID: Readonly<Record<string, readonly [topic: string, read: (text: string) => number | boolean]>> = {
  'fresh-low': ['fresh/float/low', (text) => text === '1'],
  'fresh-high': ['fresh/float/high', (text) => text === 'WET'],
  'fresh-overflow': ['fresh/float/over', (text) => JSON.parse(text).contact === 'open'],
  'fresh-level': ['fresh/level', (text) => JSON.parse(text).mm],
  'mixing-low': ['mixing/float/low', (text) => text === 'ON'],
  'mixing-high': ['mixing/float/high', (text) => text === 'true'],
  'mixing-overflow': ['mixing/float/over', (text) => JSON.parse(text).state.wet],
  'mixing-temperature': ['mixing/probe', (text) => JSON.parse(text).t_c],
  'mixing-conductivity': ['mixing/probe', (text) => JSON.parse(text).ec_us],
  'system-low': ['system/float/low', (text) => text === 'ok'],
  'system-high': ['system/float/high', (text) => text === 'high'],
  'system-temperature': ['system/temperature', Number],
  'inlet-flow': ['inlet/flow', Number],
  'transfer-meter': ['transfer/meter', (text) => JSON.parse(text).pulses],
  'supply-total': ['supply/total', Number],
  'drain-total': ['drain/total', Number],
  'tray-leak': ['tray/leak', (text) => text === 'wet'],
};
/** How the rig is told; what drops out by itself there is told again in time while its device holds it on. */
const TOLD: Readonly<Record<string, readonly [on: string, off: string]>> = {
  master: ['1', '0'],
  circulate: ['ON', 'OFF'],
  drain: ['ON', 'OFF'],
};
const LEASED = ['{"on":true,"for_ms":3000}', '{"on":false}'] as const;
const AGAIN_MS = 1000;

/** As the rig itself speaks. */
export const rigFile = (): StationFile => JSON.parse(textOf('test/stations/bench-rig.json'));

export function benchFile(more: (file: StationFile) => StationFile): StationFile {
  return onDevices(more(rigFile()), { devices: DEVICES, actuators: ACTUATORS, sensors: SENSORS });
}

interface Driven {
  readonly untilMs: number;
  readonly toldMs: number;
}

/** What the devices are wired to. @param client on the broker of the water */
export function waterBehind(client: MqttClient): { readonly station: Station; readonly turn: () => void } {
  const said = new Map<string, string>();
  const driven = new Map<string, Driven>();
  client.on('message', (topic, payload) => void said.set(topic.replace('rig/', ''), payload.toString()));
  const tell = (id: string, on: boolean) => {
    const [yes, no] = TOLD[id] ?? LEASED;
    client.publish(`rig/${id}/cmd`, on ? yes : no, { qos: 1 });
  };
  return {
    station: {
      isOn: (id) => said.get(`${id}/state`) === 'on',
      command: (id, on, forMs) => {
        const nowMs = performance.now();
        if (on) driven.set(id, { untilMs: nowMs + forMs, toldMs: nowMs });
        else driven.delete(id);
        tell(id, on);
      },
      value: (id) => {
        const [topic, read] = SAID[id] ?? ['', () => false];
        const text = said.get(topic);
        // A device says nothing before its probe has answered: nobody starts one before the water has spoken.
        return text === undefined ? false : read(text);
      },
      nowMs: () => Date.now(),
    },
    turn: () => {
      const nowMs = performance.now();
      for (const [id, { untilMs, toldMs }] of driven) {
        if (nowMs >= untilMs) {
          driven.delete(id);
          tell(id, false);
        } else if (nowMs - toldMs >= AGAIN_MS) {
          driven.set(id, { untilMs, toldMs: nowMs });
          tell(id, true);
        }
      }
    },
  };
}

function deviceOf(name: DeviceName, station: Station): Device {
  const { profile, topic } = DEVICES[name];
  const fitted = fittedOn(name, ACTUATORS, SENSORS);
  if (profile === 'tasmota') return new Tasmota(topic, fitted, station, 3000, EVERY_MS);
  if (profile === 'esphome') return new EspHome(topic, fitted, station, EVERY_MS);
  return profile === 'shelly' ? new Shelly(topic, fitted, station) : new Zigbee(topic, fitted, station);
}
const LISTENS_TO = {
  tasmota: (topic: string) => `cmnd/${topic}/#`,
  shelly: (topic: string) => `${topic}/command/#`,
  esphome: (topic: string) => `${topic}/+/lease`,
  zigbee2mqtt: (topic: string) => `${topic}/#`,
} as const;

/** A device with its power and its connection. */
export interface Node {
  readonly start: () => void;
  /** The power goes: nobody says good-bye. */
  readonly cut: () => Promise<void>;
  readonly speak: () => void;
}

export function nodeOf(name: DeviceName, station: Station, url: string): Node {
  const { profile, topic } = DEVICES[name];
  const device = deviceOf(name, station);
  let client: MqttClient | null = null;
  const publish = (all: readonly Said[]) => {
    if (client?.connected !== true) return;
    for (const { topic: to, payload, retain } of all) client.publish(to, payload, { retain });
  };
  const speak = () => {
    if (client?.connected === true) publish(device.speak(performance.now()));
  };
  return {
    speak,
    start: () => {
      const { topic: to, payload, retain } = device.will;
      client = mqtt.connect(url, {
        clientId: `device-${name}`,
        keepalive: 5,
        reconnectPeriod: 500,
        queueQoSZero: false,
        will: { topic: to, payload: Buffer.from(payload), qos: 0, retain },
      });
      client.on('error', () => {});
      client.on('connect', () => {
        client?.subscribe(LISTENS_TO[profile](topic), { qos: 1 });
        publish(device.up());
        speak();
      });
      client.on('message', (from, said, { retain: isStored }) => {
        if (!isStored) device.hear(from, said.toString());
        speak();
      });
    },
    cut: async () => {
      device.down();
      client?.stream.destroy();
      await client?.endAsync(true);
      client = null;
    },
  };
}

/** The bridge before the two that speak by radio: its own state, and its own will. */
export function bridgeAt(url: string): MqttClient {
  const topic = 'zigbee2mqtt/bridge/state';
  const state = (is: string) => JSON.stringify({ state: is });
  const client = mqtt.connect(url, {
    clientId: 'bridge',
    keepalive: 5,
    reconnectPeriod: 500,
    will: { topic, payload: Buffer.from(state('offline')), qos: 0, retain: true },
  });
  client.on('error', () => {});
  client.on('connect', () => client.publish(topic, state('online'), { retain: true }));
  return client;
}
