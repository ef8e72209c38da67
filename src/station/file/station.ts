// The station file, declared: what its owner may write, and what the program reads from it. `schemas/station.schema.json`
// is printed from this.
import type { Mistake } from '../problem.ts';
import type { Partly } from '../sketch.ts';
import { group, optional, otherwise } from './absent.ts';
import {
  byName,
  list,
  literal,
  named,
  object,
  oneWordOf,
  plain,
  printed,
  type Read,
  readFile,
  text,
  truth,
  type Written,
} from './declare.ts';
import { devices } from './devices.ts';
import { Duration, editorsSchema, Id, name, ownText } from './parts.ts';
import { Policy, Process } from './process.ts';
import { Doser, Heater, Route, Vessel } from './waterways.ts';
import { ActuatorId, Topic } from './wire.ts';

const Link = named(
  'Link',
  object({
    provenWithin: otherwise(Duration("The service's own echo must come back within this."), '6 s'),
    tickWithin: otherwise(Duration('A control tick later than this counts as silence.'), '5 s'),
  }),
);

const Homie = named(
  'Homie',
  object(
    {
      domain: otherwise(
        text({
          pattern: '^[^#+/$\\u0000]+$',
          maxLength: 60,
          description: 'The first level of its topics, one level.',
        }),
        'homie',
        { untold: true },
      ),
      qos: otherwise(oneWordOf([1, 2], 'Of everything retained.'), 2, {
        remark: ', which Homie recommends; 1 where the whole network uses 1',
        untold: true,
      }),
      log: otherwise(oneWordOf(['off', 'error', 'warn', 'info'], 'What is said on `$log`.'), 'warn', {
        untold: true,
      }),
      stopOnBroadcast: otherwise(truth('Whether the broadcast `stop` holds every unit.'), false, {
        untold: true,
      }),
    },
    'The station as a Homie 5 device.',
  ),
);

const Discovery = named(
  'Discovery',
  object(
    {
      prefix: otherwise(
        text({
          pattern: '^[^#+/$\\u0000]+$',
          maxLength: 60,
          description: 'The first level of the topics that the hub reads.',
        }),
        'homeassistant',
        { untold: true },
      ),
      birth: otherwise(
        Topic('Where the hub says "online" when it has started: then everything is told again.'),
        'homeassistant/status',
        { untold: true },
      ),
    },
    'Messages from which a hub that reads MQTT discovery (Home Assistant, openHAB) makes one device of the station by itself.',
  ),
);

const some = { minItems: 1, uniqueItems: true } as const;
const Template = named(
  'Template',
  object({
    each: oneWordOf(['property', 'station'], 'One message for every property, or one for the station.'),
    where: optional(
      object(
        {
          datatype: optional(
            list(oneWordOf(['integer', 'float', 'boolean', 'string', 'enum', 'duration']), some),
          ),
          settable: optional(truth()),
          retained: optional(truth()),
          unit: optional(list(text(), some)),
          kind: optional(
            list(
              oneWordOf([
                'station',
                'task',
                'refill',
                'batch',
                'exchange',
                'system',
                'alarms',
                'vessel',
                'route',
                'heater',
              ]),
              { ...some, description: 'Of the part that the property belongs to.' },
            ),
          ),
        },
        'Only properties that fit everything that stands here.',
      ),
    ),
    topic: Topic('Where it is published, retained. Placeholders as `vatwarden wire --list` shows them.'),
    payload: plain<{ [key: string]: unknown }>({
      type: 'object',
      additionalProperties: true,
      description:
        'JSON. A text that is one placeholder and nothing else becomes its value; a member whose placeholder has no value is left out.',
    }),
  }),
);

export const Announce = named(
  'Announce',
  object(
    {
      homie: group(Homie()),
      discovery: optional(Discovery()),
      templates: optional(
        list(Template(), {
          maxItems: 50,
          description:
            'Retained messages for hubs that want to be told in a form of their own. Withdrawn when they are taken out of this list.',
        }),
      ),
    },
    'How hubs get to know this station.',
  ),
);

const STATION = object(
  {
    $schema: editorsSchema,
    format: literal(1, 'Version of this file format.'),
    id: Id(),
    name,
    vessels: byName(
      Vessel(),
      {
        minProperties: 2,
        description:
          'Everything that holds water, by id. The purified-water inlet and the waste count as vessels without limit.',
      },
      Id(),
    ),
    routes: byName(
      Route(),
      {
        minProperties: 1,
        description: 'Every way by which water gets from one vessel to another, or round inside one.',
      },
      Id(),
    ),
    heaters: optional(byName(Heater(), {}, Id())),
    dosers: optional(
      byName(Doser(), 'Devices that add dry salt by themselves; without one, a person is asked.', Id()),
    ),
    ...devices,
    alive: optional(
      ActuatorId(
        'The actuator that is held on by leases while the service is healthy: a lamp or sounder wired to its released contact wakes somebody when the service is dead.',
      ),
    ),
    mains: optional(
      object(
        {
          circuits: ownText('For example "circuits 3 and 4, MIXING STATION".'),
          panel: ownText('Where the breaker panel is, for example "in the corridor, left of the door".'),
          alsoOff: optional(
            ownText(
              'What else these circuits switch off, for example "the return pump of the reef and the network".',
            ),
          ),
        },
        'Where the electricity of the station is switched off. Alarms about water on the floor begin with it.',
      ),
    ),
    process: Process(),
    policy: group(Policy()),
    link: group(Link()),
    announce: group(Announce()),
  },
  'A saltwater mixing station as its owner describes it: vessels, the routes by which water moves between them, and the topics of every sensor and actuator. Quantities carry their unit.',
);

export type StationFile = Written<typeof STATION>;
export type VesselFile = StationFile['vessels'][string];
export type RouteFile = StationFile['routes'][string];
export type SensorFile = StationFile['sensors'][string];
export type ActuatorFile = StationFile['actuators'][string];
export type AnnounceFile = NonNullable<StationFile['announce']>;
export type Template = NonNullable<AnnounceFile['templates']>[number];

/** The file with every quantity in its house unit, every default filled in, and null for what there is not. */
export type StationValues = Read<typeof STATION>;

export const stationSchema = () => printed(STATION, { $id: 'urn:vatwarden:station:1', title: 'StationFile' });

/** Every quantity of the file that lies outside its range. */
export const outOfRange = (file: Partly<StationFile>): readonly Mistake[] =>
  STATION.outside(file as StationFile, '');

/** @param file one that the loader has accepted */
export const readStationFile = (file: StationFile) => readFile(STATION, file);
