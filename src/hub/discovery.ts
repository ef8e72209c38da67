// The station as one device of a hub that reads MQTT discovery messages (the public form that Home Assistant documents and
// openHAB reads as well): one message an entity, all of one device. What an entity shows is taken out of the service's own
// status by the hub, so nothing is said twice on the wire; what it asks goes to the set topics of the Homie side, which may
// ask and never command. No raw relay is among them.
import type { Plant } from '../station/plant.ts';
import { type Announcement, RELEASE } from './announcements.ts';
import type { Device, Property } from './model.ts';
import { UNTOLD_STATES } from './row.ts';

type Component = 'sensor' | 'binary_sensor' | 'button';

export interface Entity {
  readonly component: Component;
  readonly id: string;
  readonly name: string;
  readonly config: Readonly<Record<string, unknown>>;
}

/** Nothing where the file does not ask for it. */
export function discoveryOf(plant: Plant, device: Device): readonly Announcement[] {
  const { discovery } = device;
  if (discovery === null) return [];
  return entitiesOf(plant, device).map(({ component, id, name, config }) => ({
    topic: `${discovery.prefix}/${component}/${uniqueId(plant, id)}/config`,
    payload: JSON.stringify({
      name,
      unique_id: uniqueId(plant, id),
      ...config,
      availability: [
        { topic: own(plant, 'online') },
        {
          topic: `${device.root}/$state`,
          value_template: "{{ 'online' if value == 'ready' else 'offline' }}",
        },
      ],
      availability_mode: 'all',
      device: {
        identifiers: [`vatwarden-${plant.id}`],
        name: plant.name,
        model: 'Vatwarden',
        sw_version: RELEASE,
      },
      origin: { name: 'Vatwarden', sw_version: RELEASE },
    }),
  }));
}

const own = (plant: Plant, topic: string) => `vatwarden/${plant.id}/${topic}`;
const uniqueId = (plant: Plant, id: string) =>
  `vatwarden-${plant.id}-${id}`.replaceAll(/[^A-Za-z0-9_-]/gu, '-');

/** What is not known is told as unknown, and never as the last value. */
const orNone = (path: string, told = path) => `{{ ${told} if ${path} is not none else none }}`;
const HIDDEN = { enabled_by_default: false };
const DIAGNOSTIC = { entity_category: 'diagnostic' };
const whether = (condition: string, unknown?: string) =>
  unknown === undefined
    ? `{{ 'ON' if ${condition} else 'OFF' }}`
    : `{{ none if ${unknown} else ('ON' if ${condition} else 'OFF') }}`;

/** Electricity first, as on every surface; a hub keeps 255 characters of a state. */
const inWords = (alarms: string): string =>
  `{% set told %}{% for alarm in ${alarms} %}` +
  `{% for one in alarm.response.steps if one.step == 'first' %}{{ one.text }} {% endfor %}` +
  `{{ alarm.message.text }}; {% endfor %}{% endset %}{{ told[:255] }}`;

