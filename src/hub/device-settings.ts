// What goes into the devices of a station, so that each behaves as its profile says: commands, RPC calls and configuration,
// with the leases of this station filled in, and what the device must answer when it is asked whether it has them. Written from
// the public documentation (Tasmota Commands, Shelly Gen2 API, ESPHome mqtt and script, Zigbee2MQTT devices and groups); no
// real device was tried.
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import type { ProfileName } from '../station/profiles.ts';

/** A question to the device over MQTT, and where its answer must say what. */
export interface Answer {
  readonly topic: string;
  readonly payload: string;
  readonly answeredOn: string;
  readonly at: string;
  readonly is: string | number | boolean;
}

export interface DeviceSettings {
  readonly device: string;
  readonly profile: ProfileName;
  /** Where to put it. */
  readonly into: string;
  readonly lines: readonly string[];
  /** What only a person can do or know. */
  readonly remarks: readonly string[];
  readonly answers: readonly Answer[];
}

interface Relay {
  readonly id: string;
  readonly channel: string;
  readonly leaseS: number;
  readonly countedByDevice: boolean;
  readonly on: string;
  readonly off: string;
}

interface Fitted {
  readonly topic: string;
  readonly relays: readonly Relay[];
  /** Channels. */
  readonly contacts: readonly string[];
  readonly readings: readonly string[];
}
type Printed = Omit<DeviceSettings, 'device' | 'profile'>;

/** @param station as the loader has written it out */
export function deviceSettings(plant: Plant, station: StationFile): readonly DeviceSettings[] {
  return Object.entries(station.devices ?? {}).map(([device, { profile, topic }]) => ({
    device,
    profile,
    ...PRINTERS[profile]({ topic, ...partsOf(device, plant, station) }),
  }));
}

function partsOf(device: string, plant: Plant, station: StationFile): Omit<Fitted, 'topic'> {
  const relays = Object.values(plant.actuators).flatMap(({ id, leaseMs, countsLease, command }) => {
    const entry = station.actuators[id];
    if (entry?.device !== device) return [];
    const [on, off] = [command.on, command.off].map((payload) =>
      typeof payload === 'string' ? payload : JSON.stringify(payload),
    );
    return [
      {
        id,
        channel: entry.channel ?? '',
        leaseS: leaseMs / 1000,
        countedByDevice: countsLease,
        on: on ?? '',
        off: off ?? '',
      },
    ];
  });
  const channels = (isContact: boolean) =>
    Object.values(plant.sensors).flatMap((sensor) => {
      const entry = station.sensors[sensor.id];
      if (entry?.device !== device || 'yes' in sensor !== isContact) return [];
      return entry.channel === undefined ? [] : [entry.channel];
    });
  return { relays, contacts: channels(true), readings: channels(false) };
}

/** The time after which the device must be off though nobody told it. */
const trial = ({ id, leaseS }: Relay): string =>
  `${id}: switch it on once and send nothing more: it must be off after ${leaseS} s, and again after the device was restarted`;
const trials = (relays: readonly Relay[]) => relays.filter((relay) => relay.countedByDevice).map(trial);

/** PulseTime: tenths of a second to 11.1 s, then whole seconds + 100. Rounded up: shorter than its lease none may be. */
export function pulseTimeOf(leaseS: number): number {
  return leaseS <= 11.1 ? Math.ceil(Number((10 * leaseS).toFixed(3))) : Math.ceil(leaseS) + 100;
}

