// A station file whose entries stand on devices of the four families: what each entry said of its wire goes, and the device and
// its part come.
import type { StationFile } from '../../src/station/file/station.ts';
import type { Fitted } from './devices.ts';

export type Parts = Readonly<Record<string, readonly [device: string, channel?: string]>>;

export interface Fitting {
  readonly devices: Readonly<Record<string, { readonly profile: keyof typeof WORDS }>>;
  readonly actuators: Parts;
  readonly sensors: Parts;
}

/** Words for true and false of each family's contacts. */
const WORDS = {
  tasmota: ['ON', 'OFF'],
  esphome: ['ON', 'OFF'],
  shelly: [true, false],
  zigbee2mqtt: [true, false],
} as const;
const WIRE = [
  'topic',
  'at',
  'republishes',
  'maxAge',
  'availability',
  'failureDomain',
  'bit',
  'command',
  'lease',
  'feedback',
  'believe',
];

const without = (entry: object) =>
  Object.fromEntries(Object.entries(entry).filter(([key]) => !WIRE.includes(key)));

export function onDevices(file: StationFile, { devices, actuators, sensors }: Fitting): StationFile {
  const entry = (written: object | undefined, device: string, channel?: string): object => {
    const [yes, no] = WORDS[devices[device]?.profile ?? 'tasmota'];
    const bare = without(written ?? {});
    const words =
      'wet' in bare ? { wet: yes, dry: no } : 'running' in bare ? { running: yes, resting: no } : {};
    return { ...bare, device, ...(channel === undefined ? {} : { channel }), ...words };
  };
  const all = (parts: Parts, written: Readonly<Record<string, object>>) =>
    Object.fromEntries(
      Object.entries(parts).map(([id, [device, channel]]) => [id, entry(written[id], device, channel)]),
    );
  return {
    ...file,
    devices,
    sensors: all(sensors, file.sensors),
    actuators: all(actuators, file.actuators),
  } as unknown as StationFile;
}

export function fittedOn(name: string, actuators: Parts, sensors: Parts): Fitted {
  const of = (parts: Parts) =>
    Object.fromEntries(
      Object.entries(parts).flatMap(([id, [device, channel = 'state']]) =>
        device === name ? [[channel, id]] : [],
      ),
    );
  return { relays: of(actuators), sensors: of(sensors) };
}
