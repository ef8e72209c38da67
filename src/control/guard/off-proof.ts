// Whether each device is proven off: by its feedback, its lease, a meter that counts nothing, or time alone.
import type { Actuator, Plant } from '../../station/plant.ts';
import { freshFeedback, isFresh } from './evidence.ts';
import { older, zeroOf } from './flows.ts';
import { known } from './invariant.ts';
import { ASSUMED_OFF_MS } from './limits.ts';
import { restsInSilence, staysSilent } from './quiet.ts';
import type { DeviceState, GuardState } from './state.ts';
import { watched } from './watched.ts';

/** What each device's own proof and feedback say, after this event's inputs. */
export function proveOff(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const watchedMs = watched(plant, elapsedMs);
  const { devices } = draft;
  for (const id in devices) {
    const device = known(devices, id);
    const actuator = known(plant.actuators, id);
    const feedback = freshFeedback(actuator, device);
    // Only what was heard after the command can contradict it: before, it was true.
    const disagrees = feedback !== null && feedback !== device.on && device.feedbackAgeMs < device.sinceMs;
    if (feedback === null && staysSilent(actuator, device)) device.feedbackFault ??= 'offline';
    // Time in which the device was not heard is not proof enough by itself: the service may have stood still in it. Nor is
    // the time before it was first heard to contradict: that was at the end of this event, and not since its beginning.
    const withinMs = actuator.feedback?.withinMs ?? 0;
    const isKnown = device.feedbackAgeMs === 0 && device.disagreesMs > 0;
    const provesMs = isKnown ? watchedMs : Math.min(watchedMs, withinMs / 2);
    device.disagreesMs = disagrees ? older(device.disagreesMs, provesMs) : 0;
    device.provenOff = !device.on && draft.link.up && isProvenOff(plant, draft, actuator, device, feedback);
  }
}

function isProvenOff(
  plant: Plant,
  draft: GuardState,
  actuator: Actuator,
  device: DeviceState,
  feedback: boolean | null,
): boolean {
  switch (actuator.offProvenBy) {
    case 'feedback':
      return (
        device.offsSent > 0 && (feedback === false || (feedback === null && restsInSilence(actuator, device)))
      );
    case 'lease':
      return device.leaseLeftMs <= 0 && device.offsSent > 0;
    case 'no-flow':
      return device.offsSent > 0 && device.sinceMs > 0 && nothingFlows(plant, draft, actuator.id);
    case 'assumption':
      return device.offsSent > 0 && device.sinceMs >= ASSUMED_OFF_MS;
  }
}

function nothingFlows(plant: Plant, draft: GuardState, actuatorId: string): boolean {
  const metered = Object.values(plant.routes).filter(
    (r) => r.through.includes(actuatorId) && r.meter !== null,
  );
  return (
    metered.length > 0 &&
    metered.every((route) => {
      const meter = known(plant.sensors, route.meter as string);
      const flow = known(draft.routes, route.id).flowLpm;
      return isFresh(plant, draft, meter.id) && flow !== null && flow <= zeroOf(meter, route);
    })
  );
}
