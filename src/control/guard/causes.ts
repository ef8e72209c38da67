// Why a row may hold, and what to do by hand: as the plumbing of a station decides it. Every explanation that fits is
// named, the likeliest first; none that needs a thing which the station does not have.

import type { Actuator, Plant, Route, Vessel } from '../../station/plant.ts';
import { known } from './invariant.ts';
import { type Message, message } from './message.ts';

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
  const stop = unpluggingOf(plant, route.through);
  return route.pumped && !route.loop
    ? message('mend-unasked-siphon', { stop })
    : message('mend-unasked-flow', { stop });
}

/** Told to be open, and hardly anything flows: no pump is on the way, so pressure or height should move the water. */
export const starved = (plant: Plant, route: Route): Message =>
  fromPurifier(plant, route)
    ? message('inlet-starved', { route: route.id })
    : message('route-starved', { route: route.id, vessel: route.from });

export const againstStarved = (plant: Plant, route: Route): Message =>
  fromPurifier(plant, route)
    ? message('mend-inlet-starved')
    : message('mend-route-starved', { vessel: route.from });

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
  if (Object.keys(floats).length === 0) return message('mend-look-at-level', { vessel: id });
  return level === null
    ? message('mend-look-at-float', { vessel: id })
    : message('mend-look-at-float-and-level', { vessel: id });
}

/** How a person stops water that comes into a vessel. */
export const tapOf = ({ id, tap }: Vessel): Message =>
  tap === null ? message('close-supply', { vessel: id }) : message('stop-by-hand', { tap });

/** How a device that can not be switched off is stopped, and why at once. */
export function againstStaysOn(plant: Plant, actuator: Actuator): Message {
  const stop = unpluggingOf(plant, [actuator.id]);
  const heats = Object.values(plant.heaters).some((heater) => heater.actuator === actuator.id);
  if (heats || actuator.kind === 'heater') return message('mend-stays-on-heating', { stop });
  if (actuator.kind === 'doser') return message('mend-stays-on-dosing', { stop });
  return message('mend-stays-on-moving', { stop });
}

/** Filled for longer than filling takes. */
export const againstLongRun = ({ id, floats }: Vessel): Message =>
  Object.keys(floats).length > 0
    ? message('mend-long-run-with-floats', { vessel: id })
    : message('mend-long-run', { vessel: id });

/** The pump that brings a system's water round is not the station's. */
export const againstTooFull = ({ id, topOff }: Vessel): Message =>
  topOff === null
    ? message('mend-system-too-full', { vessel: id })
    : message('mend-system-too-full-top-off', { vessel: id });

/** How both sides of an exchange are checked. */
export function againstDrift(plant: Plant, route: Route): Message {
  const system = route.purpose === 'supply' ? route.to : route.from;
  const metered = Object.values(plant.routes).some(
    ({ purpose, meter }) => (purpose === 'supply' || purpose === 'drain') && meter !== null,
  );
  return metered ? message('mend-drift-by-meters', { system }) : message('mend-drift-by-bucket', { system });
}

/** How to take the power from devices and the water from valves. Water and mains may meet there: never a plug. */
export function unpluggingOf(plant: Plant, actuators: readonly string[]): Message {
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
