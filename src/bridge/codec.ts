// Topics to inputs: compiled once from the plant into a table by topic, then one look-up a message.
//
// The same message always gives the same inputs, but for two things that a file may ask for: a stamp is held against the time
// of day, and `holds` of an availability lasts. Who sent a command is not the codec's business (see
// own-commands.ts); it says what a command on an actuator's topic means, as if somebody else had sent it.
// R9: a retained value is history (`live: false`). R11: whatever can't be read is bad, never `off` and never the last
// value. R12: levels, not edges; totals are absolute.
import type { BadReading, Input } from '../control/guard/types.ts';
import { type Matcher, matcherOf } from '../station/payloads.ts';
import type { Availability, HeardValue, Plant, Stamp } from '../station/plant.ts';
import { follow } from '../station/pointer.ts';
import { decimalIn, isSaid, type Words } from '../station/words.ts';
import { converterOf } from './conversion.ts';
import { type Document, documentOf, type Found, stepsTo, valueAt } from './values.ts';

export interface Codec {
  /** Everything to listen to, each topic once. */
  readonly topics: readonly string[];
  readonly commandTopics: ReadonlySet<string>;
  /** Never throws, whatever the payload; nothing for a topic that the station does not know. */
  readonly read: (topic: string, payload: Uint8Array, retain: boolean) => readonly Input[];
}

type Reader = (document: Document, retain: boolean) => Input | null;

/** @param wallMs the time of day since 1970; null while it is not trusted. Only what a payload says of its own age is held against it. */
export function codecOf(plant: Plant, wallMs: () => number | null = () => Date.now()): Codec {
  const readers = new Map<string, Reader[]>();
  const listen = (topic: string, reader: Reader) => {
    readers.set(topic, [...(readers.get(topic) ?? []), reader]);
  };
  const hear = (heard: HeardValue, voice: Voice) => {
    const { presence, isAway } = presenceOf(heard.availability, voice.bad);
    for (const { topic, reader } of presence) listen(topic, reader);
    const reader = valueReader(heard, voice, wallMs);
    listen(heard.topic, (document, retain) => (isAway() ? voice.bad('offline') : reader(document, retain)));
  };
  const actuators = Object.values(plant.actuators);
  for (const sensor of Object.values(plant.sensors)) {
    const { id } = sensor;
    const judge =
      'yes' in sensor ? contactJudge(sensor.yes, sensor.no, sensor.bit) : numberJudge(sensor, plant);
    hear(sensor, {
      judge,
      good: (value, since) => ({ type: 'reading', sensor: id, value, ...since }),
      bad: (reason) => ({ type: 'bad-reading', sensor: id, reason }),
    });
  }
  for (const { id, feedback } of actuators) {
    if (feedback === null) continue;
    hear(feedback, {
      judge: contactJudge(feedback.on, feedback.off, feedback.bit),
      good: (value, since) => ({ type: 'feedback', actuator: id, on: value === true, ...since }),
      bad: (reason) => ({ type: 'bad-feedback', actuator: id, reason }),
    });
  }
  const commands = new Map<string, Commanded[]>();
  for (const { id, command } of actuators) {
    const { on, off, harmless } = command;
    const commanded = { id, on: matcherOf(on), off: matcherOf(off), harmless };
    commands.set(command.topic, [...(commands.get(command.topic) ?? []), commanded]);
  }
  return {
    topics: [...new Set([...readers.keys(), ...commands.keys()])],
    commandTopics: new Set(commands.keys()),
    read: (topic, payload, retain) => {
      const document = documentOf(payload);
      const found = (readers.get(topic) ?? []).map((reader) => reader(document, retain));
      const commanded = commands.get(topic) ?? [];
      const foreign =
        payload.byteLength === 0
          ? commanded.map(({ id }): Input => ({ type: 'empty-command', actuator: id }))
          : foreignCommands(commanded, document, retain);
      return [...found.filter((input) => input !== null), ...foreign];
    },
  };
}

interface Voice {
  readonly judge: (value: Scalar) => Judged;
  readonly good: (value: number | boolean, since: Since) => Input;
  readonly bad: (reason: BadReading) => Input;
}

type Scalar = string | number | boolean;

/** What is heard by a live message counts; `ageMs` where the payload says that it is older than its arrival. */
interface Since {
  readonly live: boolean;
  readonly ageMs?: number;
}

function valueReader(heard: HeardValue, { judge, good, bad }: Voice, wallMs: () => number | null): Reader {
  const steps = stepsTo(heard.at);
  const faultSteps = heard.faultAt === null ? null : stepsTo(heard.faultAt);
  const since = heard.stamp === null ? null : stampReader(heard.stamp, heard.maxAgeMs, wallMs);
  return (document, retain) => {
    if (faultSteps !== null && isFault(follow(document.json(), faultSteps))) return bad('sentinel');
    const found = valueAt(document, steps);
    if ('bad' in found) return heard.mayLack && isLacking(document, steps) ? null : bad(found.bad);
    const judged = judge(found.value);
    if ('bad' in judged) return bad(judged.bad);
    if (since === null) return good(judged.value, { live: !retain });
    const stamped = since(document);
    if (stamped === null) return bad('unparsable');
    return good(judged.value, { ...stamped, live: stamped.live && !retain });
  };
}

