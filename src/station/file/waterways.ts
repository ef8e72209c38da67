// Vessels and the routes between them, as a station file declares them.
import { BOUNDED } from '../kinds.ts';
import type { VesselRole } from '../plant.ts';
import { derived, group, optional, otherwise } from './absent.ts';
import { integer, list, named, object, oneWordOf, quantity, truth } from './declare.ts';
import {
  Conductivity,
  Duration,
  Flow,
  HandStop,
  Height,
  Mass,
  MassFlow,
  name,
  Power,
  Salinity,
  Shape,
  Temperature,
  Volume,
} from './parts.ts';
import { ActuatorId, RouteId, VesselId } from './wire.ts';

/** What defaults of vessels, routes and process look at. */
export interface Waterways {
  readonly vessels: Readonly<Record<string, Holding>>;
  readonly routes: Readonly<
    Record<string, { readonly from: string; readonly to: string; readonly flow: { readonly least: number } }>
  >;
  readonly process: {
    readonly salinity: { readonly target: number };
    readonly temperature: { readonly target: number } | null;
  };
}
interface Holding {
  readonly role: VesselRole;
  readonly capacity: number | null;
  readonly volume: number | null;
}

const ROLES = [
  'purified-water',
  'fresh',
  'mixing',
  'system',
  'waste',
] as const satisfies readonly VesselRole[];

/** Which vessel is what. The mixing vat is '' where the file has none, which the loader refuses. */
export function rolesIn(vessels: Readonly<Record<string, { readonly role: VesselRole }>>) {
  const withRole = (role: VesselRole) => Object.keys(vessels).filter((id) => vessels[id]?.role === role);
  return {
    freshId: withRole('fresh')[0] ?? null,
    mixingId: withRole('mixing')[0] ?? '',
    systemIds: withRole('system'),
    roleOf: (id: string): VesselRole => vessels[id]?.role ?? 'waste',
  };
}

/** The inlet and the waste have no brim. */
export const isBounded = ({ role }: { readonly role: VesselRole }): boolean => BOUNDED.includes(role);
const ofCapacity =
  (share: number) =>
  (vessel: Holding): number =>
    isBounded(vessel) ? share * (vessel.capacity ?? 0) : 0;

const isSystem = ({ vessels }: Waterways, id: string) => vessels[id]?.role === 'system';

const Initial = named(
  'Initial',
  object(
    {
      contents: derived(
        Volume(),
        '0 L; a system: its volume',
        (_: object, whole: Waterways, id) => (isSystem(whole, id) ? (whole.vessels[id]?.volume ?? 0) : 0),
        { untold: true },
      ),
      salinity: derived(
        Salinity(),
        '0 PSU; a system: the target',
        (_: object, whole: Waterways, id) => (isSystem(whole, id) ? whole.process.salinity.target : 0),
        { untold: true },
      ),
      temperature: derived(
        Temperature(),
        '18 degC; a system: the target, where the station has one',
        (_: object, whole: Waterways, id) =>
          (isSystem(whole, id) ? whole.process.temperature?.target : undefined) ?? 18,
        { untold: true },
      ),
    },
    'What the simulated station starts with. The running service never reads this.',
  ),
);

export const Vessel = named(
  'Vessel',
  object({
    role: oneWordOf(
      ROLES,
      '`purified-water`: the line from the purifier. `fresh`: the vat of purified water. `mixing`: where salt is added. `system`: what the water is for. `waste`: where it may run away.',
    ),
    name: optional(name),
    capacity: optional(
      Volume(
        'To the brim. Needed for fresh, mixing and system; the purified-water inlet and the waste have none.',
      ),
    ),
    margin: derived(Volume('Kept free below the brim.'), '3 % of the capacity', ofCapacity(0.03), {
      counts: isBounded,
    }),
    minimum: derived(
      Volume('The least contents with which a pump may still draw from it.'),
      '5 % of the capacity',
      ofCapacity(0.05),
      { counts: isBounded },
    ),
    volume: optional(
      Volume(
        "A system's normal contents, needed for a system: the reserve and the exchange are shares of it.",
      ),
    ),
    shape: optional(Shape()),
    levels: optional(
      object(
        { least: Height(), most: Height() },
        'How high its water may stand, above any one floor that serves for all heights of this file. With the `outlet` of a route they say whether water runs on by itself when its pump stops.',
      ),
    ),
    handDrawn: optional(
      object(
        { flow: Flow(), perDay: Volume() },
        'Water that people may draw by hand: normal life up to this rate and daily amount, a leak beyond.',
      ),
    ),
    purityLimit: optional(
      Conductivity(
        'On the purified-water inlet: water above this conductivity must not reach the fresh vat.',
      ),
    ),
    stop: group(
      object(
        { inflow: optional(HandStop()), outflow: optional(HandStop()) },
        'How a person stops the water by hand, for the words of alarms: what comes into this vessel, and what leaves it. Without it they name what is switched off at the breaker panel.',
      ),
    ),
    initial: group(Initial()),
  }),
);

