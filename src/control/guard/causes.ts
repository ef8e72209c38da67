// Why a row may hold, and what to do by hand: as the plumbing of a station decides it. Every explanation that fits is
// named, the likeliest first; none that needs a thing which the station does not have.

import type { Actuator, Plant, Route, Vessel } from '../../station/plant.ts';
import { known } from './invariant.ts';
import { type Message, message, sameMessage } from './message.ts';
import {
  byHand,
  checking,
  clears,
  consequence,
  doing,
  electricityFirst,
  HANDS_IN_WATER,
  HEATER,
  inCase,
  later,
  MAINS,
  respond,
  respondAndReset,
  TRIED_AGAIN,
} from './response.ts';

const hasValve = (plant: Plant, routes: readonly Route[]): boolean =>
  routes.some(({ through }) => through.some((id) => known(plant.actuators, id).kind === 'valve'));
const touching = (plant: Plant, { into, outOf }: Vessel): readonly Route[] =>
  [...into, ...outOf].map((id) => known(plant.routes, id));
const fromPurifier = (plant: Plant, route: Route): boolean =>
  known(plant.vessels, route.from).role === 'purified-water';

/** Water passes by a route that was told to rest. */
export function unaskedFlow(plant: Plant, route: Route): Message {
  const valve = hasValve(plant, [route]);
  if (!route.pumped) return message('unasked-by-valve');
  if (route.loop) return message('unasked-by-loop-pump');
  return valve ? message('unasked-by-pump-and-valve') : message('unasked-by-pump');
}

export function againstUnaskedFlow(plant: Plant, route: Route): Message {
  const now = doing(message('do-stop-water-now', { stop: stopOfRoute(plant, route) }));
  const siphon =
    route.pumped && !route.loop ? [later(message('later-siphon-break', { route: route.id }))] : [];
  return respondAndReset(electricityFirst(plant), now, ...siphon);
}

/** Told to be open, and hardly anything flows: no pump is on the way, so pressure or height should move the water. */
export const starved = (plant: Plant, route: Route): Message =>
  fromPurifier(plant, route)
    ? message('inlet-starved', { route: route.id })
    : message('route-starved', { route: route.id, vessel: route.from });

export const againstStarved = (plant: Plant, route: Route): Message =>
  fromPurifier(plant, route)
    ? respond(doing(message('do-open-the-tap')), checking(message('check-pressure-and-filters')), TRIED_AGAIN)
    : respond(
        doing(message('do-open-the-way', { vessel: route.from })),
        doing(message('do-let-the-air-out')),
        TRIED_AGAIN,
      );

/** A level moves, and nothing was told to run. */
export function movingLevel(plant: Plant, vessel: Vessel): Message {
  const routes = touching(plant, vessel);
  const pump = routes.some(({ pumped }) => pumped);
  if (hasValve(plant, routes))
    return pump ? message('level-moves-valve-and-pump') : message('level-moves-valve');
  return pump ? message('level-moves-pump') : message('level-moves-leak');
}

/** What of the evidence at a vessel may be wrong. */
export function wrongEvidence(plant: Plant, vessel: Vessel): Message {
  const metered = touching(plant, vessel).some(({ meter }) => meter !== null);
  const floats = Object.keys(vessel.floats).length > 0;
  if (vessel.level === null)
    return metered ? message('wrong-float-or-meter') : message('wrong-float-or-route');
  if (floats) return metered ? message('wrong-float-level-or-meter') : message('wrong-float-level-or-route');
  return metered ? message('wrong-level-or-meter') : message('wrong-level-or-route');
}

/** A float may hang where no water is; a level can be compared by eye. */
export function lookInto({ id, floats, level }: Vessel): Message {
  const hangs = Object.keys(floats).length > 0;
  return respondAndReset(
    HANDS_IN_WATER,
    ...(hangs ? [checking(message('check-floats-by-eye', { vessel: id }))] : []),
    ...(level !== null || !hangs ? [checking(message('check-level-by-eye', { vessel: id }))] : []),
    doing(hangs ? message('do-free-the-float') : message('do-mend-what-is-found')),
  );
}

/** How a person stops what flows by a route: as its owner says of it, or of a vessel whose only way it is, else by its devices. */
function stopOfRoute(plant: Plant, { stop, from, to, through }: Route): Message {
  const [source, target] = [known(plant.vessels, from), known(plant.vessels, to)];
  return (
    byHand(stop) ??
    (target.into.length === 1 ? byHand(target.stop.inflow) : null) ??
    (source.outOf.length === 1 ? byHand(source.stop.outflow) : null) ??
    stopOf(plant, through)
  );
}

/** The routes that have a stop of their own by that, the others by their devices. */
function stopOfRoutes(plant: Plant, ids: readonly string[]): Message {
  const routes = ids.map((id) => known(plant.routes, id));
  const own = routes.flatMap(({ stop }) => byHand(stop) ?? []);
  const devices = [...new Set(routes.flatMap(({ stop, through }) => (stop === null ? through : [])))];
  return together([...own, ...(devices.length === 0 ? [] : [stopOf(plant, devices)])]);
}

/** Each once: two routes may be stopped by one tap. */
function together(stops: readonly Message[]): Message {
  const each = stops.filter((one, at) => stops.findIndex((other) => sameMessage(one, other)) === at);
  const [only] = each;
  return each.length === 1 && only !== undefined ? only : message('stop-each', { all: each });
}