function isLacking(document: Document, steps: readonly string[] | null): boolean {
  const json = document.json();
  return typeof json === 'object' && json !== null && follow(json, steps ?? []) === undefined;
}

function isFault(found: unknown): boolean {
  if (Array.isArray(found)) return found.length > 0;
  return found !== undefined && found !== null && found !== false && found !== 0 && found !== '';
}

/** Clocks differ a little; a stamp further ahead than this is none. */
const AHEAD_MS = 60_000;

/** Null where there is no stamp that can be read, or one from the future. Not live: too old, or nobody knows how old. */
function stampReader(
  { at, format }: Stamp,
  maxAgeMs: number,
  wallMs: () => number | null,
): (document: Document) => Since | null {
  const steps = stepsTo(at);
  return (document) => {
    const found = valueAt(document, steps);
    if ('bad' in found) return null;
    const atMs = momentOf(found.value, format);
    const nowMs = wallMs();
    if (!Number.isFinite(atMs)) return null;
    if (nowMs === null) return { live: false };
    if (atMs - nowMs > AHEAD_MS) return null;
    const ageMs = Math.max(0, nowMs - atMs);
    return ageMs > maxAgeMs ? { live: false } : { live: true, ageMs };
  };
}

function momentOf(value: Scalar, format: Stamp['format']): number {
  if (format === 'ISO 8601') return typeof value === 'string' ? Date.parse(value) : Number.NaN;
  return (decimalIn(value) ?? Number.NaN) * (format === 'epoch s' ? 1000 : 1);
}

type Judged = { readonly value: number | boolean } | { readonly bad: BadReading };

function contactJudge(yes: Words, no: Words, bit: number | null): (value: Scalar) => Judged {
  return (value) => {
    const word = bit === null ? value : bitOf(value, bit);
    if (isSaid(yes, word)) return { value: true };
    return isSaid(no, word) ? { value: false } : { bad: 'unparsable' };
  };
}

/** '1' or '0'; '' where no whole number is there to have bits. Divided and not shifted: a shift reads 32 bits only. */
function bitOf(value: Scalar, bit: number): string {
  const number = decimalIn(value);
  if (number === null || !Number.isSafeInteger(number) || number < 0) return '';
  return String(Math.floor(number / 2 ** bit) % 2);
}

function numberJudge(sensor: Parameters<typeof converterOf>[0], plant: Plant): (value: Scalar) => Judged {
  const convert = converterOf(sensor, plant);
  return (value) => {
    const number = decimalIn(value);
    return number === null ? { bad: 'unparsable' } : convert(number);
  };
}

/**
 * Online says nothing about a value: the next reading does. Anything that is not `online` is not to be relied on, and where a
 * repeater stands between (`holds`) nothing is until it is online again.
 */
function presenceOf(availability: readonly Availability[], bad: Voice['bad']) {
  const away = new Set<Availability>();
  const presence = availability.map((told) => {
    const steps = stepsTo(told.at);
    const reader: Reader = (document) => {
      const found: Found = valueAt(document, steps);
      const isOnline = 'value' in found && isSaid(told.online, found.value);
      if (isOnline) away.delete(told);
      else if (told.holds) away.add(told);
      if (isOnline) return null;
      return bad('value' in found && isSaid(told.offline, found.value) ? 'offline' : 'unparsable');
    };
    return { topic: told.topic, reader };
  });
  return { presence, isAway: () => away.size > 0 };
}

interface Commanded {
  readonly id: string;
  readonly harmless: readonly string[];
  readonly on: Matcher;
  readonly off: Matcher;
}

/** Several actuators may share a topic (a relay board with a number in its payload): only those meant are named. */
function foreignCommands(
  commanded: readonly Commanded[],
  document: Document,
  retained: boolean,
): readonly Input[] {
  const said = document.text?.trim();
  if (commanded.some(({ harmless }) => harmless.some((text) => text.trim() === said))) return [];
  const meant = commanded.map((one) => ({ actuator: one.id, on: meaningOf(one, document) }));
  const understood = meant.filter(({ on }) => on !== null);
  return (understood.length > 0 ? understood : meant).map(({ actuator, on }) => ({
    type: 'foreign-command',
    actuator,
    on,
    retained,
  }));
}

/** Null where it says neither, or both: some devices toggle on what we can't read, and nobody can know (F05). */
function meaningOf(commanded: Commanded, { text, json }: Document): boolean | null {
  if (text === null || text.trim() === '') return null;
  const on = commanded.on(text, json);
  return on === commanded.off(text, json) ? null : on;
}
