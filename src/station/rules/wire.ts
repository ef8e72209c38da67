// Topics, words and payloads: what would be misread, or read twice.
import { overlaps, PLACEHOLDERS } from '../payloads.ts';
import type { Payload } from '../plant.ts';
import { member } from '../pointer.ts';
import { type Mistake, nearest, quoted } from '../problem.ts';
import { entries, type Sketch } from '../sketch.ts';
import { saidByBoth, type WrittenWords, wordsIn } from '../words.ts';

const OWN_PREFIX = 'vatwarden/';
const WRITTEN_PLACEHOLDERS = PLACEHOLDERS.map((name) => `$${name}`);

interface Reading {
  readonly topic: string | undefined;
  readonly at: string | undefined;
  readonly bit: number | undefined;
  readonly pointer: string;
}

interface Availability extends Partial<Pick<Reading, 'topic' | 'at'>> {
  readonly online?: unknown;
  readonly offline?: unknown;
}

/** Every place that is read as a value; availability topics are shared on purpose and left out. */
function readingsOf(sketch: Sketch): Reading[] {
  const sensors = entries(sketch, 'sensors').map(({ entry, pointer }) => ({ ...placeOf(entry), pointer }));
  const feedback = entries(sketch, 'actuators').map(({ entry, pointer }) => ({
    ...placeOf(entry.feedback ?? {}),
    pointer: `${pointer}/feedback`,
  }));
  return [...sensors, ...feedback];
}

function placeOf(entry: { topic?: string | undefined; at?: string | undefined; bit?: number | undefined }) {
  return { topic: entry.topic, at: entry.at, bit: entry.bit };
}

function availabilitiesOf(sketch: Sketch): { readonly entry: Availability; readonly pointer: string }[] {
  return [...entries(sketch, 'sensors'), ...entries(sketch, 'actuators')].flatMap(({ entry, pointer }) => {
    const own = 'availability' in entry ? entry.availability : undefined;
    const fed = 'feedback' in entry ? entry.feedback?.availability : undefined;
    return [
      ...oneByOne(own, `${pointer}/availability`),
      ...oneByOne(fed, `${pointer}/feedback/availability`),
    ];
  });
}

function oneByOne(written: Availability | readonly Availability[] | undefined, pointer: string) {
  if (written === undefined) return [];
  return 'length' in written
    ? written.map((entry, place) => ({ entry, pointer: member(pointer, place) }))
    : [{ entry: written, pointer }];
}

export function* placesAreReadOnce(sketch: Sketch): Iterable<Mistake> {
  const seen = new Map<string, string>();
  for (const { topic, at, bit, pointer } of readingsOf(sketch)) {
    if (topic === undefined) continue;
    const place = `${topic} ${at ?? ''} ${bit ?? ''}`;
    const first = seen.get(place);
    if (first === undefined) {
      seen.set(place, pointer);
      continue;
    }
    yield {
      pointer: `${pointer}/topic`,
      found: `${quoted(topic)}${at === undefined ? '' : ` at ${quoted(at)}`}${bit === undefined ? '' : `, bit ${bit}`}, which ${first} reads already`,
      accepted: 'a place on the wire of its own for each sensor and feedback',
    };
  }
}

/** On one topic several actuators may be commanded (a relay board with a number in its payload), where the payloads tell them apart. */
export function* commandsAreAlone(sketch: Sketch): Iterable<Mistake> {
  const read = new Map<string, string>();
  for (const { topic, pointer } of readingsOf(sketch)) if (topic !== undefined) read.set(topic, pointer);
  for (const { entry, pointer } of availabilitiesOf(sketch)) if (entry.topic) read.set(entry.topic, pointer);
  const commanded: { topic: string; pointer: string; payloads: readonly Payload[] }[] = [];
  for (const { entry, pointer } of entries(sketch, 'actuators')) {
    const { topic, on, off } = entry.command ?? {};
    if (topic === undefined) continue;
    const payloads = [on, off].filter((payload) => payload !== undefined);
    const reader = read.get(topic);
    const other = commanded.find(
      (before) =>
        before.topic === topic && before.payloads.some((one) => payloads.some((two) => overlaps(one, two))),
    );
    commanded.push({ topic, pointer, payloads });
    if (other === undefined && reader === undefined) continue;
    yield {
      pointer: `${pointer}/command/topic`,
      found: `${quoted(topic)}, which ${other === undefined ? `${reader} reads` : `${other.pointer} is commanded by, with payloads that can't be told apart`}`,
      accepted: 'a command topic of its own: whatever else speaks there counts as a foreign command',
    };
  }
}

