// The life of the Homie device on the wire, as lists of steps to be done one after the other: arriving, leaving, being
// changed, being removed. Pure; device.ts does the steps and waits for each.
import type { Device } from './model.ts';
import type { Shown } from './row.ts';
import {
  changes,
  descriptionPicture,
  type Picture,
  type Publish,
  pictureOf,
  stateMessage,
  stateTopic,
  stored,
  wholePicture,
} from './view.ts';

export type Step =
  | { readonly do: 'publish'; readonly message: Publish }
  /** Done when the broker has granted every filter. */
  | { readonly do: 'subscribe'; readonly filters: readonly string[] }
  | { readonly do: 'unsubscribe'; readonly filters: readonly string[] };

const publish = (message: Publish): Step => ({ do: 'publish', message });
const init = (device: Device): Step => publish(stateMessage(device, 'init'));
const ready = (device: Device): Step => publish(stateMessage(device, 'ready'));

/** C1: the set topic of every settable property and no other; a broadcast only where the station asked for it. */
export function filtersOf(device: Device): readonly string[] {
  const sets = device.properties.flatMap(({ setTopic }) => setTopic ?? []);
  return [...sets, ...(device.stopOnBroadcast ? [stopTopic(device)] : [])];
}

export function stopTopic({ domain }: Device): string {
  return `${domain}/5/$broadcast/stop`;
}

/**
 * S2, S3: `init`, the description, all values, the subscriptions granted, `ready`. The same on every connection: a broker
 * may have forgotten everything, and may just have published our will (S11).
 * @param shown null where the station has not spoken yet: then it stays `init`.
 * @param leftBehind what earlier runs may have stored; whatever is not ours any more is cleared.
 */
export function arrival(
  device: Device,
  shown: Shown | null,
  leftBehind: readonly string[] = [],
): readonly Step[] {
  const picture = shown === null ? descriptionPicture(device) : pictureOf(device, shown);
  const clears = shown === null ? [] : orphans(device, picture, leftBehind);
  const begin = [init(device), ...clears, ...wholePicture(device, picture).map(publish)];
  if (shown === null) return begin;
  return [...begin, { do: 'subscribe', filters: filtersOf(device) }, ready(device)];
}

/** S4: said by our own hand before a clean goodbye, so that the will is not. */
export function departure(device: Device): readonly Step[] {
  return [publish(stateMessage(device, 'disconnected'))];
}

/** The station itself does not answer any more, and we still do: it is not ready to operate. */
export function pause(device: Device): readonly Step[] {
  return [init(device)];
}

/** S7, S10: another set of nodes and properties while connected goes by way of `init`. */
export function reconfiguration(
  before: Device,
  stood: Picture,
  after: Device,
  shown: Shown,
): readonly Step[] {
  const picture = pictureOf(after, shown);
  const old = filtersOf(before).filter((filter) => !filtersOf(after).includes(filter));
  const unsubscribe: readonly Step[] = old.length === 0 ? [] : [{ do: 'unsubscribe', filters: old }];
  return [
    init(after),
    ...unsubscribe,
    ...changes(after, stood, picture).map(publish),
    { do: 'subscribe', filters: filtersOf(after) },
    ready(after),
  ];
}

/** S9: first the state, with which the device ceases to exist, then everything else. */
export function removal(device: Device, topics: Iterable<string>): readonly Step[] {
  const others = [...topics].filter((topic) => topic !== stateTopic(device));
  return [stateTopic(device), ...others].map((topic) => publish(stored(device, topic, '')));
}

function orphans(device: Device, picture: Picture, leftBehind: readonly string[]): readonly Step[] {
  const gone = leftBehind.filter((topic) => !picture.has(topic) && topic !== stateTopic(device));
  // S9: of a device under another domain the state goes first.
  const isState = (topic: string) => topic.endsWith('/$state');
  return [...gone.filter(isState), ...gone.filter((topic) => !isState(topic))].map((topic) =>
    publish(stored(device, topic, '')),
  );
}
