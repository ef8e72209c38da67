// What arrives on a set topic, judged: a request for the station, or the reason why there is none. Pure.

import type { WrittenRequest } from '../control/guard/asks.ts';
import { readPayload } from './datatypes.ts';
import { stopTopic } from './life.ts';
import type { Device, Property } from './model.ts';
import type { Shown } from './row.ts';

export type Command =
  | {
      readonly is: 'asked';
      readonly body: WrittenRequest;
      /** Null for a broadcast. */
      readonly property: Property | null;
      /** Byte for byte what came, for `$target`. */
      readonly payload: string;
      /** The same as the station would print it. */
      readonly value: string;
    }
  | { readonly is: 'refused'; readonly words: string }
  /** Not for us, or history: no answer to anybody. */
  | { readonly is: 'dropped'; readonly why: 'retained' | 'unknown-topic' };

export function commandOf(
  device: Device,
  shown: Shown | null,
  {
    topic,
    payload,
    retain,
  }: { readonly topic: string; readonly payload: Uint8Array; readonly retain: boolean },
): Command {
  const isStop = device.stopOnBroadcast && topic === stopTopic(device);
  const property = device.properties.find(({ setTopic }) => setTopic === topic);
  if (!isStop && property === undefined) return { is: 'dropped', why: 'unknown-topic' };
  // Q4, Q7: a stored command is somebody's wish of long ago; it would be carried out again at every start.
  if (retain) return { is: 'dropped', why: 'retained' };
  if (property === undefined) {
    const text = Buffer.from(payload).toString();
    return {
      is: 'asked',
      body: { request: 'hold', unit: 'all' },
      property: null,
      payload: text,
      value: text,
    };
  }
  const called = `${property.nodeName}, ${property.name}`;
  const read = readPayload(property, payload, currentOf(property, shown));
  if ('refused' in read) return { is: 'refused', words: `${called} ${read.refused}` };
  const body = property.row.ask?.(read.value, property.subject, shown) ?? "can't be set";
  if (typeof body === 'string') return { is: 'refused', words: `${called}: ${body}` };
  return { is: 'asked', body, property, payload: Buffer.from(payload).toString(), value: read.value };
}

function currentOf({ row, subject }: Property, shown: Shown | null): number | null {
  const value = shown === null ? null : row.value?.(shown, subject);
  return typeof value === 'number' ? value : null;
}
