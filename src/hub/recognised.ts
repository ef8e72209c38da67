// Which family a device is of, by its topics, and only where the device has also said that it is there in the words of that
// family. Read off the profiles backwards: what they write for a part of a device is what is looked for here.
import { PROFILES, type ProfileName, profileOf } from '../station/profiles.ts';

export interface Recognised {
  readonly profile: ProfileName;
  readonly topic: string;
  /** Null for a device that is one relay. */
  readonly channel: string | null;
}

interface Where {
  readonly topic?: unknown;
  readonly at?: unknown;
}

/** @param last what was said last on a topic */
export function recognised(
  of: 'relay' | 'sensor',
  topic: string,
  at: string | null,
  last: (topic: string) => string | undefined,
): Recognised | null {
  for (const name of PROFILES) {
    const profile = profileOf(name);
    if (profile === undefined || name === 'plain') continue;
    const places =
      of === 'sensor'
        ? [profile.sensor]
        : [profile.relayAlone?.feedback, profile.relay.feedback].filter((one) => one !== undefined);
    for (const place of places) {
      const parts = partsIn(place as Where, topic, at);
      if (parts === null || !isThere(profile.all.availability, parts.topic, last)) continue;
      return { profile: name, ...parts };
    }
  }
  return null;
}

function partsIn(where: Where, topic: string, at: string | null): Omit<Recognised, 'profile'> | null {
  const wanted = `${String(where.topic)}\n${where.at === undefined ? '' : String(where.at)}`;
  const pattern = wanted
    .replaceAll(/[.*+?^{}()|[\]\\/]/gu, '\\$&')
    .replaceAll(/\$(topic|channel|part|rest)/gu, (_, name) => {
      // Which part it is never has a line in it; only what follows the first slash of a channel has slashes.
      if (name === 'part') return '(?<part>[^/\\n]+)';
      return name === 'topic' ? '(?<topic>[^\\n]+?)' : `(?<${name}>[^\\n]+)`;
    });
  const found = new RegExp(`^${pattern}$`, 'u').exec(`${topic}\n${at ?? ''}`)?.groups;
  if (found === undefined) return null;
  const { topic: device = '', channel, part, rest } = found;
  return { topic: device, channel: channel ?? (part === undefined ? null : `${part}/${rest ?? ''}`) };
}

/** One of the ways in which it says that it is there was heard. */
function isThere(
  availability: unknown,
  device: string,
  last: (topic: string) => string | undefined,
): boolean {
  const ways = (Array.isArray(availability) ? availability : [availability]) as readonly {
    readonly topic: string;
    readonly online: string;
  }[];
  return ways.some((way) => {
    if (!way.topic.includes('$topic')) return false;
    const said = last(way.topic.replace('$topic', device));
    return said === way.online || said === JSON.stringify({ state: way.online });
  });
}
