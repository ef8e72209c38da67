// What a heater ought to do to its vessel's temperature, and whether it does: over a window of its lag, a rise that is
// much too small while on (probe frozen, element broken) or much too large while off (relay welded).
// A window is judged only when the expected rise is well above what the thermometer can err by.
import { heatCapacityJPerK } from '../../engineering/heat.ts';
import type { Heater, Plant } from '../../station/plant.ts';
import { fresh } from './evidence.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS, HEATER_LEAST_RISE_SHARE, HEATER_OFF_RISE_SHARE } from './limits.ts';
import type { GuardState, HeaterState } from './state.ts';
import { watched } from './watched.ts';

/** A rise is judged from this many uncertainties of the thermometer. */
const JUDGED_UNCERTAINTIES = 3;

export function watchHeaters(plant: Plant, draft: GuardState, elapsedMs: number): void {
  for (const id in draft.heaters) {
    const heater = known(plant.heaters, id);
    const seen = known(draft.heaters, id);
    const device = known(draft.devices, heater.actuator);
    const wasOn = seen.onMs > 0;
    if (device.on !== wasOn)
      Object.assign(seen, { windowMs: 0, windowC: null, frozen: false, welded: false });
    seen.onMs = device.on ? Math.min(seen.onMs + elapsedMs + 1, AGE_CAP_MS) : 0;
    seen.offMs = device.on ? 0 : Math.min(seen.offMs + elapsedMs, AGE_CAP_MS);
    // Nobody renewed its lease in a gap: nobody knows for how long it heated.
    if (watched(plant, elapsedMs) < elapsedMs) seen.windowC = null;
    watch(plant, draft, heater, seen, elapsedMs);
  }
}

function watch(plant: Plant, draft: GuardState, heater: Heater, seen: HeaterState, elapsedMs: number): void {
  const vessel = known(plant.vessels, heater.vessel);
  const temperatureC = fresh(plant, draft, vessel.temperature);
  const disturbed = vessel.into.some((id) => known(draft.routes, id).running !== 'no');
  // After switching off, stored heat may still come out for one lag.
  const settling = seen.onMs === 0 && seen.offMs < heater.lagMs;
  if (temperatureC === null || disturbed || settling || seen.windowC === null) {
    seen.windowC = temperatureC !== null && !disturbed && !settling ? temperatureC : null;
    seen.windowMs = 0;
    return;
  }
  seen.windowMs += elapsedMs;
  const riseK = riseKPerMs(plant, draft, heater) * seen.windowMs;
  if (seen.windowMs < heater.lagMs || riseK < JUDGED_UNCERTAINTIES * uncertaintyK(plant, vessel.temperature))
    return;
  const shownK = temperatureC - seen.windowC;
  if (seen.onMs > 0) seen.frozen = shownK < HEATER_LEAST_RISE_SHARE * riseK;
  else seen.welded = shownK > HEATER_OFF_RISE_SHARE * riseK;
  seen.windowC = temperatureC;
  seen.windowMs = 0;
}

const uncertaintyK = (plant: Plant, id: string | null): number => {
  const sensor = id === null ? null : known(plant.sensors, id);
  return sensor?.measures === 'temperature' ? sensor.uncertaintyK : 0;
};

/** What the heater's power does to the vessel's most contents, losses aside. */
export function riseKPerMs(plant: Plant, state: GuardState, heater: Heater): number {
  const held = known(state.vessels, heater.vessel);
  const litres = Math.max(held.mostL, 1);
  return heater.powerW / heatCapacityJPerK(litres, plant.process.salinity.target, 20, 20) / 1000;
}
