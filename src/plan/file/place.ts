// What a site file says of the place: the system, the room, the water that comes in.
import { AMBIENT } from '../../engineering/heat.ts';
import {
  DISSOLVED_SALT,
  INLET_TEMPERATURE,
  MEMBRANE_CONSTANT,
  RECOVERY,
} from '../../engineering/purification.ts';
import { FLOW, type Range, SHARE, SOME_FLOW } from '../../engineering/range.ts';
import { derived, optional, otherwise } from '../../station/file/absent.ts';
import {
  byName,
  integer,
  list,
  named,
  object,
  oneWordOf,
  quantity,
  truth,
} from '../../station/file/declare.ts';
import {
  Duration,
  Flow,
  Height,
  Length,
  Pressure,
  Ratio,
  Salinity,
  Temperature,
  TemperatureDifference,
  Volume,
} from '../../station/file/parts.ts';
import { Concentration, DAY_MS, Name, RATED, ROOM_LENGTH, SYSTEM } from './parts.ts';

export const System = named(
  'System',
  object(
    {
      name: otherwise(Name(), 'System'),
      parts: byName(Volume(undefined, { ...SYSTEM, least: 1 }), {
        description: 'The volumes that make it up, by name: display, sump, holding tank.',
        minProperties: 1,
        maxProperties: 20,
      }),
      spare: derived(
        Volume('What it still takes above its normal level, its pumps running, before it overflows.', SYSTEM),
        '5 % of its volume',
        ({ parts }: { parts: Readonly<Record<string, number>> }) =>
          0.05 * Object.values(parts).reduce((sum, partL) => sum + partL, 0),
      ),
      salinity: Salinity(undefined, { least: 1, most: 42, unit: '1' }),
      temperature: Temperature(undefined, { least: 1, most: 35, unit: 'degC' }),
      mayMove: otherwise(
        TemperatureDifference('By how much one exchange may move its temperature.', {
          least: 0.01,
          most: 40,
          unit: 'K',
        }),
        '0.3 K',
      ),
      freshUse: otherwise(
        Flow('Fresh water drawn beside the batches, for top-off and by hand, for example "20 L/d".', FLOW),
        '0 L/d',
      ),
      level: optional(
        object(
          { least: Height(), most: Height() },
          'How high its water stands where the supply ends and the drain begins, above the floor of the vat room, its pumps running and at rest.',
        ),
      ),
      returnPump: optional(
        object({ model: Name() }, "The pump that turns the system's own water over, if it is known."),
      ),
    },
    'The living system. Everything that shares its water is one system; two that do not are two sites.',
  ),
);

const Door = named(
  'Door',
  object({
    name: optional(Name()),
    width: Length(undefined, ROOM_LENGTH),
    height: Length(undefined, ROOM_LENGTH),
  }),
);

const Floor = named(
  'Floor',
  object({
    storey: integer({
      minimum: -10,
      maximum: 200,
      description: '0: on the ground. 1 and more: there are rooms below.',
    }),
    allowedLoad: optional(
      Pressure(
        'What the building\'s papers or its engineer state for this floor, for example "5 kN/m2". Leave it out when nobody knows.',
        { least: 0.01, most: 1000, unit: 'kPa' },
      ),
    ),
  }),
);

export const Room = named(
  'Room',
  object({
    length: Length('Of the free floor on which the vats may stand.', ROOM_LENGTH),
    width: Length('Of the same.', ROOM_LENGTH),
    height: Length('Clear height over that floor.', ROOM_LENGTH),
    temperature: otherwise(
      Temperature('Of the room in the cold season.', { ...AMBIENT, least: 1, most: 40 }),
      '18 degC',
    ),
    doors: list(Door(), {
      description: 'Every door and passage on the way in, clear opening.',
      minItems: 1,
      maxItems: 24,
    }),
    floor: Floor(),
    floorDrain: otherwise(truth('Whether the room has a drain in its floor.'), false),
  }),
);

const DISSOLVED: Range = { ...DISSOLVED_SALT, most: 10_000 };

export const Inlet = named(
  'Inlet',
  object(
    {
      temperatures: list(Temperature(undefined, { ...INLET_TEMPERATURE, most: 35 }), {
        description: 'Twelve monthly means, January first.',
        minItems: 12,
        maxItems: 12,
      }),
      pressure: Pressure('At the purifier while it runs.', RATED),
      dissolved: otherwise(
        Concentration('Dissolved salts, for its osmotic pressure.', DISSOLVED),
        '300 mg/L',
      ),
    },
    'The water that reaches the purifier.',
  ),
);

export const Purifier = named(
  'Purifier',
  object({
    output: Flow('Rated purified output at 25 degC and the rated pressure.', SOME_FLOW),
    pressure: Pressure('Of the rating.', RATED),
    dissolved: derived(
      Concentration("Dissolved salts of the rating's water.", DISSOLVED),
      'that of the inlet',
      (_: object, { inlet }: { inlet: { dissolved: number } }) => inlet.dissolved,
    ),
    recovery: Ratio('Purified over inlet water; the rest goes to the drain.', RECOVERY),
    restrictor: otherwise(
      oneWordOf(
        ['fixed', 'set by hand'],
        'What holds the reject water back: a fixed restrictor lets the same through in winter, when the membrane gives less; a valve can be set anew.',
      ),
      'fixed',
    ),
    membraneConstant: optional(
      quantity(
        'membrane-constant',
        'K of the temperature correction, for example "3020 K". Default 3020 K up to 25 degC, 2640 K above.',
        MEMBRANE_CONSTANT,
      ),
    ),
    lossPerYear: otherwise(
      Ratio('Share of its output that the membrane loses in a year.', { ...SHARE, most: 0.9 }),
      '7 %',
      { remark: ' (common practice, no source)' },
    ),
    membraneLife: otherwise(
      Duration('After which it is replaced.', { least: 30 * DAY_MS, most: 20 * 365 * DAY_MS, unit: 'ms' }),
      '730 d',
      { remark: ' (common practice, no source)' },
    ),
  }),
);
