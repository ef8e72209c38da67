// How families of general-purpose devices speak MQTT, each once: what a relay and what a sensor of one is on the wire. Public
// wire formats; what has to be set in the device so that it speaks like that stands in schemas/README.md.
//
// `$channel` is the part of the device that an entry names; where it has slashes, `$part` is what stands before the first and
// `$rest` what follows. `$topic` is the device's own name, and `$base` what stands before its first slash.

/** Of an entry, as a file would have it. */
type Entry = Readonly<Record<string, unknown>>;

interface Profile {
  /** Of everything that it has. */
  readonly all: Entry;
  readonly relay: Entry;
  /** By the number of levels that `channel` may have: a whole device that is one relay has none. */
  readonly relayAlone?: Entry;
  readonly sensor: Entry;
  /** What sensors of one kind have besides. */
  readonly kinds?: Readonly<Record<string, Entry>>;
  readonly lease: Entry;
}

const onlineAt = (topic: string, online: string, offline: string) => ({ topic, online, offline });
const bridged = (topic: string) => ({ ...onlineAt(topic, 'online', 'offline'), at: '/state', holds: true });
/** What a failed reading of a DS18B20 looks like (its power-on value). */
const POWER_ON_VALUE = { temperature: { sentinels: [85] } };

const TABLE = {
  plain: {
    all: {},
    relay: {
      command: { topic: '$topic/$channel/set', on: { on: true, seconds: '$leaseS' }, off: { on: false } },
      feedback: { topic: '$topic/$channel', on: 'on', off: 'off' },
    },
    sensor: { topic: '$topic/$channel' },
    lease: { lasts: '30 s', countedBy: 'nobody' },
  },
  // PulseTime ends an `on`, and begins anew after a warm restart. TelePeriod 10 repeats; SetOption26 1 keeps the index.
  tasmota: {
    all: { availability: onlineAt('tele/$topic/LWT', 'Online', 'Offline'), republishes: '10 s' },
    relay: {
      command: { topic: 'cmnd/$topic/POWER$channel', on: 'ON', off: 'OFF' },
      feedback: { topic: 'tele/$topic/STATE', at: '/POWER$channel', on: 'ON', off: 'OFF' },
    },
    sensor: { topic: 'tele/$topic/SENSOR', at: '/$channel' },
    kinds: POWER_ON_VALUE,
    lease: { lasts: '30 s', countedBy: 'device', restartsInFull: true },
  },
  // Speaks only on change: asked every 10 s, on a topic that is nobody's command.
  shelly: {
    all: {
      availability: onlineAt('$topic/online', 'true', 'false'),
      ask: { topic: '$topic/command', payload: 'status_update', every: '10 s' },
    },
    relay: {
      command: {
        topic: '$topic/command/switch:$channel',
        on: 'on,$leaseWholeS',
        off: 'off',
        harmless: ['status_update'],
      },
      feedback: { topic: '$topic/status/switch:$channel', at: '/output', on: true, off: false },
    },
    sensor: { topic: '$topic/status/$part', at: '/$rest' },
    lease: { lasts: '30 s', countedBy: 'device' },
  },
  // A script with `mode: restart` counts the lease; an `interval` of 5 s repeats the states.
  esphome: {
    all: { availability: onlineAt('$topic/status', 'online', 'offline') },
    relay: {
      command: { topic: '$topic/$channel/lease', on: '+$leaseWholeS', off: '0' },
      feedback: { topic: '$topic/$channel/state', on: 'ON', off: 'OFF', republishes: '5 s' },
    },
    sensor: { topic: '$topic/$channel/state', republishes: '60 s' },
    kinds: POWER_ON_VALUE,
    lease: { lasts: '30 s', countedBy: 'device' },
  },
  // A bridge that may repeat old values as new ones (stamp, holds) and may send parts (mayLack). Whether a plug counts `on_time`
  // is a matter of its firmware: nobody counts it before somebody has tried, and has said so in `lease`.
  zigbee2mqtt: {
    all: {
      availability: [bridged('$topic/availability'), bridged('$base/bridge/state')],
      stamp: { at: '/last_seen', format: 'ISO 8601' },
      mayLack: true,
    },
    relay: {
      command: {
        topic: '$topic/$channel/set',
        on: { state: 'ON', on_time: '$leaseWholeS' },
        off: { state: 'OFF' },
      },
      feedback: {
        topic: '$topic',
        at: '/state_$channel',
        on: 'ON',
        off: 'OFF',
        ask: { topic: '$topic/get', payload: '{"state_$channel":""}', every: '20 s' },
      },
    },
    relayAlone: {
      command: { topic: '$topic/set', on: { state: 'ON', on_time: '$leaseWholeS' }, off: { state: 'OFF' } },
      feedback: {
        topic: '$topic',
        at: '/state',
        on: 'ON',
        off: 'OFF',
        ask: { topic: '$topic/get', payload: '{"state":""}', every: '20 s' },
      },
    },
    sensor: { topic: '$topic', at: '/$channel' },
    lease: { lasts: '30 s', countedBy: 'nobody' },
  },
} as const satisfies Readonly<Record<string, Profile>>;

export type ProfileName = keyof typeof TABLE;
export const PROFILES = Object.keys(TABLE) as readonly ProfileName[];
export const profileOf = (name: unknown): Profile | undefined =>
  typeof name === 'string' && Object.hasOwn(TABLE, name) ? TABLE[name as ProfileName] : undefined;
