// The devices of a station file: sensors of each kind, actuators, and valves that only a person turns.

import { PROFILES } from '../profiles.ts';
import { toldRange } from '../quantities.ts';
import { derived, fromDevice, optional, otherwise } from './absent.ts';
import {
  asWritten,
  type Bounds,
  byName,
  list,
  named,
  object,
  oneWordOf,
  plain,
  text,
  truth,
} from './declare.ts';
import { DAY_TO_YEAR, Duration, HandStop, Id, ownText } from './parts.ts';
import { SENSOR_KINDS, Sensor, type SensorKinds } from './sensor-kinds.ts';
import {
  ActuatorId,
  Ask,
  Availability,
  Believe,
  Bit,
  device,
  FailureDomain,
  heard,
  Topic,
  Word,
} from './wire.ts';

const ACTUATOR_KINDS = ['valve', 'pump', 'heater', 'contactor', 'doser', 'signal'] as const;
const OPEN: Bounds = { least: 1_000, most: 60_000, unit: 'ms' };
const VALVE: Bounds = {
  ...DAY_TO_YEAR,
  why: 'a valve that nobody moves for longer can not be relied on',
};

export type Payload = string | number | boolean | { [key: string]: unknown };
const Payload = named(
  'Payload',
  plain<Payload>({
    description:
      'Text, or JSON. The placeholders $leaseMs, $leaseS, $leaseWholeS (whole seconds), $leaseTenths (tenths of a second), $sequence, $boot and $issuedMs stand for numbers (boot: text).',
    type: ['string', 'number', 'boolean', 'object'],
    additionalProperties: true,
  }),
);

const Command = named(
  'Command',
  object(
    {
      topic: fromDevice(Topic()),
      on: fromDevice(Payload()),
      off: fromDevice(Payload()),
      harmless: optional(
        list(text(), {
          description:
            'Payloads on this topic that switch nothing, for example a question such as "status_update": nobody who sends them counts as a second hand. An empty message never does.',
        }),
      ),
    },
    'Published without the retain flag. A topic that several share needs payloads that tell them apart.',
  ),
);

const Lease = named(
  'Lease',
  object(
    {
      lasts: fromDevice(Duration('For example "30 s". Renewed at a third of this.')),
      countedBy: fromDevice(oneWordOf(['device', 'nobody'])),
      restartsInFull: otherwise(
        truth(
          'True where a device that restarts while it is on counts its time from the beginning again: every bound is then reckoned with twice the lease.',
        ),
        false,
        { untold: true },
      ),
    },
    'For how long an `on` is good. `countedBy` device: the device itself drops out, told by the payload or by a fixed time of its own. `nobody`: it stays on until told, and every guarantee holds only while the service lives.',
  ),
);

const Feedback = named(
  'Feedback',
  object(
    {
      ...heard,
      bit: optional(Bit()),
      on: fromDevice(Word()),
      off: fromDevice(Word()),
      within: otherwise(Duration('The device answers within this.'), '3 s'),
    },
    'What the device says it is doing.',
  ),
);

/** What a device says for all its parts; each part may say otherwise. */
const Device = named(
  'Device',
  object({
    profile: oneWordOf(
      PROFILES,
      'How it speaks: the firmware, or the bridge before it. plain: with its own `command` and `feedback`, `$channel` in them being the part.',
    ),
    topic: text({
      minLength: 1,
      maxLength: 300,
      pattern: '^[^#+\\u0000$][^#+\\u0000$]*$',
      description: 'The name or prefix that it has in its topics.',
    }),
    availability: optional(Availability('Instead of what its profile says.')),
    failureDomain: optional(FailureDomain('Default the id of the device.')),
    republishes: optional(Duration('It publishes at least this often even when nothing changes.')),
    maxAge: optional(Duration('Older than this, nothing that it says counts.')),
    ask: optional(Ask()),
    believe: optional(Believe('Of each of its contacts.')),
    lease: optional(Lease('Of each of its relays.')),
    command: optional(Command()),
    feedback: optional(Feedback()),
  }),
);

export const Actuator = named(
  'Actuator',
  object({
    ...device,
    kind: oneWordOf(
      ACTUATOR_KINDS,
      'A contactor switches the supply of others; a signal moves neither water nor heat.',
    ),
    command: fromDevice(Command()),
    lease: fromDevice(Lease()),
    feedback: optional(Feedback()),
    offProvenBy: derived(
      oneWordOf(['feedback', 'lease', 'no-flow', 'assumption'], 'What counts as proof that it is off.'),
      'feedback where it has one, else the end of the lease where the device counts it, else an assumption',
      ({ feedback, lease }: { feedback: object | null; lease: { countedBy: 'device' | 'nobody' } }) =>
        feedback !== null ? 'feedback' : lease.countedBy === 'device' ? 'lease' : 'assumption',
    ),
    stop: optional(
      HandStop('How a person stops this device by hand, where that is not at the breaker panel.'),
    ),
    upstream: optional(
      ActuatorId(
        'The actuator that cuts this one off: a master valve, a contactor. It is on only while something below it is wanted.',
      ),
    ),
    exercise: optional(
      object(
        {
          every: otherwise(
            Duration(`It is due when it has not moved for so long, from ${toldRange(VALVE)}.`, VALVE),
            '30 d',
          ),
          for: otherwise(Duration(`It stays open for so long, from ${toldRange(OPEN)}.`, OPEN), '5 s'),
        },
        'Only for a valve: moved now and then so that it does not seize. Any work that is seen counts: a valve that opens and shuts daily is never exercised. It is moved by the service only with feedback, while everything else on its ways is proven off, and with a second valve that holds the water back meanwhile (before it, where the mains press on it); otherwise a person is asked to move it.',
      ),
    ),
  }),
);

const HandValve = named(
  'HandValve',
  object({
    name: ownText('For example "the ball valve under the fresh vat".'),
    every: otherwise(
      Duration(`A person is asked to turn it when nobody has for so long, from ${toldRange(VALVE)}.`, VALVE),
      '90 d',
    ),
  }),
);

const some = (of: string) =>
  optional(plain<{ [key: string]: unknown }>({ type: 'object', description: `Of ${of}.` }));
const someOf = <const K extends string>(kinds: readonly K[]) =>
  Object.fromEntries(kinds.map((kind) => [kind, some(`each ${kind}`)])) as {
    [kind in K]: ReturnType<typeof some>;
  };

/** What many entries would say alike. */
const Defaults = named(
  'Defaults',
  object(
    {
      routes: some('each route'),
      sensors: some('each sensor, of every kind'),
      actuators: some('each actuator, of every kind'),
      ...someOf(Object.keys(SENSOR_KINDS) as (keyof SensorKinds)[]),
      ...someOf(ACTUATOR_KINDS),
    },
    'What counts for every entry of a section or of a kind that does not say it itself. In `channel`, $id, $vessel, $route and $position stand for what the entry says.',
  ),
);

export const devices = {
  defaults: optional(asWritten(Defaults())),
  devices: optional(
    byName(
      asWritten(Device()),
      'The devices that sensors and actuators belong to, each once: entries name it in `device`, and their part of it in `channel`.',
      Id(),
    ),
  ),
  sensors: byName(Sensor(), { minProperties: 1 }, Id()),
  actuators: byName(Actuator(), { minProperties: 1 }, Id()),
  handValves: optional(
    byName(
      HandValve(),
      'Valves and taps that only a person turns, so that somebody is asked to before they seize.',
      Id(),
    ),
  ),
};
