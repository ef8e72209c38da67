// What a person does about an alarm: steps in their order, each of one kind, so that every surface can show which are to be done,
// which are to be looked at, and which can wait. What can hurt stands first.
import type { HandStop, Plant } from '../../station/plant.ts';
import { type Message, message } from './message.ts';

/** To be done now, and ticked where somebody ticks. */
export const doing = (told: Message): Message => message('step-do', { told });
/** To be looked at: a question to the station. */
export const checking = (told: Message): Message => message('step-check', { told });
/** Only where it is so. */
export const inCase = (told: Message): Message => message('step-if', { told });
/** When the station runs again. */
export const later = (told: Message): Message => message('step-later', { told });
const first = (told: Message): Message => message('step-first', { told });
const caution = (told: Message): Message => message('step-caution', { told });
/** What happens until then. */
export const consequence = (told: Message): Message => message('step-consequence', { told });
/** What ends the alarm where nobody resets it. */
export const clears = (told: Message): Message => message('step-clears', { told });
export const TRIED_AGAIN = clears(message('clears-tried-again'));
export const HEARD_AGAIN = clears(message('clears-when-heard'));
/** What is paused waits for a person's word even when the reason is gone. */
export const THEN_RESUME = clears(message('clears-then-resume'));

export const respond = (...steps: readonly Message[]): Message => message('response', { all: steps });
/** Of a trip: a person resets it in the end. */
export const respondAndReset = (...steps: readonly Message[]): Message =>
  respond(...steps, message('step-reset'));

/** Water may stand where mains are. Before every other step, on every surface. */
export function electricityFirst({ mains }: Plant): Message {
  if (mains === null) return first(message('caution-flood'));
  const { circuits, panel, alsoOff } = mains;
  const also = alsoOff === null ? message('nothing') : message('also-goes-dead', { what: alsoOff });
  return first(message('caution-flood-here', { circuitsWhat: circuits, panelWhat: panel, also }));
}
/** Hands go into the water. */
export const HANDS_IN_WATER = caution(message('caution-hands'));
export const HEATER = caution(message('caution-heater'));
/** A device is opened or moved by hand. */
export const MAINS = caution(message('caution-mains'));

/** How a person stops the water or a device: the owner's own words, with a verb; null where the file has none. */
export function byHand(stop: HandStop | null): Message | null {
  if (stop === null) return null;
  const place = stop.where === null ? message('nothing') : message('at-place', { where: stop.where });
  switch (stop.action) {
    case 'close':
      return message('stop-close', { what: stop.what, place });
    case 'switch-off':
      return message('stop-switch-off', { what: stop.what, place });
    case 'unplug':
      return message('stop-unplug', { what: stop.what, place });
  }
}
