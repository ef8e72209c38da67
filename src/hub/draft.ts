// From what was heard on a broker to a draft of sensor entries: pure. It proposes only where the topic or the payload speaks
// for itself, says what it could not tell, and leaves what nobody can hear (which vessel, which litres) to be filled in by a
// person: the draft fits the schema, and the loader refuses it until that has been done.
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

export interface Draft {
  readonly sensors: Readonly<Record<string, SensorFile>>;
  /** Only what devices say of themselves. */
  readonly actuators: Readonly<Record<string, ActuatorFile>>;
  /** What a person should look at, a line each. */
  readonly remarks: readonly string[];
}

/** One value at one place of the payload. */
interface Place {
  readonly topic: string;
  readonly at: string | null;
  readonly values: readonly (string | number | boolean)[];
}

const DEEPEST = 4;
const MOST_PLACES = 40;
const MOST_SENSORS = 500;

export function draftOf(all: readonly Heard[]): Draft {
  const sensors: Record<string, SensorFile> = {};
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

function placesOf({ topic, samples }: Heard): readonly Place[] {
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

type Guess = SensorFile | string;

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
    return { measures: 'leak', ...base, tray: 'which tray', wet: contact[0], dry: contact[1] };
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
      mark: '1 L',
      wet: contact[0],
      dry: contact[1],
    };
  }
  if (!place.values.every(isNumber)) {
    return contact === null
      ? `says ${words.slice(0, 3).join(', ')}: no words that a sensor of ours would say`
      : `says ${words.join(', ')}: a contact, but of what? If it belongs to a pump or a valve it is a "feedback"`;
  }
  return numberOf(name, place.values.map(Number), base);
}

/** Both words of the pair, as the payload writes them; the one that was not heard is the other of a known pair. */
function pairOf(words: readonly string[]): readonly [string, string] | null {
  const lower = words.map((word) => word.toLowerCase());
  for (const pair of PAIRS) {
    if (!lower.every((word) => pair.includes(word))) continue;
    const written = (word: string) => words[lower.indexOf(word)] ?? inTheSameLetters(word, words[0] ?? '');
    return [written(pair[0]), written(pair[1])];
  }
  return null;
}

function inTheSameLetters(word: string, example: string): string {
  if (example !== '' && example === example.toUpperCase() && example !== example.toLowerCase())
    return word.toUpperCase();
  return /^\p{Lu}/u.test(example) ? word.charAt(0).toUpperCase() + word.slice(1) : word;
}

type Base = { readonly topic: string; readonly at?: string; readonly republishes?: string };

function numberOf(name: string, values: readonly number[], base: Base): Guess {
  const most = Math.max(...values);
  if (/temp|degc|celsius|fahrenheit|degf/u.test(name)) {
    const unit = /fahrenheit|degf|\bf\b/u.test(name) || most > 55 ? 'degF' : 'degC';
    return { measures: 'temperature', ...base, vessel: 'which-vessel', unit };
  }
  if (/conduct|probe|salin|\bec\b|tds/u.test(name)) {
    return {
      measures: 'conductivity',
      ...base,
      vessel: 'which-vessel',
      unit: most > 100 ? 'uS/cm' : 'mS/cm',
    };
  }
  if (/count|pulse|total|meter|volume/u.test(name)) {
    const rises = values.every((value, place) => place === 0 || value >= (values[place - 1] ?? 0));
    if (!rises) return 'counts down as well, so it is no total';
    if (/pulse|count/u.test(name))
      return { measures: 'total', ...base, route: 'which-route', unit: 'pulses', pulsesPerLitre: 1 };
    return { measures: 'total', ...base, route: 'which-route', unit: 'L' };
  }
  if (/flow|rate/u.test(name)) return { measures: 'flow', ...base, route: 'which-route', unit: 'L/min' };
  if (/level|distance|depth|percent|mm|cm/u.test(name)) {
    const unit = /percent|%/u.test(name) ? '%' : /cm/u.test(name) ? 'cm' : 'mm';
    return { measures: 'level', ...base, vessel: 'which-vessel', unit, uncertainty: '5 L' };
  }
  return `says ${values.slice(0, 3).join(', ')}: a number, but of what? Its name does not say`;
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
