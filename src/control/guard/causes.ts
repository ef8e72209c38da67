// Why a row may hold, and what to do by hand: the words that the plumbing of a station decides. Every explanation that fits is
// named, the likeliest first; none that needs a thing which the station does not have.
import type { Actuator, Plant, Route, Vessel } from '../../station/plant.ts';
import { known } from './invariant.ts';

const hasValve = (plant: Plant, routes: readonly Route[]): boolean =>
  routes.some(({ through }) => through.some((id) => known(plant.actuators, id).kind === 'valve'));
const touching = (plant: Plant, { into, outOf }: Vessel): readonly Route[] =>
  [...into, ...outOf].map((id) => known(plant.routes, id));
const fromPurifier = (plant: Plant, route: Route): boolean =>
  known(plant.vessels, route.from).role === 'purified-water';

/** Water passes by a route that was told to rest. */
export function unaskedFlow(plant: Plant, route: Route): string {
  const valve = hasValve(plant, [route]);
  if (!route.pumped)
    return 'a valve that does not close, somebody who opened it by hand, two outputs that are swapped, or a meter that counts without flow';
  if (route.loop)
    return 'a pump that runs on, somebody who switched it by hand, two outputs that are swapped, or a meter that counts without flow';
  return valve
    ? 'a pump that runs on, a siphon through a valve that does not close, somebody who switched it by hand, two outputs that are swapped, or a meter that counts without flow'
    : 'a siphon, a pump that runs on, somebody who switched it by hand, two outputs that are swapped, or a meter that counts without flow';
}

export function againstUnaskedFlow(plant: Plant, route: Route): string {
  const stop = unpluggingOf(plant, route.through);
  return route.pumped && !route.loop
    ? `Stop the water by hand now. ${stop}. Nothing in the station can stop a siphon: fit a siphon break or a valve that closes without power. Then reset.`
    : `Stop the water by hand now. ${stop}. Then reset.`;
}

/** Told to be open, and hardly anything flows: no pump is on the way, so pressure or height should move the water. */
export const starved = (plant: Plant, route: Route): string =>
  fromPurifier(plant, route)
    ? `${route.name} is open but hardly anything flows: a closed tap, no pressure, a blocked filter, an exhausted membrane, a valve that stays shut, or a meter that stopped counting; tried again after a pause`
    : `${route.name} is open but hardly anything flows: something closed by hand on its way, a valve that stays shut, air or dirt in the line, too little water above the outlet of the ${known(plant.vessels, route.from).name}, or a meter that stopped counting; tried again after a pause`;

export const againstStarved = (plant: Plant, route: Route): string =>
  fromPurifier(plant, route)
    ? 'Open the tap. Look at the pressure before the purifier and at the age of its filters. It tries again by itself.'
    : `Open what is closed by hand on the way from the ${known(plant.vessels, route.from).name}, and let the air out of the line. It tries again by itself.`;

/** A level moves, and nothing was told to run. */
export function movingLevel(plant: Plant, vessel: Vessel): string {
  const routes = touching(plant, vessel);
  const pump = routes.some(({ pumped }) => pumped);
  if (hasValve(plant, routes))
    return pump
      ? 'a valve that does not close, a siphon, a pump that runs on, a leak, more drawn or added by hand than allowed, or a level sensor that is wrong'
      : 'a valve that does not close, a leak, more drawn or added by hand than allowed, or a level sensor that is wrong';
  return pump
    ? 'a siphon, a pump that runs on, a leak, more drawn or added by hand than allowed, or a level sensor that is wrong'
    : 'a leak, more drawn or added by hand than allowed, or a level sensor that is wrong';
}

/** What of the evidence at a vessel may be wrong. */
export function wrongEvidence(plant: Plant, vessel: Vessel): string {
  const metered = touching(plant, vessel).some(({ meter }) => meter !== null);
  const floats = Object.keys(vessel.floats).length > 0;
  if (vessel.level === null)
    return metered
      ? 'a float is stuck, or a meter is wrong'
      : 'a float is stuck, or a route flows otherwise than the station file says';
  if (floats)
    return metered
      ? 'a float is stuck, or the level sensor or a meter is wrong'
      : 'a float is stuck, the level sensor is wrong, or a route flows otherwise than the station file says';
  return metered
    ? 'the level sensor or a meter is wrong'
    : 'the level sensor is wrong, or a route flows otherwise than the station file says';
}

