// What a site file says of the station to be: vats, lines, salt, heat.
import { END_COEFFICIENTS, type Fitting, MULTIPLIERS, type PipeEnd } from '../../engineering/fittings.ts';
import { INTAKE } from '../../engineering/gravity.ts';
import { LOSS, POWER } from '../../engineering/heat.ts';
import {
  PIPE_DIAMETER,
  PIPE_LENGTH,
  ROUGHNESS,
  SMOOTH_PIPE_MM,
  STEEL_PIPE_MM,
} from '../../engineering/hydraulics.ts';
import { CLEARANCE } from '../../engineering/passage.ts';
import { SOME_FLOW, YIELD } from '../../engineering/range.ts';
import { derived, optional, otherwise } from '../../station/file/absent.ts';
import {
  list,
  type Members,
  named,
  object,
  oneWordOf,
  type Part,
  pair,
  quantity,
  type Read,
  truth,
  type Written,
} from '../../station/file/declare.ts';
import { Duration, Flow, Height, Length, Mass, Power, Ratio, Volume } from '../../station/file/parts.ts';
import { contentsAt, heightOf, shapeOf } from '../../station/shape.ts';
import { Count, DAY_MS, Name, Price, Shape, SOME_TIME, VAT_CAPACITY } from './parts.ts';

export const Salt = named(
  'Salt',
  object({
    name: otherwise(Name(), 'sea salt'),
    yield: Ratio('Dissolved sea salts per dry product, by mass.', YIELD),
    bag: Mass('What one bag or bucket holds.', { least: 0.1, most: 2000, unit: 'kg' }),
    price: optional(Price('Of one bag, a number in the currency of the tariffs.')),
  }),
);

const STIRRED = { ...SOME_TIME, most: 7 * DAY_MS };

export const Mixing = named(
  'Mixing',
  object({
    dissolve: otherwise(Duration('Circulation after the salt.', STIRRED), '60 min', {
      remark: ' (common practice, no source)',
    }),
    settle: otherwise(Duration('Circulation before a measurement counts.', STIRRED), '10 min'),
    circulation: optional(
      Flow(
        'What the circulation pump moves. Default ten times the mixing vat in an hour (common practice, no source).',
        SOME_FLOW,
      ),
    ),
    circulationPower: otherwise(Power('What that pump takes from the mains.', POWER), '40 W'),
  }),
);

export const curve = list(pair(Flow(), Length(), 'A flow and a head, for example ["20 L/min", "2.1 m"].'), {
  description: 'Pairs of flow and head, from no flow on, as the maker prints them; or one duty point alone.',
  minItems: 1,
  maxItems: 60,
});

const Pump = named(
  'Pump',
  object({
    model: optional(Name()),
    curve,
    power: optional(Power('What it takes from the mains, for the costs.', POWER)),
  }),
);

const count = optional(Count());
const Fittings = named(
  'Fittings',
  object(
    Object.fromEntries(
      Object.keys({ ...MULTIPLIERS, ...END_COEFFICIENTS }).map((fitting) => [fitting, count]),
    ) as Readonly<Record<Fitting | PipeEnd, typeof count>>,
    "How many of each, of the pipe's own size.",
  ),
);

const Pipe = named(
  'Pipe',
  object({
    length: Length(undefined, { ...PIPE_LENGTH, most: 1e6, unit: 'mm' }),
    diameter: Length('Inside, not nominal.', { ...PIPE_DIAMETER, least: 5 }),
    material: otherwise(oneWordOf(['smooth plastic', 'steel'], 'For its roughness.'), 'smooth plastic'),
    roughness: derived(
      Length('Instead of a material, for example "0.01 mm".', ROUGHNESS),
      'that of the material',
      ({ material }: { material: 'smooth plastic' | 'steel' }) =>
        material === 'steel' ? STEEL_PIPE_MM : SMOOTH_PIPE_MM,
    ),
    fittings: optional(Fittings()),
  }),
);

const ends = Height(
  'Where the water leaves the pipe, above the floor of the vat room; or the level under which it ends, if that is higher.',
  { least: -50_000, most: 50_000, unit: 'mm' },
);
const hardware = {
  siphonBreak: otherwise(
    truth(
      'Whether a siphon break is fitted at its highest point, above the brim of the vat that it draws from.',
    ),
    false,
  ),
  closedAtRest: otherwise(truth('Whether a valve in it is closed without power.'), false),
} as const satisfies Members;
const line = {
  pump: optional(Pump()),
  pipes: list(Pipe(), { minItems: 1, maxItems: 24 }),
  ends: otherwise(
    oneWordOf(['in air', 'under water'], 'Whether its end dips into the water that it fills.'),
    'in air',
  ),
  inlet: otherwise(
    Length('Where it takes the water, above the bottom of the vat.', { ...CLEARANCE }),
    '0 mm',
  ),
  intake: otherwise(Length('Inside diameter of that opening.', { ...INTAKE, most: 300 }), '40 mm'),
  ...hardware,
} as const satisfies Members;
export const Line = named('Line', object({ ...line, outlet: optional(ends) }));
export const SupplyLine = named('SupplyLine', object({ ...line, outlet: ends }));