/** How a person stops water that comes into a vessel: as its owner says, else by what brings it there. */
export const stopOfInflow = (plant: Plant, { id, stop, into }: Vessel): Message =>
  byHand(stop.inflow) ??
  (into.length === 0 ? message('stop-under-it', { vessel: id }) : stopOfRoutes(plant, into));
/** How a person stops water that leaves a vessel. */
export const stopOfOutflow = (plant: Plant, { id, stop, outOf }: Vessel): Message =>
  byHand(stop.outflow) ??
  (outOf.length === 0 ? message('stop-under-it', { vessel: id }) : stopOfRoutes(plant, outOf));

/** How a device that can not be switched off is stopped, and why at once. */
export function againstStaysOn(plant: Plant, actuator: Actuator): Message {
  const stop = stopOfDevice(plant, actuator);
  const heats = Object.values(plant.heaters).some((heater) => heater.actuator === actuator.id);
  if (heats || actuator.kind === 'heater')
    return respondAndReset(
      HEATER,
      doing(message('do-stop', { stop })),
      consequence(message('stays-on-heats')),
      doing(message('do-replace-relay')),
    );
  if (actuator.kind === 'doser')
    return respondAndReset(
      MAINS,
      doing(message('do-stop', { stop })),
      consequence(message('stays-on-doses')),
      doing(message('do-replace-relay')),
    );
  return respondAndReset(
    electricityFirst(plant),
    doing(message('do-stop', { stop })),
    consequence(actuator.kind === 'valve' ? message('stays-on-flows') : message('stays-on-pumps')),
    doing(message('do-replace-what-sticks')),
  );
}

/** Filled for longer than filling takes. */
export const againstLongRun = (plant: Plant, { id, floats }: Vessel): Message =>
  respondAndReset(
    electricityFirst(plant),
    checking(
      Object.keys(floats).length > 0
        ? message('check-where-it-went-with-floats')
        : message('check-where-it-went'),
    ),
    checking(message('check-under-the-vats', { vessel: id })),
  );

/** The pump that brings a system's water round is not the station's. */
export const againstTooFull = ({ id, topOff }: Vessel): Message =>
  respond(
    HANDS_IN_WATER,
    checking(message('check-return-pump', { vessel: id })),
    ...(topOff === null ? [] : [checking(message('check-top-off-shut', { vessel: id }))]),
    clears(message('clears-when-lower', { vessel: id })),
  );

/** What lives in it has too little water. */
export const againstTooLow = ({ id, topOff }: Vessel): readonly Message[] => [
  HANDS_IN_WATER,
  checking(
    topOff === null
      ? message('check-where-system-water-went', { vessel: id })
      : message('check-where-system-water-went-or-top-off', { vessel: id }),
  ),
  doing(message('do-bring-water')),
];

/** It may run over already. */
export const againstRunningOver = (plant: Plant, vessel: Vessel): Message =>
  respond(
    electricityFirst(plant),
    inCase(message('if-water-comes-in', { stop: stopOfInflow(plant, vessel) })),
    checking(message('check-return-pump', { vessel: vessel.id })),
    ...(vessel.topOff === null ? [] : [checking(message('check-top-off-shut', { vessel: vessel.id }))]),
    doing(message('do-draw-off', { vessel: vessel.id })),
  );

/** How both sides of an exchange are checked. */
export function againstDrift(plant: Plant, route: Route): readonly Message[] {
  const system = route.purpose === 'supply' ? route.to : route.from;
  const metered = Object.values(plant.routes).some(
    ({ purpose, meter }) => (purpose === 'supply' || purpose === 'drain') && meter !== null,
  );
  return [
    HANDS_IN_WATER,
    doing(message('do-correct-level', { system })),
    doing(metered ? message('do-check-meters') : message('do-measure-flows')),
    doing(message('do-begin-new-ledger')),
  ];
}

/** How what a device lets flow or drives is stopped. A valve that sticks lets no power stop it: what closes its ways does. */
export function stopOfDevice(plant: Plant, { id, kind, stop }: Actuator): Message {
  const ways = Object.values(plant.routes).filter(({ through }) => through.includes(id));
  return stop === null && kind === 'valve' && ways.length > 0
    ? together(ways.map((route) => stopOfRoute(plant, route)))
    : stopOf(plant, [id]);
}

/** How devices are stopped: those of which the owner says how by that, the others by `unpluggingOf`. */
export function stopOf(plant: Plant, actuators: readonly string[]): Message {
  const own = actuators.flatMap((id) => byHand(known(plant.actuators, id).stop) ?? []);
  const rest = actuators.filter((id) => known(plant.actuators, id).stop === null);
  return together([...own, ...(rest.length === 0 ? [] : [unpluggingOf(plant, rest)])]);
}

/** How to take the power from devices and the water from valves. Water and mains may meet there: never a plug. */
function unpluggingOf(plant: Plant, actuators: readonly string[]): Message {
  const devices = actuators.map((id) => known(plant.actuators, id));
  const meant = (isMeant: (device: Actuator) => boolean): readonly string[] =>
    devices.filter(isMeant).map(({ id }) => id);
  const electric = meant(({ kind }) => kind !== 'valve');
  const valves = meant(({ kind }) => kind === 'valve');
  const upstreamDevices = [...new Set(devices.flatMap((device) => device.upstream ?? []))];
  const off =
    electric.length === 0
      ? message('shut-water-off', { devices: valves })
      : message('switch-off-at-panel', { devices: electric });
  const both =
    electric.length === 0 || valves.length === 0 ? off : message('switch-off-and-shut', { off, valves });
  return upstreamDevices.length === 0
    ? both
    : message('upstream-told-off-too', { off: both, upstreamDevices });
}
