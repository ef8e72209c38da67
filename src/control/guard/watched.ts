// Whether anybody watches: over a link that has proven itself, and without a gap. Time in which nobody watched proves nothing.
import type { Plant } from '../../station/plant.ts';
import type { GuardState } from './state.ts';

/**
 * How much of an event's time proves anything. A gap longer than a tick may be was watched by nobody: nothing was heard in it,
 * and leases ran out as they should. It tells nothing against a device, a meter or a heater, and nothing for a reading.
 */
export const watched = (plant: Plant, elapsedMs: number): number =>
  elapsedMs > plant.link.tickWithinMs ? 0 : elapsedMs;

/** The connection has proven itself lately: our own heartbeat came back over it. Nothing starts by itself before. */
export const isLinked = (plant: Plant, state: GuardState): boolean =>
  state.link.up && state.link.echoAgeMs <= plant.link.provenWithinMs;
