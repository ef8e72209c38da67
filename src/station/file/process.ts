// What the process of a station file aims at, and what may start without a person.
import { purposeOf } from '../purpose.ts';
import { toldRange } from '../quantities.ts';
import { derived, group, optional, otherwise } from './absent.ts';
import { type Bounds, byName, integer, list, named, object, oneWordOf, text } from './declare.ts';
import {
  DAY_TO_YEAR,
  Duration,
  Ratio,
  Salinity,
  Temperature,
  TemperatureDifference,
  Volume,
} from './parts.ts';
import { rolesIn, type Waterways } from './waterways.ts';
import { ActuatorId } from './wire.ts';

const TimeOfDay = named(
  'TimeOfDay',
  text({ pattern: '^([01][0-9]|2[0-3]):[0-5][0-9]$', description: 'Local time, for example "22:30".' }),
);

const temperature = object({
  target: Temperature('Heated to this before delivery.'),
  tolerance: TemperatureDifference('Reached when this near.'),
  least: derived(
    Temperature('Never delivered colder than this.'),
    '10 K below the target',
    ({ target }: { target: number }) => target - 10,
  ),
  most: derived(
    Temperature('Never delivered warmer than this.'),
    '4 K above the target',
    ({ target }: { target: number }) => target + 4,
  ),
  systemMayMove: otherwise(
    TemperatureDifference(
      "A day's exchange may move the system's temperature by this much without heating first.",
    ),
    '0.3 K',
  ),
});

/** How much longer than the slowest fill of the whole vat one refill may last before it is a fault. */
const LONGEST_RUN_FACTOR = 1.5;

const refill = object(
  {
    startBelow: Volume(),
    stopAt: Volume(),
    longestRun: derived(
      Duration('One run may last this long.'),
      'one and a half times what the capacity takes at the least flow',
      (_: object, { vessels, routes }: Waterways) => {
        const { roleOf, freshId } = rolesIn(vessels);
        const fills = Object.values(routes).filter(({ from, to }) => {
          const ends = { from: roleOf(from), to: roleOf(to) };
          return purposeOf({ ...ends, loop: from === to, hasFresh: freshId !== null }) === 'refill';
        });
        const capacityL = freshId === null ? 0 : (vessels[freshId]?.capacity ?? 0);
        const leastLpm = Math.min(...fills.map(({ flow }) => flow.least));
        return Math.ceil((LONGEST_RUN_FACTOR * capacityL * 60_000) / leastLpm);
      },
    ),
  },
  'The fresh vat. Needed where a route leads from the purifier into it.',
);

interface Aims {
  readonly process: { readonly salinity: { readonly tolerance: number }; readonly refill: object | null };
}

const batch = object({
  contents: Volume('What a finished batch holds. Leave room above for a trim.'),
  least: derived(
    Volume('The least that is worth mixing when a person asks for a batch early.'),
    'half of the contents',
    ({ contents }: { contents: number }) => contents / 2,
  ),
  dissolve: Duration('Circulation after salt was added, before anything is measured.'),
  settle: Duration('Circulation after dissolving before the measurement counts.'),
  steady: derived(
    object(
      { within: Salinity(), over: Duration() },
      'The measurement counts when it moves by no more than `within` for as long as `over`.',
    ),
    'half of the tolerance over 5 min',
    (_: object, { process }: Aims) => ({ within: process.salinity.tolerance / 2, over: 5 * 60_000 }),
  ),
  trims: otherwise(
    integer({ minimum: 0, maximum: 20, description: 'How many corrections before a person must look.' }),
    4,
  ),
  ageLimit: otherwise(Duration('A finished batch that is older is not delivered any more.'), '14 d'),
  circulate: derived(
    object({ every: Duration(), lasts: Duration() }, 'What keeps a finished batch from standing still.'),
    '10 min every 6 h',
    () => ({ every: 6 * 3_600_000, lasts: 10 * 60_000 }),
  ),
  measurementServes: otherwise(Duration('How long a salinity measured by a person counts.'), '12 h'),
});

