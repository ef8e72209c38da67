// From what was heard on a broker to a draft of sensor entries: pure. It proposes only where the topic or the payload speaks
// for itself, says what it could not tell, and leaves out what nobody heard (a word, a unit, litres): the loader names each of
// these, and the vessel or route to be chosen, until a person has filled them in.
import type { ActuatorFile, SensorFile } from '../station/file/station.ts';
import { member } from '../station/pointer.ts';
import { discoveredIn } from './discovered.ts';

/** What was heard on one topic. */
export interface Heard {
  readonly topic: string;
  /** Different payloads, oldest first, a few. */
  readonly samples: readonly string[];
  readonly live: number;
  readonly retained: boolean;
  /** The longest time between two live messages, ms; null with fewer than three. */
  readonly longestGapMs: number | null;
}

/** An entry as far as it was heard. */
export type Part = Readonly<Record<string, unknown>> & { readonly measures: SensorFile['measures'] };

export interface Draft {
  readonly sensors: Readonly<Record<string, Part>>;
  /** Only what devices say of themselves. */
  readonly actuators: Readonly<Record<string, ActuatorFile>>;
  /** What a person should look at, a line each. */
  readonly remarks: readonly string[];
}

/** One value at one place of the payload. */
export interface Place {
  readonly topic: string;
  readonly at: string | null;
  readonly values: readonly (string | number | boolean)[];
}

const DEEPEST = 4;
const MOST_PLACES = 40;
const MOST_SENSORS = 500;

export function draftOf(all: readonly Heard[]): Draft {
  const sensors: Record<string, Part> = {};
  const remarks: string[] = [];
  const { sensors: found, actuators, remarks: told, known } = discoveredIn(all);
  Object.assign(sensors, found);
  remarks.push(...told);
  for (const heard of all) {
    if (known.has(heard.topic)) continue;
    const places = placesOf(heard);
    if (places.length === 0) {
      remarks.push(`${heard.topic}: nothing that a sensor could say`);
      continue;
    }
    for (const place of places) {
      const guess = guessOf(place, heard);
      const where = place.at === null ? place.topic : `${place.topic} at ${place.at}`;
      if (typeof guess === 'string') remarks.push(`${where}: ${guess}`);
      else if (Object.keys(sensors).length >= MOST_SENSORS)
        remarks.push(`${where}: left out, there are too many`);
      else sensors[idOf(place, sensors)] = guess;
    }
    if (heard.live === 0)
      remarks.push(`${heard.topic}: only a stored value was heard; is that device still there?`);
  }
  return { sensors, actuators, remarks };
}

export function placesOf({ topic, samples }: Pick<Heard, 'topic' | 'samples'>): readonly Place[] {
  const documents = samples.map(parsed);
  const isJson = documents.some((document) => typeof document === 'object' && document !== null);
  if (!isJson) {
    const texts = samples
      .map((sample) => sample.trim())
      .filter((sample) => sample !== '' && sample.length <= 40);
    return texts.length === 0 ? [] : [{ topic, at: null, values: texts.map(scalar) }];
  }
  const found = new Map<string, (string | number | boolean)[]>();
  for (const document of documents) collect(document, '', 0, found);
  return [...found].slice(0, MOST_PLACES).map(([at, values]) => ({ topic, at, values }));
}

function collect(
  value: unknown,
  at: string,
  depth: number,
  found: Map<string, (string | number | boolean)[]>,
): void {
  if (typeof value === 'object' && value !== null) {
    if (depth >= DEEPEST) return;
    for (const [key, inner] of Object.entries(value)) {
      collect(inner, member(at, key), depth + 1, found);
    }
    return;
  }
  const isShort = typeof value === 'string' && value.length > 0 && value.length <= 40;
  if (at === '' || !(isShort || typeof value === 'number' || typeof value === 'boolean')) return;
  found.set(at, [...(found.get(at) ?? []), value as string | number | boolean]);
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return text;
  }
}

/** What a plain payload says; a number stays a text where only the text is compared. */
const scalar = (text: string): string | number => (isNumber(text) ? Number(text) : text);
const isNumber = (value: unknown): boolean =>
  typeof value === 'number' ||
  (typeof value === 'string' && /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/u.test(value));

/** Pairs of words for a contact: that it is wet or running, and that it is not. */
const PAIRS: readonly (readonly [string, string])[] = [
  ['wet', 'dry'],
  ['on', 'off'],
  ['true', 'false'],
  ['1', '0'],
  ['open', 'closed'],
  ['high', 'low'],
  ['high', 'ok'],
  ['alarm', 'ok'],
  ['leak', 'ok'],
  ['running', 'stopped'],
  ['yes', 'no'],
];
const PRESENCE = [
  'online',
  'offline',
  'ready',
  'lost',
  'connected',
  'disconnected',
  'available',
  'unavailable',
];

/** Flags and figures of a device that have the name of something else beside them: a battery that is low is no low float. */
const OF_THE_DEVICE =
  /batter|tamper|linkquality|rssi|lqi|uptime|heap|voltage|esp32|chip|firmware|update|last_seen|errors/u;

type Guess = Part | string;