/** A float may hang where no water is; a level can be compared by eye. */
export function lookInto({ name, floats, level }: Vessel): string {
  if (Object.keys(floats).length === 0)
    return `Look into the ${name} and compare the level by eye with what is shown. Mend what is wrong, then reset.`;
  return level === null
    ? `Look into the ${name} for the float that does not stand where the water is. Free and clean it, then reset.`
    : `Look into the ${name} for the float that does not stand where the water is, and compare the level by eye with what is shown. Free and clean what is wrong, then reset.`;
}

/** How a person stops water that comes into a vessel. */
export const tapOf = ({ name, tap }: Vessel): string =>
  tap === null ? `close the supply of the ${name} by hand` : `stop it by hand (${tap})`;

/** How a device that can not be switched off is stopped, and why at once. */
export function againstStaysOn(plant: Plant, actuator: Actuator): string {
  const stop = unpluggingOf(plant, [actuator.id]);
  const heats = Object.values(plant.heaters).some((heater) => heater.actuator === actuator.id);
  if (heats || actuator.kind === 'heater')
    return `${stop}: until then it heats whether it stands in water or not. Replace the relay, then reset.`;
  if (actuator.kind === 'doser')
    return `${stop}: until then it goes on dosing. Replace the relay, then reset.`;
  return `${stop}: until then it may overflow what it fills and run dry what it empties. Replace what sticks, then reset.`;
}

/** Filled for longer than filling takes. */
export const againstLongRun = ({ name, floats }: Vessel): string =>
  Object.keys(floats).length > 0
    ? `Find where the water went: a burst hose, a float that hangs, or far less flow than the station file says. Look under the vats, at the ${name} and at the flow, then reset.`
    : `Find where the water went: a burst hose, or far less flow than the station file says. Look under the vats, at the ${name} and at the flow, then reset.`;

/** The pump that brings a system's water round is not the station's. */
export const againstTooFull = ({ name, topOff }: Vessel): string =>
  topOff === null
    ? `Look whether water stands in the ${name} that should be on its way round (a return pump that stopped). Nothing is delivered meanwhile; it goes on by itself once the level is lower.`
    : `Look whether water stands in the ${name} that should be on its way round (a return pump that stopped), and whether its own top-off is shut. Nothing is delivered meanwhile; it goes on by itself once the level is lower.`;

/** How both sides of an exchange are checked. */
export function againstDrift(plant: Plant, route: Route): string {
  const system = known(plant.vessels, route.purpose === 'supply' ? route.to : route.from).name;
  const metered = Object.values(plant.routes).some(
    ({ purpose, meter }) => (purpose === 'supply' || purpose === 'drain') && meter !== null,
  );
  return metered
    ? `Look at the level of the ${system} and correct it by hand. Check each meter against a bucket. Stop the exchange, then reset it: that begins a new ledger.`
    : `Look at the level of the ${system} and correct it by hand. Measure the flow of both routes with a bucket, and correct it in the station file. Stop the exchange, then reset it: that begins a new ledger.`;
}

/** How to take the power from devices and the water from valves, in words. Water and mains may meet there: never a plug. */
export function unpluggingOf(plant: Plant, actuators: readonly string[]): string {
  const devices = actuators.map((id) => known(plant.actuators, id));
  const named = (isMeant: (device: Actuator) => boolean): string =>
    devices
      .filter(isMeant)
      .map(({ name }) => name)
      .join(', ');
  const electric = named(({ kind }) => kind !== 'valve');
  const valves = named(({ kind }) => kind === 'valve');
  const upstream = [...new Set(devices.flatMap((device) => device.upstream ?? []))].map(
    (id) => known(plant.actuators, id).name,
  );
  const off =
    electric === ''
      ? `Shut the water off by hand upstream of ${valves}`
      : `Switch off ${electric} at the breaker panel`;
  const both =
    electric === '' || valves === '' ? off : `${off}, and shut the water off by hand upstream of ${valves}`;
  return upstream.length === 0
    ? both
    : `${both} (${upstream.join(', ')}, upstream, was told to be off as well)`;
}
