// The kinds of sensors, each in one place: what it may say of itself in a station file, and what the plant has of it besides
// what every contact or every number has. Values are read already: in house units, with their defaults.
import { readStation } from '../quantities.ts';
import { shapeOf, tableOf } from '../shape.ts';
import { type WrittenWords, wordsIn } from '../words.ts';
import { derived, optional, otherwise } from './absent.ts';
import {
  list,
  type Members,
  named,
  number,
  object,
  oneKindOf,
  oneWordOf,
  pair,
  type ReadMembers,
  truth,
} from './declare.ts';
import {
  Duration,
  Flow,
  Length,
  ownText,
  Ratio,
  Temperature,
  TemperatureDifference,
  Volume,
} from './parts.ts';
import {
  contact,
  device,
  heard,
  measured,
  RouteId,
  Word as SaidWord,
  SensorId,
  sentIn,
  sentinels,
  VesselId,
} from './wire.ts';

/** What the kinds look at beside themselves. */
interface Around {
  readonly vessels: Readonly<Record<string, { readonly capacity: number | null }>>;
  readonly routes: Readonly<
    Record<string, { readonly flow: { readonly least: number; readonly most: number } }>
  >;
}

type ShapeValue = Parameters<typeof shapeOf>[0];
interface Surroundings {
  readonly vessels: Readonly<Record<string, { readonly shape: ShapeValue | null }>>;
}

function kind<M extends Members, P extends object>(
  members: M,
  inPlant: (sensor: ReadMembers<M>, station: Surroundings) => P,
) {
  return { members, inPlant };
}

/** Payload words for true (wet, running) and false (dry, resting). */
const words = (yes: WrittenWords, no: WrittenWords) => ({ yes: wordsIn(yes), no: wordsIn(no) });

const tableOfShape = (shape: ShapeValue | null) => (shape === null ? null : tableOf(shapeOf(shape)));

const total = {
  route: RouteId(),
  unit: oneWordOf(['L', 'mL', 'm3', 'gal', 'pulses'], 'Unit of the count, which only ever rises.'),
  pulsesPerLitre: optional(number({ exclusiveMinimum: 0, description: 'Needed where the unit is pulses.' })),
  wrapsAt: optional(
    number({
      exclusiveMinimum: 0,
      description:
        'The count at which it starts again from 0, in `unit`: 65536 for sixteen bits. Absent: never.',
    }),
  ),
  scale: otherwise(
    number({
      exclusiveMinimum: 0,
      description: 'The count is scale x payload, for a counter that counts in steps of its own: 0.1.',
    }),
    1,
    { untold: true },
  ),
  uncertainty: otherwise(Ratio('Of the amount.'), '5 %'),
  lostAtStart: derived(
    Volume('What may pass uncounted at each start.'),
    'what flows in one second at the greatest flow of its route',
    ({ route }: { route: string }, { routes }: Around) => (routes[route]?.flow.most ?? 0) / 60,
  ),
  ...heard,
  ...device,
  sentinels,
} as const satisfies Members;

/**
 * The coarsest step that a counter in this unit is known to make: whole litres and gallons; hundredths of a cubic metre; and
 * ten pulses a litre where somebody counts in millilitres.
 */
const COARSEST_COUNT_L = { L: 1, gal: 3.785411784, m3: 10, mL: 0.1, pulses: 1 } as const;

function totalOf(sensor: ReadMembers<typeof total>) {
  // A count of pulses is litres with a scale; nobody behind the wire needs to know that there were pulses.
  const inPulses = sensor.unit === 'pulses';
  const scale = inPulses ? sensor.scale / (sensor.pulsesPerLitre ?? 1) : sensor.scale;
  const unit: string = sensor.unit === 'pulses' ? 'L' : sensor.unit;
  return {
    scale,
    offset: 0,
    range: null,
    sentinels: sensor.sentinels ?? [],
    unit,
    route: sensor.route,
    uncertainty: sensor.uncertainty,
    /** A pulse has no fraction. */
    inPulses,
    /** Litres of one count, at most: for pulses what the file says; else what the unit suggests, until its steps tell. */
    countL: inPulses ? scale : COARSEST_COUNT_L[sensor.unit] * Math.max(1, sensor.scale),
    lostAtStartL: sensor.lostAtStart,
    /** In litres; null where it never wraps. */
    wrapsAtL: sensor.wrapsAt === null ? null : readStation(`${sensor.wrapsAt * scale} ${unit}`, 'volume'),
  };
}