/** Every topic that a device of the station reads or speaks on, with the pointer to who does. */
export function topicsOfDevices(sketch: Sketch): ReadonlyMap<string, string> {
  return new Map(
    placesOf(sketch).flatMap(({ topic, pointer }) =>
      topic === undefined ? [] : [[topic, pointer] as const],
    ),
  );
}

function placesOf(sketch: Sketch): readonly Pick<Reading, 'topic' | 'pointer'>[] {
  return [
    ...readingsOf(sketch),
    ...availabilitiesOf(sketch).map(({ entry, pointer }) => ({ topic: entry.topic, pointer })),
    ...entries(sketch, 'actuators').map(({ entry, pointer }) => ({
      topic: entry.command?.topic,
      pointer: `${pointer}/command`,
    })),
  ];
}

/** A question on a command topic would switch something, or look like a second hand at the switch; nor is a reading one. */
export function* questionsCommandNothing(sketch: Sketch): Iterable<Mistake> {
  const taken = topicsOfDevices(sketch);
  for (const { topic, pointer } of asksOf(sketch)) {
    const other = topic === undefined ? undefined : taken.get(topic);
    if (other === undefined) continue;
    yield {
      pointer: `${pointer}/topic`,
      found: `${quoted(topic ?? '')}, which ${other} uses`,
      accepted: 'a topic on which the device takes questions and nothing else',
    };
  }
}

function asksOf(sketch: Sketch): readonly Pick<Reading, 'topic' | 'pointer'>[] {
  return [...entries(sketch, 'sensors'), ...entries(sketch, 'actuators')].flatMap(({ entry, pointer }) => [
    { topic: 'ask' in entry ? entry.ask?.topic : undefined, pointer: `${pointer}/ask` },
    {
      topic: 'feedback' in entry ? entry.feedback?.ask?.topic : undefined,
      pointer: `${pointer}/feedback/ask`,
    },
  ]);
}

export function* topicsAreForeign(sketch: Sketch): Iterable<Mistake> {
  for (const { topic, pointer } of [...placesOf(sketch), ...asksOf(sketch)]) {
    if (topic === undefined) continue;
    if (topic.startsWith(OWN_PREFIX)) {
      yield {
        pointer: `${pointer}/topic`,
        found: `${quoted(topic)}, under the prefix of the service itself`,
        accepted: `a topic of the device, not under "${OWN_PREFIX}"`,
      };
    } else if (topic.trim() !== topic) {
      yield {
        pointer: `${pointer}/topic`,
        found: `${quoted(topic)}, with a space at its end`,
        accepted: 'the topic exactly as the device has it',
        nearest: quoted(topic.trim()),
      };
    }
  }
}

const WHOLE = {
  command: ['topic', 'on', 'off'],
  lease: ['lasts', 'countedBy'],
  feedback: ['topic', 'on', 'off'],
} as const;

/** What is partly given by a device must be whole with it. */
export function* partsAreWhole(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'actuators')) {
    for (const [part, keys] of Object.entries(WHOLE)) {
      const found = entry[part as keyof typeof WHOLE];
      for (const key of found === undefined ? [] : keys) {
        if (!sketch.lacks(member(pointer, part, key))) continue;
        yield {
          pointer: member(pointer, part),
          found: `no ${quoted(key)} here`,
          accepted: `${quoted(key)}, or a "device" that says it`,
        };
      }
    }
  }
}

const OPPOSITES = [
  ['wet', 'dry'],
  ['running', 'resting'],
  ['online', 'offline'],
  ['on', 'off'],
] as const;