export const Drain = named(
  'Drain',
  object(
    {
      flow: Flow(
        'Measured with a bucket and a watch. Without one, that of the supply is assumed.',
        SOME_FLOW,
      ),
      outlet: optional(Height('Where it ends, above the floor of the vat room; below it with a minus.')),
      ...hardware,
    },
    'The way from the system to waste.',
  ),
);

/** Of a vat with a lid, W/K, where the file says nothing. No source. */
export const USUAL_LOSS_W_PER_K = 6;

export const Heater = named(
  'Heater',
  object(
    {
      power: Power(undefined, { ...POWER, least: 1 }),
      losses: otherwise(
        quantity('conductance', 'Heat that the vat loses per kelvin above the room, for example "6 W/K".', {
          ...LOSS,
          least: 0.01,
        }),
        `${USUAL_LOSS_W_PER_K} W/K`,
        { remark: ' (a vat of some 300 L with a lid; no source)' },
      ),
      within: otherwise(Duration('How soon a batch shall be warm.', SOME_TIME), '12 h'),
    },
    'In the mixing vat.',
  ),
);

/** Of a plastic vat with its lid, where nobody has weighed it. No source. */
export const emptyMassKg = (capacityL: number): number => 5 + capacityL / 20;

export const Vat = named(
  'Vat',
  object({
    name: Name(),
    shape: Shape(),
    capacity: derived(
      Volume('To the brim, as measured or stated.', VAT_CAPACITY),
      'what its inside measures give',
      ({ shape }: { shape: Parameters<typeof shapeOf>[0] }) => {
        const inside = shapeOf(shape);
        return contentsAt(inside, heightOf(inside));
      },
    ),
    wall: otherwise(Length('Thickness, rim and ribs included.', { least: 0, most: 200, unit: 'mm' }), '6 mm'),
    mass: derived(
      Mass('Empty, with lid.', { least: 0, most: 10_000, unit: 'kg' }),
      '5 kg and 5 kg for each 100 L',
      ({ capacity }: { capacity: number }) => emptyMassKg(capacity),
    ),
    price: optional(Price('Of one, a number in the currency of the tariffs.')),
  }),
);

type VatPart = ReturnType<typeof Vat>;
const listed = list(Vat());
/** Null: the plan proposes them. */
const candidates: Part<Written<VatPart>[] | 'propose', readonly Read<VatPart>[] | null> = {
  schema: {
    ...listed.schema,
    type: ['array', 'string'],
    description:
      'A list of vats to choose from, or "propose" for upright cylinders that pass the doors and hold the reserve.',
    minItems: 1,
    maxItems: 30,
    pattern: '^propose$',
  },
  named: listed.named,
  read: (written, place) => (written === 'propose' ? null : listed.read(written, place)),
  outside: (written, pointer) => (written === 'propose' ? [] : listed.outside(written, pointer)),
  say: JSON.stringify,
};

const STAND = { least: 0, most: 5000, unit: 'mm' };

export const Vats = named(
  'Vats',
  object({
    candidates,
    fresh: optional(Name('Which candidate becomes the fresh vat. Default: the plan chooses.')),
    mixing: optional(Name('Which candidate becomes the mixing vat.')),
    stand: otherwise(Length('Height of what they stand on.', STAND), '0 mm'),
    freshStand: derived(
      Length('Of the fresh vat, where it stands higher or lower than the other.', STAND),
      'the stand',
      ({ stand }: { stand: number }) => stand,
    ),
    mixingStand: derived(
      Length('Of the mixing vat, where it stands higher or lower than the other.', STAND),
      'the stand',
      ({ stand }: { stand: number }) => stand,
    ),
    headroom: otherwise(Length('Kept free above them for a lid and a scoop.', CLEARANCE), '500 mm'),
    clearance: otherwise(Length('Kept free in a door.', CLEARANCE), '30 mm'),
    gap: otherwise(Length('Kept free between the vats, for hands and pipes.', CLEARANCE), '150 mm'),
  }),
);
