// Where a value is found on the wire, how long it may be believed, and what every device may say of itself.
import type { WrittenWords } from '../words.ts';
import { derived, fromDevice, group, optional, otherwise } from './absent.ts';
import {
  type Bounds,
  integer,
  list,
  named,
  number,
  object,
  oneOrMany,
  oneWordOf,
  plain,
  text,
  truth,
} from './declare.ts';
import { Duration, name } from './parts.ts';
export const VesselId = named('VesselId', text('The id of one of the `vessels`.'));
export const RouteId = named('RouteId', text('The id of one of the `routes`.'));
export const SensorId = named('SensorId', text('The id of one of the `sensors`.'));
export const ActuatorId = named('ActuatorId', text('The id of one of the `actuators`.'));
const DeviceId = named('DeviceId', text('The id of one of the `devices`.'));
export const Topic = named(
  'Topic',
  text({
    minLength: 1,
    maxLength: 500,
    pattern: '^[^#+\\u0000$][^#+\\u0000]*$',
    description: 'A full MQTT topic, without wildcards.',
  }),
);

const DAY_MS = 86_400_000;
const MINUTE_MS = 60_000;

const WORD = ['string', 'number', 'boolean'];
export const Word = named(
  'Word',
  plain<WrittenWords>({
    type: [...WORD, 'array', 'object'],
    description:
      'What the payload says: a word, a list of words that mean the same, or a limit such as {"above": 8} for a number in the unit of the payload (watts that prove that a pump runs). Text, number and true/false are compared by what they print as.',
    items: { type: WORD },
    minItems: 1,
    additionalProperties: false,
    properties: { above: { type: 'number' }, below: { type: 'number' } },
    minProperties: 1,
    maxProperties: 1,
  }),
);
const Where = named(
  'Where',
  text({
    description:
      'Where the value is in the payload: left out for the plain payload, else a JSON Pointer (RFC 6901), for example "/state/wet".',
    format: 'json-pointer',
  }),
);
export const Bit = named(
  'Bit',
  integer({
    minimum: 0,
    maximum: 52,
    description:
      'Where the payload holds a whole number with several contacts in it: which of its bits, 0 being the lowest. The words are then 1 and 0.',
  }),
);
const ASKED: Bounds = {
  least: 1_000,
  most: DAY_MS,
  unit: 'ms',
  why: 'more often, the wire would be full of it',
};
const Tag = named(
  'Tag',
  text({
    pattern: '^[A-Z]{1,5}(-?[0-9][0-9A-Z]*)?$',
    description: 'Optional ISA-5.1 tag, for example "LSH-2" or "P-101".',
  }),
);
export const FailureDomain = named(
  'FailureDomain',
  text(
    'What it shares with others: a relay board, a power supply. `check` warns where two layers of protection share one.',
  ),
);

export const Ask = named(
  'Ask',
  object(
    {
      topic: Topic(),
      payload: otherwise(text('Text that is published there, for example "status_update". Often empty.'), ''),
      every: otherwise(Duration('It is asked again after so long.', ASKED), '30 s'),
    },
    'For a device that speaks only on change: publish this, and it says its state. It is asked as soon as the connection to the broker is up, and again and again. Not on a topic that commands something.',
  ),
);

export const Availability = named(
  'Availability',
  oneOrMany(
    object(
      {
        topic: Topic(),
        at: optional(Where()),
        online: Word(),
        offline: Word(),
        holds: otherwise(
          truth(
            'True where other messages prove nothing while it says offline, because somebody between repeats old values; false: the next live value counts again.',
          ),
          false,
          { untold: true },
        ),
      },
      'Where it is told whether the device is there. A list where several must say so: the device and the bridge before it.',
    ),
  ),
);

const Stamp = named(
  'Stamp',
  object(
    {
      at: Where(),
      format: oneWordOf(['ISO 8601', 'epoch s', 'epoch ms']),
    },
    'Where the payload says when its value is from, for a device or bridge that repeats old values as new ones. A value is never taken for younger than that; without a time of day that is trusted it is history.',
  ),
);

interface Habits {
  readonly republishes: number | null;
  readonly ask: { readonly every: number } | null;
  readonly availability: object | null;
}

/** What stands beside every value that is heard. */
export const heard = {
  topic: fromDevice(Topic()),
  at: optional(Where()),
  maxAge: derived(
    Duration('Older than this, a reading says nothing any more.'),
    'three times `republishes`, or three times `every` of `ask`; without these, 1 d where the device has an availability topic, else 60 s',
    ({ republishes, ask, availability }: Habits) => {
      const period = republishes ?? ask?.every ?? null;
      return period === null ? (availability === null ? MINUTE_MS : DAY_MS) : 3 * period;
    },
  ),
  republishes: optional(
    Duration('The device publishes at least this often even when nothing changes. Absent: only on change.'),
  ),
  ask: optional(Ask()),
  availability: optional(Availability()),
  stamp: optional(Stamp()),
  mayLack: otherwise(
    truth(
      'True where a message without the value is no fault: a device that sends only what changed, each with its own member.',
    ),
    false,
    { untold: true },
  ),
  faultAt: optional(
    Where(
      'Where the payload tells of a fault of this value: anything there but null, false, 0, an empty text or an empty list makes the value faulty.',
    ),
  ),
} as const;
export const device = {
  device: optional(DeviceId('The device that it is part of: what that says need not be said here.')),
  channel: optional(
    text({
      minLength: 1,
      pattern: '^[^#+\\u0000]+$',
      description: 'Which part of its device it is, as the profile of the device names its parts.',
    }),
  ),
  name: optional(name),
  tag: optional(Tag()),
  failureDomain: optional(FailureDomain()),
} as const;

export const Believe = named(
  'Believe',
  object(
    {
      start: otherwise(Duration('For a reading that would permit running.'), '3 s'),
      stop: otherwise(Duration('For a reading that would end it.'), '0 s', {
        remark: ': at once. Anything longer is time in which water runs on',
      }),
    },
    'How long a reading must stand before it counts.',
  ),
);

export const contact = {
  ...heard,
  ...device,
  bit: optional(Bit()),
  believe: group(Believe()),
} as const;

export const sentinels = optional(
  named(
    'Sentinels',
    list(
      number(),
      'Values that a failing sensor sends instead of a reading, before scale and offset; for example 85 and -127.',
    ),
  )(),
);
export const measured = {
  ...heard,
  ...device,
  scale: otherwise(number('The reading is scale x payload + offset.'), 1, { untold: true }),
  offset: otherwise(number('Added after `scale`, in `unit`.'), 0, { untold: true }),
  range: optional(
    named(
      'Range',
      plain<[number, number]>({
        description: "Lowest and highest believable value, in the payload's unit after scale and offset.",
        type: 'array',
        minItems: 2,
        maxItems: 2,
        items: { type: 'number' },
      }),
    )(),
  ),
  sentinels,
} as const;
export const sentIn = <const U extends string>(...units: U[]) =>
  oneWordOf(units, 'Unit of the payload after scale and offset.');