export const Route = named(
  'Route',
  object({
    name: optional(name),
    from: VesselId('The vessel that the water leaves.'),
    to: VesselId('The vessel that it enters. The same as `from` for circulation.'),
    through: list(ActuatorId(), {
      minItems: 1,
      uniqueItems: true,
      description: 'The actuators that must be on, in the order of the flow.',
    }),
    shut: optional(
      list(ActuatorId(), {
        uniqueItems: true,
        description:
          'The actuators that must be off, for example a diverter that would send the water elsewhere.',
      }),
    ),
    notWith: optional(
      list(RouteId(), {
        uniqueItems: true,
        description:
          'Routes that must not run at the same time. Routes that share an actuator exclude each other anyway.',
      }),
    ),
    outlet: optional(
      Height('Where its water leaves the pipe, above the floor of the `levels` of the vessels.'),
    ),
    stop: optional(
      HandStop(
        'How a person stops by hand what flows by this route: what is closed stops a siphon too, what is switched off only a pump. Without it, and without that of its devices, the words of alarms name what is switched off at the breaker panel.',
      ),
    ),
    siphonBreak: otherwise(
      truth(
        'Whether a siphon break is fitted at its highest point, above the brim of the vessel it draws from.',
      ),
      false,
      { untold: true },
    ),
    flow: object(
      {
        least: Flow(),
        most: Flow(),
        usual: derived(
          Flow('What it usually has.'),
          'midway between the least and the most',
          ({ least, most }: { least: number; most: number }) => (least + most) / 2,
        ),
      },
      'The least and the most flow that this route has when it runs as it should.',
    ),
    priming: otherwise(Duration('Time from `on` until full flow.'), '5 s'),
    runDown: otherwise(Duration('Time from a proven `off` until nothing moves any more.'), '3 s'),
    minimumRun: otherwise(
      Duration('Once started, wanted for at least this long; protection may cut it short.'),
      '0 s',
    ),
    minimumRest: otherwise(Duration('Time between a stop and the next start.'), '5 s'),
    startsPerHour: otherwise(
      integer({
        minimum: 1,
        maximum: 600,
        description: 'How many starts an hour its pump and valves stand.',
      }),
      30,
      { remark: ' (from memory: small pump motors are often rated so)' },
    ),
  }),
);

export const Heater = named(
  'Heater',
  object({
    name: optional(name),
    in: VesselId('The vessel that it heats: the mixing vat.'),
    switch: ActuatorId('The actuator that switches it.'),
    power: Power(),
    covered: Volume('Contents from which the heater is under water for certain.'),
    limit: Temperature('Trip above this. A separate hard-wired cut-out is needed all the same.'),
    cutOut: optional(
      Temperature(
        'Where the thermal cut-out in its supply opens: hard-wired, independent of every thermometer of this file, and reset by hand. A little above the limit. Leave it out where none is fitted: `check` then says what one lying thermometer can do.',
      ),
    ),
    lag: otherwise(
      Duration('Time after which heating must show, and after which switching off must show.'),
      '10 min',
    ),
    losses: otherwise(
      quantity('conductance', 'Heat lost per kelvin above the room, for example "8 W/K".'),
      '0 W/K',
    ),
  }),
);

export const Doser = named(
  'Doser',
  object({
    in: VesselId('The vessel that it adds salt to: the mixing vat.'),
    switch: ActuatorId('The actuator that switches it.'),
    rate: MassFlow('Dry salt while it runs, for example "0.5 kg/min".'),
    largest: Mass('The most that one dose may add without a person.'),
  }),
);
