// What stands on the Homie tree for one state of the station, and what must be published when that changes. Pure: two
// pictures give a list, in the order in which it goes out.
import { alarmText } from '../language/told.ts';
import { payloadOf } from './datatypes.ts';
import { descriptionOf } from './description.ts';
import type { Device } from './model.ts';
import { alertId, isTold, type Shown } from './row.ts';

export interface Publish {
  readonly topic: string;
  /** '' removes what is stored there. */
  readonly payload: string;
  readonly retain: boolean;
  readonly qos: 0 | 1 | 2;
}

/** Everything retained but `$state`: topic to payload, in order. '' stands for nothing there. */
export type Picture = ReadonlyMap<string, string>;

export const stateTopic = (device: Device): string => `${device.root}/$state`;

export function stateMessage(device: Device, state: 'init' | 'ready' | 'disconnected'): Publish {
  return stored(device, stateTopic(device), state);
}

/** The description alone: what is known of a station that has not said a word yet. */
export function descriptionPicture(device: Device): Picture {
  return new Map([[`${device.root}/$description`, JSON.stringify(descriptionOf(device))]]);
}

export function pictureOf(device: Device, shown: Shown): Picture {
  const picture = new Map(descriptionPicture(device));
  for (const { row, subject, topic, targetTopic } of device.properties) {
    if (targetTopic !== null) picture.set(targetTopic, payloadOf(row.target?.(shown, subject) ?? null));
    if (row.value !== undefined) picture.set(topic, payloadOf(row.value(shown, subject)));
  }
  for (const { alarm, message, response } of shown.status.alarms.filter(isTold)) {
    picture.set(`${device.root}/$alert/${alertId(alarm)}`, alarmText(message, response));
  }
  return picture;
}

/** From one picture to the next: what changed, and what is gone. */
export function changes(device: Device, before: Picture, after: Picture): readonly Publish[] {
  const gone = [...before].filter(([topic, payload]) => payload !== '' && !after.has(topic));
  const changed = [...after].filter(([topic, payload]) => before.get(topic) !== payload);
  const targets = new Map(device.properties.map(({ topic, targetTopic }) => [topic, targetTopic]));
  const messages = changed.flatMap(([topic, payload]) => {
    const target = targets.get(topic) ?? null;
    const isSaid = target === null || changed.some(([said]) => said === target);
    // C3: a value that has a target never moves without it, even where the target stays as it was.
    const first = isSaid || target === null ? [] : [stored(device, target, after.get(target) ?? '')];
    return [...first, stored(device, topic, payload)];
  });
  return [...gone.map(([topic]) => stored(device, topic, '')), ...messages];
}

/** The whole picture, as a broker that may have forgotten everything must hear it. */
export function wholePicture(device: Device, picture: Picture): readonly Publish[] {
  return [...picture].map(([topic, payload]) => stored(device, topic, payload));
}

export function logMessage(device: Device, level: 'error' | 'warn' | 'info', words: string): Publish | null {
  const levels = ['off', 'error', 'warn', 'info'];
  if (levels.indexOf(level) > levels.indexOf(device.log)) return null;
  return { topic: `${device.root}/$log/${level}`, payload: words, retain: false, qos: 0 };
}

export function stored({ qos }: Device, topic: string, payload: string): Publish {
  return { topic, payload, retain: true, qos };
}