export const SENSOR_KINDS = {
  float: kind(
    {
      vessel: VesselId(),
      position: oneWordOf(['low', 'high', 'overflow'], '`overflow` is the independent one above `high`.'),
      mark: Volume('Contents at which it turns over, for example "240 L".'),
      tolerance: derived(
        Volume('How far off the mark it may turn over.'),
        '1 % of the capacity',
        ({ vessel }: { vessel: string }, { vessels }: Around) => 0.01 * (vessels[vessel]?.capacity ?? 0),
      ),
      wet: SaidWord(),
      dry: SaidWord(),
      normallyClosed: optional(
        truth(
          'True where the contact opens when wet, so that a broken wire reads wet. Informs `check`; `wet` and `dry` already say what the payload means.',
        ),
      ),
      ...contact,
    },
    (sensor) => ({
      ...words(sensor.wet, sensor.dry),
      vessel: sensor.vessel,
      position: sensor.position,
      markL: sensor.mark,
      toleranceL: sensor.tolerance,
      normallyClosed: sensor.normallyClosed,
    }),
  ),
  leak: kind(
    {
      tray: ownText('Which tray or floor it lies in.'),
      wet: SaidWord(),
      dry: SaidWord(),
      ...contact,
    },
    (sensor) => ({ ...words(sensor.wet, sensor.dry), tray: sensor.tray }),
  ),
  'top-off': kind(
    {
      vessel: VesselId('The system whose own top-off this reports.'),
      running: SaidWord(),
      resting: SaidWord(),
      ...contact,
    },
    (sensor) => ({ ...words(sensor.running, sensor.resting), vessel: sensor.vessel }),
  ),
  level: kind(
    {
      vessel: VesselId(),
      unit: oneWordOf(
        ['L', 'gal', 'mm', 'cm', 'm', 'in', '%'],
        "Unit of the payload after scale and offset. A length needs the vessel's shape or a `table`; % is of the capacity.",
      ),
      table: optional(
        list(pair(Length(), Volume()), {
          description:
            'Calibration: pairs of level and contents, both rising, joined by straight lines; for example ["120 mm", "3.6 L"].',
          minItems: 2,
        }),
      ),
      uncertainty: Volume('How far off it may be, either way.'),
      ...measured,
    },
    (sensor, { vessels }) => ({
      vessel: sensor.vessel,
      /** Pairs of level (mm) and contents (L), rising; null where the unit is already a volume or a share. */
      table: ['L', 'gal', '%'].includes(sensor.unit)
        ? null
        : (sensor.table ?? tableOfShape(vessels[sensor.vessel]?.shape ?? null)),
      uncertaintyL: sensor.uncertainty,
    }),
  ),
  flow: kind(
    {
      route: RouteId(),
      unit: sentIn('L/min', 'L/h', 'L/s', 'L/d', 'gal/min', 'gal/d', 'm3/h'),
      uncertainty: otherwise(Ratio('Of the reading.'), '5 %'),
      zero: derived(
        Flow('Below this it counts as no flow.'),
        "a tenth of the route's least flow",
        ({ route }: { route: string }, { routes }: Around) => (routes[route]?.flow.least ?? 0) / 10,
      ),
      ...measured,
    },
    (sensor) => ({ route: sensor.route, uncertainty: sensor.uncertainty, zeroLpm: sensor.zero }),
  ),
  total: kind(total, totalOf),
  temperature: kind(
    {
      vessel: VesselId(),
      unit: sentIn('degC', 'degF', 'K'),
      uncertainty: otherwise(TemperatureDifference('How far off it may be, either way.'), '0.3 K'),
      ...measured,
    },
    (sensor) => ({ vessel: sensor.vessel, uncertaintyK: sensor.uncertainty }),
  ),
  conductivity: kind(
    {
      vessel: VesselId(),
      unit: sentIn('mS/cm', 'uS/cm', 'S/cm', 'S/m'),
      compensatedTo: optional(
        Temperature(
          'Where the probe already compensates: to which temperature, usually "25 degC". Absent: raw conductivity.',
        ),
      ),
      temperatureFrom: optional(SensorId('The temperature sensor that belongs to a raw reading.')),
      validAfter: optional(
        object(
          { route: RouteId(), runsFor: Duration() },
          'A probe in still water reads wrong: its reading counts only after its route has run for this long. Between runs the last valid reading serves.',
        ),
      ),
      validFor: otherwise(Duration('How long the last valid reading serves between runs.'), '12 h'),
      ...measured,
    },
    (sensor) => ({
      vessel: sensor.vessel,
      /** Temperature that the probe has already compensated to; null where raw. */
      compensatedToC: sensor.compensatedTo,
      temperatureFrom: sensor.temperatureFrom,
      validAfter:
        sensor.validAfter === null
          ? null
          : { route: sensor.validAfter.route, runsForMs: sensor.validAfter.runsFor },
      validForMs: sensor.validFor,
    }),
  ),
};

export type SensorKinds = typeof SENSOR_KINDS;
type MembersOf = { readonly [K in keyof SensorKinds]: SensorKinds[K]['members'] };

/** `top-off`: `TopOffSensor`. */
const nameOfKind = (kind: string): string =>
  `${kind.replaceAll(/(?:^|-)([a-z])/gu, (_, letter: string) => letter.toUpperCase())}Sensor`;

export const Sensor = named(
  'Sensor',
  oneKindOf(
    'measures',
    Object.fromEntries(
      Object.entries(SENSOR_KINDS).map(([measures, { members }]) => [measures, members]),
    ) as MembersOf,
    { nameOf: nameOfKind },
  ),
);
