// The station for a hub that reads MQTT discovery, held against a checker that was written from the hub's documentation
// (home-assistant.io, integrations "MQTT", "Sensor", "Binary sensor", "Button", as of 2026; device classes and their units from
// its developer documentation), and over a broker: told again to a hub that starts, and withdrawn.
import mqtt from 'mqtt';
import { afterEach, describe, expect, it } from 'vitest';
import { accountsOf } from '../../src/hub/accounts.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import { startHomie } from '../../src/hub/homie.ts';
import { shortMemory } from '../../src/hub/memory.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { listLog, until } from '../bridge/rig.ts';
import { embedded } from '../tools/brokers.ts';
import { EXAMPLES, plantOf, shownOf } from './stations.ts';

const ANNOUNCE = { discovery: {} };
type Config = Readonly<Record<string, unknown>>;

const COMMON = [
  'name',
  'unique_id',
  'availability',
  'availability_mode',
  'device',
  'origin',
  'entity_category',
  'enabled_by_default',
  'qos',
  'default_entity_id',
  'icon',
];
const OPTIONS: Readonly<
  Record<string, { readonly may: readonly string[]; readonly must: readonly string[] }>
> = {
  sensor: {
    must: ['state_topic'],
    may: [
      'value_template',
      'device_class',
      'state_class',
      'unit_of_measurement',
      'options',
      'expire_after',
      'suggested_display_precision',
    ],
  },
  binary_sensor: {
    must: ['state_topic'],
    may: ['value_template', 'device_class', 'payload_on', 'payload_off', 'expire_after'],
  },
  button: { must: ['command_topic'], may: ['payload_press', 'device_class', 'retain', 'command_template'] },
};
const UNITS: Readonly<Record<string, readonly string[]>> = {
  duration: ['d', 'h', 'min', 's', 'ms'],
  volume_storage: ['L', 'mL', 'm³', 'gal', 'ft³', 'CCF', 'fl. oz.'],
  temperature: ['°C', '°F', 'K'],
  weight: ['kg', 'g', 'mg', 'µg', 'oz', 'lb', 'st'],
};
const BINARY = ['problem', 'moisture', 'connectivity', 'running', 'heat', 'safety', 'opening'];

/** What the documentation would not have. */
function faultsOf(topic: string, config: Config): readonly string[] {
  const [, component = '', id = '', end, ...more] = topic.split('/');
  const options = OPTIONS[component];
  if (options === undefined || end !== 'config' || more.length > 0)
    return [`${topic}: no topic of discovery`];
  const {
    device_class: kind,
    unit_of_measurement: unit,
    state_class: course,
    availability,
    device,
    origin,
  } = config;
  const knows = (key: string) => [...COMMON, ...options.may, ...options.must].includes(key);
  const told = (condition: boolean, words: string) => (condition ? [] : [`${topic}: ${words}`]);
  return [
    ...told(/^[A-Za-z0-9_-]+$/u.test(id), 'an id with other signs than letters, digits, _ and -'),
    ...Object.keys(config).flatMap((key) => told(knows(key), `no option ${key}`)),
    ...options.must.flatMap((key) => told(typeof config[key] === 'string', `no ${key}`)),
    ...told(
      typeof config.unique_id === 'string' && typeof config.name === 'string',
      'no unique_id or no name',
    ),
    ...told(((device as Config)?.identifiers as unknown[])?.length > 0, 'a device without identifiers'),
    ...told(typeof (origin as Config)?.name === 'string', 'an origin without a name'),
    ...told(
      Array.isArray(availability) && availability.every((one) => typeof one.topic === 'string'),
      'availability',
    ),
    ...told(['all', 'any', 'latest'].includes(String(config.availability_mode)), 'availability_mode'),
    ...told(
      [undefined, 'diagnostic', 'config'].includes(config.entity_category as string),
      'entity_category',
    ),
    ...(component === 'sensor'
      ? [
          ...told(
            kind !== 'enum' || (Array.isArray(config.options) && unit === undefined && course === undefined),
            'enum',
          ),
          ...told(
            kind === 'enum' || kind === undefined || (UNITS[String(kind)] ?? []).includes(String(unit)),
            `${String(unit)} is no unit of ${String(kind)}`,
          ),
          ...told(
            [undefined, 'measurement', 'total', 'total_increasing'].includes(course as string),
            'state_class',
          ),
          ...told(course === undefined || unit !== undefined, 'a state_class without a unit'),
        ]
      : []),
    ...(component === 'binary_sensor'
      ? told(kind === undefined || BINARY.includes(String(kind)), 'device_class')
      : []),
    ...(component === 'button' ? told(config.retain !== true, 'a stored command') : []),
  ];
}

