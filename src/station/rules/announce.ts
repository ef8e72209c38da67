// Messages for other hubs: what would never reach one, or would reach something else.
import type { Template } from '../file/station.ts';
import { ANNOUNCEMENT_PLACEHOLDERS } from '../placeholders.ts';
import { member } from '../pointer.ts';
import { type Mistake, nearest, quoted } from '../problem.ts';
import type { Partly, Sketch } from '../sketch.ts';
import { topicsOfDevices } from './wire.ts';

const NAMES = Object.keys(ANNOUNCEMENT_PLACEHOLDERS);
const NAME = /\$[A-Za-z]+/gu;

export function* announcementsReachTheirHub(sketch: Sketch): Iterable<Mistake> {
  const announce = sketch.file.announce;
  const domain = announce?.homie?.domain ?? 'homie';
  const devices = topicsOfDevices(sketch);
  const topics = new Map<string, string>();
  for (const [index, template] of ((announce?.templates ?? []) as readonly Partly<Template>[]).entries()) {
    const pointer = member('', 'announce', 'templates', index);
    const ofStation = template.each === 'station';
    yield* placeholdersAreKnown(template.payload, ofStation, `${pointer}/payload`);
    const { topic } = template;
    if (topic === undefined) continue;
    yield* placeholdersAreKnown(topic, ofStation, `${pointer}/topic`);
    yield* topicIsFree(topic, domain, devices, `${pointer}/topic`);
    if (template.each === 'property') yield* topicsDiffer(topic, `${pointer}/topic`);
    if (ofStation && template.where !== undefined) {
      yield {
        pointer: `${pointer}/where`,
        found: 'a choice of properties for a message about the station',
        accepted: '"each": "property", or no "where"',
      };
    }
    const other = topics.get(topic);
    topics.set(topic, pointer);
    if (other === undefined || !isTheSameChoice(announce?.templates, other, pointer)) continue;
    yield {
      pointer: `${pointer}/topic`,
      found: `${quoted(topic)}, at which ${other} announces the same already`,
      accepted: 'a topic of its own, or another "where"',
    };
  }
}

function* topicIsFree(
  topic: string,
  domain: string,
  devices: ReadonlyMap<string, string>,
  pointer: string,
): Iterable<Mistake> {
  const inUse = devices.get(topic);
  for (const [prefix, whose] of [
    ['vatwarden/', 'the service itself'],
    [`${domain}/5/`, 'the Homie device'],
  ] as const) {
    if (topic.startsWith(prefix)) {
      yield {
        pointer,
        found: `${quoted(topic)}, under the prefix of ${whose}`,
        accepted: `a topic where the hub looks, not under "${prefix}"`,
      };
    }
  }
  if (inUse !== undefined) {
    yield {
      pointer,
      found: `${quoted(topic)}, which ${inUse} uses: a stored message there would be taken for a device's word`,
      accepted: 'a topic that no device of this station uses',
    };
  }
}

/** One topic for all properties would keep only the last. */
function* topicsDiffer(topic: string, pointer: string): Iterable<Mistake> {
  const names: readonly string[] = topic.match(NAME) ?? [];
  for (const name of names.filter((known) => placeholder(known)?.mayLack)) {
    yield {
      pointer,
      found: `${quoted(name)}, which not every property has, in a topic`,
      accepted: 'it in the payload only, and in the topic what every property has',
    };
  }
  const isTold = names.includes('$identifier') || (names.includes('$node') && names.includes('$property'));
  if (isTold) return;
  yield {
    pointer,
    found: `${quoted(topic)}, the same for every property`,
    accepted: 'a topic with "$identifier", or with "$node" and "$property"',
  };
}

function isTheSameChoice(templates: readonly unknown[] | undefined, one: string, other: string): boolean {
  const where = (pointer: string) => {
    const template = templates?.[Number(pointer.split('/').at(-1))] as Partly<Template> | undefined;
    return JSON.stringify([template?.each, template?.where ?? null]);
  };
  return where(one) === where(other);
}

function* placeholdersAreKnown(value: unknown, ofStation: boolean, pointer: string): Iterable<Mistake> {
  if (typeof value === 'object' && value !== null) {
    for (const [key, inner] of Object.entries(value)) {
      yield* placeholdersAreKnown(inner, ofStation, member(pointer, key));
    }
    return;
  }
  if (typeof value !== 'string') return;
  for (const [name] of value.matchAll(NAME)) {
    const usable = NAMES.filter((known) => !ofStation || !placeholder(known)?.ofProperty);
    if (usable.includes(name)) continue;
    const meant = nearest(name, usable);
    yield {
      pointer,
      found: NAMES.includes(name)
        ? `${quoted(name)}, which belongs to a property, in a message about the station`
        : `the unknown placeholder ${quoted(name)}`,
      accepted: usable.join(', '),
      nearest: meant === undefined ? undefined : quoted(meant),
    };
  }
}

function placeholder(name: string) {
  return ANNOUNCEMENT_PLACEHOLDERS[name as keyof typeof ANNOUNCEMENT_PLACEHOLDERS];
}