const Exchange = named(
  'Exchange',
  object({
    perDay: Ratio('Share of the system\'s volume, spread over the day. "0 %": only on request.'),
    step: Volume('One step: this much out, then as much in.'),
    largest: derived(
      Volume('The most that one request may exchange.'),
      'half of the system',
      (_: object, { vessels }: Waterways, system) => (vessels[system]?.volume ?? 0) / 2,
    ),
    errorBound: derived(
      Volume('Bound on the running difference between drained and delivered.'),
      'one step',
      ({ step }: { step: number }) => step,
    ),
    settle: otherwise(Duration('Pause between the steps of a large exchange.'), '30 s'),
    inhibitTopOff: optional(
      ActuatorId("An output that keeps the system's own top-off quiet while a step runs."),
    ),
  }),
);

export const Process = named(
  'Process',
  object({
    salinity: object({
      target: Salinity('What is delivered, for example "35 PSU".'),
      tolerance: Salinity('How far off a batch may be and still be delivered, either way.'),
    }),
    temperature: optional(temperature),
    salt: object({
      name: otherwise(text(), 'sea salt', { untold: true }),
      yield: Ratio('Dissolved sea salts per dry product, by mass.'),
    }),
    refill: optional(refill),
    batch,
    reserve: otherwise(Ratio("Water on hand, fresh and mixed, as a share of the systems' volume."), '20 %', {
      remark: ' (common practice, no source)',
    }),
    exchange: optional(byName(Exchange(), 'By system. A system that is left out is never exchanged.')),
    quietHours: optional(
      object(
        {
          from: TimeOfDay(),
          to: TimeOfDay(),
          rest: list(oneWordOf(['refill', 'transfer', 'exchange', 'circulate']), {
            minItems: 1,
            uniqueItems: true,
            description: 'What does not start in these hours.',
          }),
        },
        'From one time of day to another, over midnight where `to` is the earlier.',
      ),
    ),
  }),
);

const Starter = named(
  'Starter',
  oneWordOf(
    ['itself', 'person'],
    '`itself`: without anybody, on fresh evidence. `person`: waits for a request.',
  ),
);

const FLOAT: Bounds = {
  ...DAY_TO_YEAR,
  why: 'a float in salt water that nobody moves for longer can not be relied on',
};
const GRACE: Bounds = { ...DAY_TO_YEAR, least: 0 };

export const Policy = named(
  'Policy',
  object(
    {
      starts: group(
        object({
          refill: derived(Starter(), 'person', () => 'person' as const, {
            counts: (_: object, { process }: Aims) => process.refill !== null,
          }),
          batch: otherwise(Starter(), 'person'),
          exchange: otherwise(Starter(), 'person'),
        }),
      ),
      restarts: group(
        object({
          afterLinkLoss: otherwise(Starter('After the broker could not be reached.'), 'person'),
          afterPowerCut: otherwise(Starter('After the service was down.'), 'person'),
          evidenceStandsFor: otherwise(
            Duration('Everything that the phase needs must have been fresh for this long.'),
            '30 s',
          ),
          perDay: otherwise(
            integer({ minimum: 0, maximum: 100, description: 'Restarts without a person in a day.' }),
            4,
          ),
        }),
      ),
      proofTests: group(
        object({
          every: otherwise(
            Duration(
              `Each float and sensor that protects is moved by hand at least this often, from ${toldRange(FLOAT)}, and its interlock watched; salt, snails and slime hold floats that nobody moves.`,
              FLOAT,
            ),
            '90 d',
          ),
          grace: otherwise(
            Duration(
              `Overdue is an alarm; only after so much longer, ${toldRange(GRACE)}, does what relies on it stay off.`,
              GRACE,
            ),
            '180 d',
          ),
        }),
      ),
    },
    'What may start or restart by itself, and what waits for a person.',
  ),
);