function tasmota({ topic, relays, contacts }: Fitted): Printed {
  const switches = contacts.flatMap((channel) => /^Switch(\d+)$/u.exec(channel)?.[1] ?? []);
  const pulses = relays.map(({ channel, leaseS }) => `PulseTime${channel} ${pulseTimeOf(leaseS)}`);
  const atBoot = relays.map(({ channel }) => `ON Power${channel}#Boot DO Power${channel} 0 ENDON`);
  const asked = (command: string, is: string | number): Answer => ({
    topic: `cmnd/${topic}/${command}`,
    payload: '',
    answeredOn: `stat/${topic}/RESULT`,
    at: `/${command}`,
    is,
  });
  return {
    into: 'its console',
    lines: [
      `Backlog ${['PowerOnState 0', 'SetOption0 0', ...pulses, 'PowerRetain 0', 'ButtonRetain 0', 'SwitchRetain 0', 'SetOption140 0'].join('; ')}`,
      `Backlog ${['TelePeriod 10', 'SetOption59 1', 'SetOption26 1', 'SetOption36 0', 'SetOption65 1', 'SetOption73 1', ...switches.map((n) => `SwitchMode${n} 15`), 'ButtonTopic 0', 'SwitchTopic 0', 'MqttKeepAlive 10'].join('; ')}`,
      ...(relays.length === 0
        ? []
        : [`Rule1 ${[...atBoot, 'ON Mqtt#Disconnected DO Power0 0 ENDON'].join(' ')}`, 'Rule1 1']),
    ],
    remarks: [
      ...trials(relays),
      ...(relays.length === 0
        ? []
        : [
            'A restart without a power cut leaves a relay on and counts its time from the beginning: at worst twice the lease',
          ]),
      ...switches.map((n) => `Switch${n}: move it once and look which word it says when it is wet`),
    ],
    answers: [
      asked('PowerOnState', 0),
      asked('TelePeriod', 10),
      ...relays.map(({ channel, leaseS }) => ({
        ...asked(`PulseTime${channel}`, pulseTimeOf(leaseS)),
        at: `/PulseTime${channel}/Set`,
      })),
    ],
  };
}