function guessOf(place: Place, heard: Heard): Guess {
  const words = [...new Set(place.values.map(String))];
  if (words.every((word) => PRESENCE.includes(word.toLowerCase()))) {
    return `says ${words.join(', ')}: this looks like an availability topic; put it under "availability" of its sensors`;
  }
  const name = `${place.topic} ${place.at ?? ''}`.toLowerCase();
  if (OF_THE_DEVICE.test(name)) return 'says something of the device itself';
  const base = { topic: place.topic, ...(place.at === null ? {} : { at: place.at }), ...habits(heard) };
  const contact = pairOf(words);
  if (contact !== null && /leak|moist|flood|tray/u.test(name)) {
    return { measures: 'leak', ...base, tray: 'which tray', ...wordsOf(contact) };
  }
  if (contact !== null && /float|level|high|low|overflow|full|empty/u.test(name)) {
    const position = /overflow|high-?high|hh\b/u.test(name)
      ? 'overflow'
      : /low|empty/u.test(name)
        ? 'low'
        : 'high';
    return {
      measures: 'float',
      ...base,
      vessel: 'which-vessel',
      position,
      ...wordsOf(contact),
    };
  }
  if (!place.values.every(isNumber)) {
    return contact === null
      ? `says ${words.slice(0, 3).join(', ')}: no words that a sensor of ours would say`
      : `says ${words.join(', ')}: a contact, but of what? If it belongs to a pump or a valve it is a "feedback"`;
  }
  return numberOf(name, place.values.map(Number), base);
}

/** The words of the pair as the payload writes them; null for one that was not heard. */
type Pair = readonly [yes: string | null, no: string | null];

function pairOf(words: readonly string[]): Pair | null {
  const lower = words.map((word) => word.toLowerCase());
  const pair = PAIRS.find((one) => lower.every((word) => one.includes(word)));
  if (pair === undefined) return null;
  const written = (word: string) => words[lower.indexOf(word)] ?? null;
  return [written(pair[0]), written(pair[1])];
}

const wordsOf = ([wet, dry]: Pair) => ({
  ...(wet === null ? {} : { wet }),
  ...(dry === null ? {} : { dry }),
});

type Base = { readonly topic: string; readonly at?: string; readonly republishes?: string };

/** Units that a topic or a member names, by kind: what is not named was not seen. */
const NAMED_UNITS: Readonly<Record<string, readonly (readonly [named: RegExp, unit: string])[]>> = {
  temperature: [
    [/celsius|degc|(?:^|[\W_])c$/u, 'degC'],
    [/fahrenheit|degf|(?:^|[\W_])f$/u, 'degF'],
  ],
  conductivity: [
    [/ms_?cm/u, 'mS/cm'],
    [/us_?cm/u, 'uS/cm'],
  ],
  total: [
    [/pulse/u, 'pulses'],
    [/(?:^|[\W_])ml$|millilit/u, 'mL'],
    [/(?:^|[\W_])l$|lit(?:re|er)s?/u, 'L'],
  ],
  flow: [
    [/l_?min|lpm/u, 'L/min'],
    [/l_?h$|lph/u, 'L/h'],
  ],
  level: [
    [/percent|%/u, '%'],
    [/(?:^|[\W_])cm$/u, 'cm'],
    [/(?:^|[\W_])mm$/u, 'mm'],
  ],
};

function numberOf(name: string, values: readonly number[], base: Base): Guess {
  const kind = kindOf(name);
  if (kind === null)
    return `says ${values.slice(0, 3).join(', ')}: a number, but of what? Its name does not say`;
  const rises = values.every((value, place) => place === 0 || value >= (values[place - 1] ?? 0));
  if (kind === 'total' && !rises) return 'counts down as well, so it is no total';
  const unit = NAMED_UNITS[kind]?.find(([named]) => named.test(name.trim()))?.[1];
  const where = kind === 'total' || kind === 'flow' ? { route: 'which-route' } : { vessel: 'which-vessel' };
  return { measures: kind, ...base, ...where, ...(unit === undefined ? {} : { unit }) };
}

function kindOf(name: string): SensorFile['measures'] | null {
  if (/temp|degc|celsius|fahrenheit|degf/u.test(name)) return 'temperature';
  if (/conduct|probe|\bec\b|ec_us/u.test(name)) return 'conductivity';
  if (/count|pulse|total|meter|volume/u.test(name)) return 'total';
  if (/flow|rate/u.test(name)) return 'flow';
  return /level|distance|depth|percent|\b[mc]m\b/u.test(name) ? 'level' : null;
}

/** What was heard to repeat within the listening time; a device that only speaks on a change says nothing about that. */
function habits({ longestGapMs }: Heard): { republishes?: string } {
  if (longestGapMs === null) return {};
  return { republishes: `${Math.max(1, Math.ceil(longestGapMs / 1000))} s` };
}

function idOf({ topic, at }: Place, taken: Readonly<Record<string, unknown>>): string {
  const slug = (text: string) =>
    text
      .toLowerCase()
      .replaceAll(/[^a-z0-9]+/gu, '-')
      .replaceAll(/^-|-$/gu, '');
  const levels = topic.split('/').slice(-2).join('-');
  const wanted = slug(`${levels}-${at ?? ''}`) || 'sensor';
  for (let count = 1; ; count++) {
    const id = count === 1 ? wanted : `${wanted}-${count}`;
    if (taken[id] === undefined) return id;
  }
}
