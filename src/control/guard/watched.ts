// What a gap is worth: time in which nobody watched proves nothing.
import type { Plant } from '../../station/plant.ts';

/**
 * How much of an event's time proves anything. A gap longer than a tick may be was watched by nobody: nothing was heard in it,
 * and leases ran out as they should. It tells nothing against a device, a meter or a heater, and nothing for a reading.
 */
export const watched = (plant: Plant, elapsedMs: number): number =>
  elapsedMs > plant.link.tickWithinMs ? 0 : elapsedMs;