export function entitiesOf(plant: Plant, device: Device): readonly Entity[] {
  const status = own(plant, 'status');
  const shown =
    (component: Component) =>
    (id: string, name: string, template: string, more: object = {}): Entity => ({
      component,
      id,
      name,
      config: { state_topic: status, value_template: template, ...more },
    });
  const sensor = shown('sensor');
  const contact = shown('binary_sensor');
  const told = `value_json.alarms | rejectattr('state', 'in', ${JSON.stringify(UNTOLD_STATES).replaceAll('"', "'")})`;
  const minutes = { device_class: 'duration', unit_of_measurement: 'min', state_class: 'measurement' };
  const atPriority = (priority: string) =>
    whether(`${told} | selectattr('priority', 'eq', '${priority}') | list | count > 0`);

  const station = [
    contact('urgent', 'Urgent alarm', atPriority('urgent'), { device_class: 'problem' }),
    contact('soon', 'Alarm, look soon', atPriority('soon'), { device_class: 'problem' }),
    contact('notice', 'Notice', atPriority('notice'), { device_class: 'problem' }),
    sensor('words', 'Alarms in words', inWords(told)),
    contact('trips', 'Safety shutdown', whether('value_json.trips | count > 0'), { device_class: 'problem' }),
    sensor('task', 'Task', "{{ value_json.task.task if value_json.task else 'none' }}", {
      device_class: 'enum',
      options: ['none', 'add-salt', 'measure-salinity', 'look'],
    }),
    sensor(
      'task-words',
      'Task in words',
      "{{ (value_json.task.message.text if value_json.task else '')[:255] }}",
    ),
    sensor(
      'salt-mass',
      'Salt to add',
      '{{ value_json.task.massKg if value_json.task and value_json.task.massKg is defined else none }}',
      {
        device_class: 'weight',
        unit_of_measurement: 'kg',
      },
    ),
    sensor(
      'ready-in',
      'Batch ready in',
      orNone('value_json.forecast.readyInMs', '(value_json.forecast.readyInMs / 60000) | round(0)'),
      minutes,
    ),
    contact('waits', 'Waits for a person', whether('value_json.forecast.waitsForPerson')),
    sensor('stage', 'Stage of the batch', orNone('value_json.units.batch.stage')),
    sensor('reserve', 'Reserve', '{{ (100 * value_json.forecast.reserveShare) | round(1) }}', {
      unit_of_measurement: '%',
      state_class: 'measurement',
    }),
    contact('link', 'Link to the broker', whether('value_json.link.proven'), {
      device_class: 'connectivity',
      ...DIAGNOSTIC,
    }),
    sensor('unknown', 'What nobody knows', "{{ (value_json.unknown | join('; '))[:255] }}", {
      ...DIAGNOSTIC,
      ...HIDDEN,
    }),
  ];
  const vessels = Object.values(plant.vessels).filter(({ capacityL }) => Number.isFinite(capacityL));
  const contents = vessels.flatMap(({ id, name, capacityL, temperature, role }) => {
    const at = `value_json.vessels['${id}']`;
    return [
      sensor(`${id}-litres`, `${name}, at least`, `{{ ${at}.leastL }}`, {
        device_class: 'volume_storage',
        unit_of_measurement: 'L',
        state_class: 'measurement',
      }),
      sensor(
        `${id}-percent`,
        `${name}, at least, share`,
        `{{ (100 * ${at}.leastL / ${capacityL}) | round(0) }}`,
        {
          unit_of_measurement: '%',
          state_class: 'measurement',
          ...(role === 'system' ? HIDDEN : {}),
        },
      ),
      ...(temperature === null
        ? []
        : [
            sensor(`${id}-temperature`, `${name}, temperature`, orNone(`${at}.temperatureC`), {
              device_class: 'temperature',
              unit_of_measurement: '°C',
              state_class: 'measurement',
            }),
          ]),
      ...(role === 'mixing'
        ? [
            sensor(`${id}-salinity`, `${name}, salinity`, orNone(`${at}.salinity`), {
              unit_of_measurement: 'PSU',
              state_class: 'measurement',
            }),
          ]
        : []),
    ];
  });
  const wet = Object.values(plant.sensors).flatMap((one) => {
    if (one.measures !== 'leak' && one.measures !== 'float') return [];
    const at = `value_json.sensors['${one.id}']`;
    const more = one.measures === 'leak' ? { device_class: 'moisture' } : { ...DIAGNOSTIC, ...HIDDEN };
    return [contact(one.id, one.name, whether(`${at}.value`, `not ${at}.fresh`), more)];
  });
  return [...station, ...contents, ...wet, ...buttonsOf(device.properties)];
}

/** What a person may press: the set topic that the Homie side has for it, with a value that means it. */
function buttonsOf(properties: readonly Property[]): readonly Entity[] {
  return properties.flatMap(({ node, nodeName, id, setTopic }) => {
    if (setTopic === null) return [];
    const press = (key: string, name: string, payload: string): Entity => ({
      component: 'button',
      id: key,
      name,
      config: { command_topic: setTopic, payload_press: payload, qos: 1, retain: false },
    });
    if (id === 'salt-as-asked') return [press('salt-is-in', 'The salt is in', 'true')];
    if (id !== 'held') return [];
    return [
      press(`${node}-pause`, `${nodeName}, pause`, 'true'),
      press(`${node}-resume`, `${nodeName}, resume`, 'false'),
    ];
  });
}