const messagesOf = (example: (typeof EXAMPLES)[number]) =>
  wiringOf(plantOf(example), { announce: ANNOUNCE }).announcements.map(({ topic, payload }) => ({
    topic,
    config: JSON.parse(payload) as Config,
  }));

describe('discovery', () => {
  it.each(EXAMPLES)('of %s fits the documentation, each entity once, all of one device', (name) => {
    const messages = messagesOf(name);
    expect(messages.flatMap(({ topic, config }) => faultsOf(topic, config))).toEqual([]);
    expect(new Set(messages.map(({ config }) => config.unique_id)).size).toBe(messages.length);
    expect(new Set(messages.map(({ config }) => JSON.stringify(config.device))).size).toBe(1);
  });

  it('shows some 25 entities unless somebody wants more, and no raw relay', () => {
    const messages = messagesOf('marram-point');
    const shown = messages.filter(({ config }) => config.enabled_by_default !== false);
    expect(shown.length).toBeGreaterThanOrEqual(22);
    expect(shown.length).toBeLessThanOrEqual(32);
    const commands = Object.values(plantOf('marram-point').actuators).map(({ command }) => command.topic);
    for (const { config } of messages) expect(commands).not.toContain(config.command_topic);
  });

  it('the checker sees what does not fit', () => {
    const [first] = messagesOf('one-vat');
    const { topic, config } = first ?? { topic: '', config: {} };
    const faults = (more: Config, at = topic) => faultsOf(at, { ...config, ...more });
    expect(faults({})).toEqual([]);
    expect(faults({ device_class: 'wet' })).toHaveLength(1);
    expect(faults({ objekt_id: 1 })).toHaveLength(1);
    expect(faults({}, 'homeassistant/binary_sensor/a b/config')).toHaveLength(1);
    const sensor = topic.replace('binary_sensor', 'sensor');
    expect(faults({ device_class: 'duration', unit_of_measurement: 'PT' }, sensor)).toHaveLength(1);
    expect(faults({ device_class: undefined, state_class: 'measurement' }, sensor)).toHaveLength(1);
  });

  it('is not there unless the file asks for it, and gives nobody a right', () => {
    const plant = plantOf('marram-point');
    expect(wiringOf(plant, {}).announcements).toEqual([]);
    const hub = (announce: object) =>
      accountsOf(wiringOf(plant, { announce })).find(({ name }) => name.endsWith('-hub'));
    expect(hub({})?.writes).not.toContain('homeassistant/status');
    expect(hub(ANNOUNCE)?.writes).toContain('homeassistant/status');
    expect(hub(ANNOUNCE)?.reads).toContain('vatwarden/marram-point/status');
  });
});

describe('over a broker', () => {
  const cleanups: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const clean of cleanups.splice(0).reverse()) await clean();
  });

  it('is told again to a hub that starts, and withdrawn when it is taken out of the file', async () => {
    const plant = plantOf('one-vat');
    const broker = await embedded();
    cleanups.push(broker.close);
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const hub = await mqtt.connectAsync(url);
    cleanups.push(() => hub.endAsync(true));
    const heard: { topic: string; text: string }[] = [];
    hub.on('message', (topic, payload) => heard.push({ topic, text: payload.toString() }));
    await hub.subscribeAsync('homeassistant/+/+/config');
    const memory = shortMemory();
    const begin = (announce: object) => {
      const { announcements } = wiringOf(plant, { announce });
      const side = startHomie({
        device: deviceOf(plant, announce),
        announcements,
        access: { url, version: 4, clientId: 'homie-side' },
        memory,
        boot: 'b0',
        chance: () => 0,
        log: listLog(),
      });
      cleanups.push(side.close);
      return { side, count: announcements.length };
    };
    const say = (topic: string, payload: string) =>
      hub.publishAsync(`vatwarden/${plant.id}/${topic}`, payload, { retain: true });
    await say('status', JSON.stringify(shownOf(plant).status));
    await say('online', 'online');
    const { side, count } = begin(ANNOUNCE);
    expect(count).toBeGreaterThan(10);
    await until(() => heard.length >= count, 'the hub has heard', 8000);
    await until(() => side.isReady(), 'the hub has heard', 8000);
    await hub.publishAsync('homeassistant/status', 'online');
    await until(() => heard.length >= 2 * count, 'the hub has heard', 8000);
    await hub.publishAsync('homeassistant/status', 'offline');
    await side.close();
    expect(heard).toHaveLength(2 * count);
    begin({});
    await until(() => heard.filter(({ text }) => text === '').length >= count, 'the hub has heard', 8000);
    expect(heard).toHaveLength(3 * count);
  });
});
