// The kinds of sensors: what each may say of itself in a station file.
import { derived, optional, otherwise } from './absent.ts';
import { list, type Members, number, object, oneWordOf, pair, text, truth } from './declare.ts';
import { Duration, Flow, Length, Ratio, Temperature, TemperatureDifference, Volume } from './parts.ts';
import {
  contact,
  device,
  heard,
  measured,
  RouteId,
  SensorId,
  sentIn,
  sentinels,
  VesselId,
  Word,
} from './wire.ts';

interface Around {
  readonly vessels: Readonly<Record<string, { readonly capacity: number | null }>>;
  readonly routes: Readonly<
    Record<string, { readonly flow: { readonly least: number; readonly most: number } }>
  >;
}

export const SENSOR_KINDS = {
  float: {
    vessel: VesselId(),
    position: oneWordOf(['low', 'high', 'overflow'], '`overflow` is the independent one above `high`.'),
    mark: Volume('Contents at which it turns over, for example "240 L".'),
    tolerance: derived(
      Volume('How far off the mark it may turn over.'),
      '1 % of the capacity',
      ({ vessel }: { vessel: string }, { vessels }: Around) => 0.01 * (vessels[vessel]?.capacity ?? 0),
    ),
    wet: Word(),
    dry: Word(),
    normallyClosed: optional(
      truth(
        'True where the contact opens when wet, so that a broken wire reads wet. Informs `check`; `wet` and `dry` already say what the payload means.',
      ),
    ),
    ...contact,
  },
  leak: {
    tray: text({ minLength: 1, description: 'Which tray or floor it lies in.' }),
    wet: Word(),
    dry: Word(),
    ...contact,
  },
  'top-off': {
    vessel: VesselId('The system whose own top-off this reports.'),
    running: Word(),
    resting: Word(),
    ...contact,
  },
  level: {
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
  flow: {
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
  total: {
    route: RouteId(),
    unit: oneWordOf(['L', 'mL', 'm3', 'gal', 'pulses'], 'Unit of the count, which only ever rises.'),
    pulsesPerLitre: optional(
      number({ exclusiveMinimum: 0, description: 'Needed where the unit is pulses.' }),
    ),
    wrapsAt: optional(
      number({
        exclusiveMinimum: 0,
        description:
          'The count at which it starts again from 0, in `unit`: 65536 for sixteen bits. Absent: never.',
      }),
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
  },
  temperature: {
    vessel: VesselId(),
    unit: sentIn('degC', 'degF', 'K'),
    uncertainty: otherwise(TemperatureDifference('How far off it may be, either way.'), '0.3 K'),
    ...measured,
  },
  conductivity: {
    vessel: VesselId(),
    unit: sentIn('mS/cm', 'uS/cm', 'S/m'),
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
} as const satisfies Readonly<Record<string, Members>>;
