// The devices of a station file: sensors of each kind, actuators, and valves that only a person turns.
import { toldRange } from '../quantities.ts';
import { derived, optional, otherwise } from './absent.ts';
import { type Bounds, byName, list, named, object, oneWordOf, plain, text, truth } from './declare.ts';
import { DAY_TO_YEAR, Duration, Id } from './parts.ts';
import { Sensor } from './sensor-kinds.ts';
import { ActuatorId, Bit, device, heard, Topic, Word } from './wire.ts';

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

export const Actuator = named(
  'Actuator',
  object({
    ...device,
    kind: oneWordOf(
      ['valve', 'pump', 'heater', 'contactor', 'doser', 'signal'],
      'A contactor switches the supply of others; a signal moves neither water nor heat.',
    ),
    command: object(
      {
        topic: Topic(),
        on: Payload(),
        off: Payload(),
        harmless: optional(
          list(text(), {
            description:
              'Payloads on this topic that switch nothing, for example a question such as "status_update": nobody who sends them counts as a second hand. An empty message never does.',
          }),
        ),
      },
      'Published without the retain flag, on a topic of its own.',
    ),
    lease: object(
      {
        lasts: Duration('For example "30 s". Renewed at a third of this.'),
        countedBy: oneWordOf(['device', 'nobody']),
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
    feedback: optional(
      object(
        {
          ...heard,
          bit: optional(Bit()),
          on: Word(),
          off: Word(),
          within: otherwise(Duration('The device answers within this.'), '3 s'),
        },
        'What the device says it is doing.',
      ),
    ),
    offProvenBy: derived(
      oneWordOf(['feedback', 'lease', 'no-flow', 'assumption'], 'What counts as proof that it is off.'),
      'feedback where it has one, else the end of the lease where the device counts it, else an assumption',
      ({ feedback, lease }: { feedback: object | null; lease: { countedBy: 'device' | 'nobody' } }) =>
        feedback !== null ? 'feedback' : lease.countedBy === 'device' ? 'lease' : 'assumption',
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
    name: text({ minLength: 1, description: 'For example "the ball valve under the fresh vat".' }),
    every: otherwise(
      Duration(`A person is asked to turn it when nobody has for so long, from ${toldRange(VALVE)}.`, VALVE),
      '90 d',
    ),
  }),
);

export const devices = {
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
