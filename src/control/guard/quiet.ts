// What the silence of a device's feedback may mean.
import type { Actuator } from '../../station/plant.ts';
import type { DeviceState } from './state.ts';

/**
 * Does the silence of this device say that it is off? One that reports only changes and was off has nothing to say to an
 * `off`: after a start, a lost link or a long rest nobody would ever hear of it, and it could never be used again. That it
 * is off then rests on its own lease, which has ended since it was last told `on`, as with `offProvenBy: lease`; the silence
 * only does not contradict that. What is stored on the broker counts for nothing here. A device that promised to report, one
 * that counts no lease, one that is offline, and one whose last live word was `on` are not off because they are silent.
 */
export const restsInSilence = (actuator: Actuator, device: DeviceState): boolean =>
  reportsOnlyChanges(actuator) &&
  !device.on &&
  device.leaseLeftMs <= 0 &&
  device.feedbackFault === null &&
  !(device.feedbackLive && device.feedback === true);

/** Of these silence may mean rest: nothing to report, and a lease that the device itself ends. */
export const reportsOnlyChanges = ({ countsLease, feedback }: Actuator): boolean =>
  countsLease && feedback !== null && feedback.republishesMs === null;

/** Switched on, it should have reported by now: from here on its silence means nothing, until it is heard again. */
export const staysSilent = (actuator: Actuator, device: DeviceState): boolean =>
  reportsOnlyChanges(actuator) && device.on && device.sinceMs > (actuator.feedback?.withinMs ?? 0);

/** It rests, or was switched on so lately that its first word is still on its way. */
export function mayBeQuiet(actuator: Actuator, device: DeviceState): boolean {
  if (restsInSilence(actuator, device)) return true;
  const isStarting = device.on && device.feedbackFault === null && !staysSilent(actuator, device);
  return isStarting && reportsOnlyChanges(actuator);
}
