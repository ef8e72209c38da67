// `$target` after an accepted command is byte for byte what was sent (`1.50` stays `1.50`), and stays so for as long as the
// station means the same. Pure.
import { payloadOf } from './datatypes.ts';
import type { Property } from './model.ts';
import type { Shown } from './row.ts';
import type { Picture } from './view.ts';

export interface Pin {
  /** As it came. */
  readonly bytes: string;
  /** As the station prints the same. */
  readonly value: string;
  /** What the station meant when the command was accepted: its status follows a moment later. */
  readonly before: string;
}

export type Pins = ReadonlyMap<string, Pin>;

export function pin(
  pins: Pins,
  property: Property,
  shown: Shown,
  command: { readonly payload: string; readonly value: string },
): Pins {
  const { targetTopic, row, subject } = property;
  if (targetTopic === null) return pins;
  const before = payloadOf(row.target?.(shown, subject) ?? null);
  return new Map(pins).set(targetTopic, { bytes: command.payload, value: command.value, before });
}

/** The picture with the exact bytes in it, and the pins that still hold. */
export function pinned(picture: Picture, pins: Pins): { readonly picture: Picture; readonly pins: Pins } {
  const shown = new Map(picture);
  const kept = new Map<string, Pin>();
  for (const [topic, one] of pins) {
    const meant = picture.get(topic);
    if (meant !== one.value && meant !== one.before) continue;
    shown.set(topic, one.bytes);
    // Once the station means it, only that counts: going back to what was before is news.
    kept.set(topic, meant === one.value ? { ...one, before: one.value } : one);
  }
  return { picture: shown, pins: kept };
}