export function* wordsDiffer(sketch: Sketch): Iterable<Mistake> {
  const speakers: { readonly entry: object; readonly pointer: string }[] = [
    ...entries(sketch, 'sensors'),
    ...availabilitiesOf(sketch),
    ...entries(sketch, 'actuators').map(({ entry, pointer }) => ({
      entry: entry.feedback ?? {},
      pointer: `${pointer}/feedback`,
    })),
  ];
  for (const { entry, pointer } of speakers) {
    const words = entry as Readonly<Record<string, unknown>>;
    for (const [yes, no] of OPPOSITES) {
      const [one, other] = [words[yes], words[no]];
      if (one === undefined || other === undefined) continue;
      const both = saidByBoth(wordsIn(one as WrittenWords), wordsIn(other as WrittenWords));
      if (both !== null) {
        yield {
          pointer: member(pointer, no),
          found: `${quoted(both)} for both ${quoted(yes)} and ${quoted(no)}`,
          accepted: 'words, or limits, that can be told apart',
        };
      }
      for (const key of [yes, no]) {
        for (const word of writtenTexts(words[key])) {
          if (word.trim() === word && word !== '') continue;
          yield {
            pointer: member(pointer, key),
            found: `${quoted(word)}, which no payload can say: spaces around it are not compared`,
            accepted: 'a word without spaces around it',
          };
        }
      }
    }
  }
}

const writtenTexts = (written: unknown): readonly string[] =>
  [written].flat().flatMap((word) => (typeof word === 'object' ? [] : [String(word)]));

/** A bit is 1 or 0 and nothing else. */
export function* bitsAreOneOrZero(sketch: Sketch): Iterable<Mistake> {
  const readers: readonly { readonly entry: object; readonly pointer: string }[] = [
    ...entries(sketch, 'sensors'),
    ...entries(sketch, 'actuators').map(({ entry, pointer }) => ({
      entry: entry.feedback ?? {},
      pointer: `${pointer}/feedback`,
    })),
  ];
  for (const { entry, pointer } of readers) {
    const words = entry as Readonly<Record<string, unknown>>;
    if (words.bit === undefined) continue;
    for (const key of OPPOSITES.flat()) {
      if (words[key] === undefined) continue;
      if (wordsIn(words[key] as WrittenWords).every((word) => word === '0' || word === '1')) continue;
      yield {
        pointer: member(pointer, key),
        found: `${JSON.stringify(words[key])}, which a bit can't say`,
        accepted: '1 and 0, or the other way round',
      };
    }
  }
}

export function* payloadsMakeSense(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'actuators')) {
    const { on, off } = entry.command ?? {};
    if (on !== undefined && off !== undefined && overlaps(on, off)) {
      const isSame = JSON.stringify(on) === JSON.stringify(off);
      yield {
        pointer: `${pointer}/command/off`,
        found: isSame
          ? 'the same payload for "on" and "off"'
          : 'a payload for "on" that can also be read as "off"',
        accepted: 'two payloads that the device can tell apart, whatever numbers stand in them',
      };
    }
    for (const [key, payload] of Object.entries({ on, off })) {
      yield* placeholdersAreKnown(payload, member(pointer, 'command', key));
    }
  }
}

function* placeholdersAreKnown(payload: unknown, pointer: string): Iterable<Mistake> {
  if (typeof payload === 'object' && payload !== null) {
    for (const [key, inner] of Object.entries(payload))
      yield* placeholdersAreKnown(inner, member(pointer, key));
    return;
  }
  if (typeof payload !== 'string') return;
  for (const [name] of payload.matchAll(/\$[A-Za-z]+/gu)) {
    if (WRITTEN_PLACEHOLDERS.includes(name)) continue;
    const meant = nearest(name, WRITTEN_PLACEHOLDERS);
    yield {
      pointer,
      found: `the unknown placeholder ${quoted(name)}`,
      accepted: WRITTEN_PLACEHOLDERS.join(', '),
      nearest: meant === undefined ? undefined : quoted(meant),
    };
  }
}