function shelly({ topic, relays, contacts, readings }: Fitted): Printed {
  const inputs = [...contacts, ...readings].flatMap((channel) => /^input:(\d+)\//u.exec(channel)?.[1] ?? []);
  const config = (id: string, leaseS: number) => ({
    id: Number(id),
    config: {
      initial_state: 'off',
      auto_on: false,
      auto_off: true,
      // The floor under the lease of each message: ends what a button or a page switched on.
      auto_off_delay: Math.ceil(1.5 * leaseS),
      in_mode: 'detached',
      in_locked: true,
      autorecover_voltage_errors: false,
    },
  });
  const asked = (id: string, key: string, is: string | number | boolean): Answer => ({
    topic: `${topic}/rpc`,
    payload: JSON.stringify({
      id: 1,
      src: 'vatwarden',
      method: 'Switch.GetConfig',
      params: { id: Number(id) },
    }),
    answeredOn: 'vatwarden/rpc',
    at: `/result/${key}`,
    is,
  });
  const contactsAt = new Set(contacts.map((channel) => channel.split('/')[0]));
  return {
    into: 'its RPC console (http://ADDRESS/rpc), a method and its parameters a line',
    lines: [
      ...relays.map(({ channel, leaseS }) => `Switch.SetConfig ${JSON.stringify(config(channel, leaseS))}`),
      ...[...new Set(inputs)].map((id) => {
        const type = contactsAt.has(`input:${id}`) ? 'switch' : 'count';
        return `Input.SetConfig ${JSON.stringify({ id: Number(id), config: { type, factory_reset: false } })}`;
      }),
      `MQTT.SetConfig ${JSON.stringify({ config: { enable: true, topic_prefix: topic, status_ntf: true, rpc_ntf: false, enable_control: true, enable_rpc: true } })}`,
      'Cloud.SetConfig {"config":{"enable":false}}',
      'Shelly.Reboot',
    ],
    remarks: [
      ...trials(relays),
      ...(relays.length === 0
        ? []
        : [
            'Whether a repeated "on" begins its time anew is not documented: switch on twice, half a lease apart, and look',
          ]),
      'Schedules, webhooks, Bluetooth and Matter are further hands: none of them may switch its relays',
    ],
    answers: relays.flatMap(({ channel, leaseS }) => [
      asked(channel, 'initial_state', 'off'),
      asked(channel, 'auto_off', true),
      asked(channel, 'auto_off_delay', Math.ceil(1.5 * leaseS)),
    ]),
  };
}

function esphome({ topic, relays, contacts }: Fitted): Printed {
  const idOf = (channel: string) => channel.replaceAll(/[^a-z0-9]+/giu, '_');
  const each = (make: (relay: Relay, id: string) => readonly string[]) =>
    relays.flatMap((relay) => make(relay, idOf(relay.channel)));
  return {
    into: 'its YAML file; give each switch its pin (one without a boot function, driver active high, pulled down)',
    lines: [
      'mqtt:',
      `  topic_prefix: ${topic}`,
      '  clean_session: true',
      '  discovery: false',
      '  log_topic:',
      ...(relays.length === 0
        ? []
        : [
            '  on_disconnect:',
            '    then:',
            ...each((_, id) => [`      - script.stop: lease_${id}`, `      - switch.turn_off: ${id}`]),
            '  on_message:',
            ...each(({ channel, leaseS }, id) => [
              `    - topic: ${topic}/${channel}/lease`,
              '      qos: 1',
              '      then:',
              '        - if:',
              `            condition: {lambda: 'return atoi(x.c_str()) > 0 && atoi(x.c_str()) <= ${Math.ceil(leaseS)};'}`,
              `            then: [{script.execute: {id: lease_${id}, seconds: !lambda 'return atoi(x.c_str());'}}]`,
              `            else: [{script.stop: lease_${id}}, {switch.turn_off: ${id}}]`,
              `        - mqtt.publish: {topic: ${topic}/${channel}/state, retain: false, qos: 1, payload: !lambda 'return id(${id}).state ? "ON" : "OFF";'}`,
            ]),
            'script:',
            ...each((_, id) => [
              `  - {id: lease_${id}, mode: restart, parameters: {seconds: int}, then: [{switch.turn_on: ${id}}, {delay: !lambda 'return seconds * 1000;'}, {switch.turn_off: ${id}}]}`,
            ]),
            'switch:',
            ...each((_, id) => [
              `  - {platform: gpio, id: ${id}, pin: PIN, restore_mode: ALWAYS_OFF, internal: true}`,
            ]),
            'interval:',
            '  - interval: 5s',
            '    then:',
            ...each(({ channel }, id) => [
              `      - mqtt.publish: {topic: ${topic}/${channel}/state, retain: false, qos: 1, payload: !lambda 'return id(${id}).state ? "ON" : "OFF";'}`,
            ]),
          ]),
    ],
    remarks: [
      ...trials(relays),
      'Leave `api:` out: without a client it restarts the device every 15 min',
      ...contacts.map(
        (channel) =>
          `${topic}/${channel}/state: published on change only, unless an \`interval\` repeats it, retain false`,
      ),
    ],
    answers: [],
  };
}

function zigbee2mqtt({ topic, relays }: Fitted): Printed {
  const friendly = topic.split('/').slice(1).join('/') || topic;
  return {
    into: 'configuration.yaml of the bridge',
    lines: [
      'availability: {enabled: true}',
      'advanced: {cache_state_send_on_startup: false, last_seen: ISO_8601_local}',
      'device_options: {optimistic: false}',
      `# and for ${friendly}, where it has it: power_on_behavior "off"`,
    ],
    remarks: relays.flatMap((relay) => [
      `${relay.id}: whether it counts on_time is a matter of its firmware: switch it on once, pull the coordinator, and take the time; only where it was off after ${relay.leaseS} s, give "countedBy": "device"`,
    ]),
    answers: [],
  };
}

function plain({ relays }: Fitted): Printed {
  return {
    into: 'the device',
    lines: relays.flatMap(({ id, leaseS, on, off, countedByDevice }) => [
      `${id}: on is ${on}, off is ${off}`,
      ...(countedByDevice
        ? [`${id}: off by itself ${leaseS} s after the last "on", and off after every restart`]
        : []),
    ]),
    remarks: trials(relays),
    answers: [],
  };
}

const PRINTERS: Readonly<Record<ProfileName, (fitted: Fitted) => Printed>> = {
  plain,
  tasmota,
  shelly,
  esphome,
  zigbee2mqtt,
};

/** As a person reads it. */
export function settingsLines(all: readonly DeviceSettings[]): readonly string[] {
  if (all.length === 0) return ['The file has no "devices": nothing is known of what goes into them'];
  return all.flatMap(({ device, profile, into, lines, remarks }) => [
    `# ${device} (${profile}): into ${into}`,
    ...lines,
    ...remarks.map((remark) => `# ${remark}`),
    '',
  ]);
}
