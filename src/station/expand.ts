// A file in which things are said once, written out: each entry with all that the defaults, its device and the profile of that
// say. What the entry says itself counts most, then the defaults of its kind, of its section, the device, the profile. What is
// broken stays as it is: the schema and the rules say so.
import { GRANTED_BY } from './file/declare.ts';
import { SENSOR_KINDS, type SensorKinds } from './file/sensor-kinds.ts';
import { profileOf } from './profiles.ts';

type Json = Readonly<Record<string, unknown>>;

export function expanded(value: unknown): unknown {
  if (!isObject(value)) return value;
  const { devices, defaults } = value;
  if (!isObject(devices) && !isObject(defaults)) return value;
  const given = isObject(defaults) ? defaults : {};
  const granting = isObject(devices) ? devices : {};
  const section = (name: 'sensors' | 'actuators' | 'routes', of: (entry: Json, id: string) => unknown) => {
    const entries = value[name];
    if (!isObject(entries)) return {};
    return { [name]: mapped(entries, (entry, id) => (isObject(entry) ? of(entry, id) : entry)) };
  };
  return {
    ...value,
    ...section('routes', (entry) => merged(given.routes, entry)),
    ...section('sensors', (entry, id) => {
      const kind = String(merged(given.sensors, entry).measures);
      return withDevice(withChannel(id, merged(given.sensors, given[kind], entry)), granting, false);
    }),
    ...section('actuators', (entry, id) => {
      const kind = String(merged(given.actuators, entry).kind);
      return withDevice(withChannel(id, merged(given.actuators, given[kind], entry)), granting, true);
    }),
  };
}

const PART_OF_ENTRY = /\$(id|vessel|route|position)\b/gu;

/** A default may say which part of its device an entry is by what the entry says of itself. */
function withChannel(id: string, entry: Json): Json {
  const { channel } = entry;
  if (typeof channel !== 'string') return entry;
  const names: Json = { ...entry, id };
  const said = channel.replaceAll(PART_OF_ENTRY, (name, key: string) => String(names[key] ?? name));
  return { ...entry, channel: said };
}

function withDevice(entry: Json, devices: Json, isActuator: boolean): Json {
  const id = String(entry[GRANTED_BY]);
  const device = Object.hasOwn(devices, id) ? devices[id] : undefined;
  if (!isObject(device) || typeof device.topic !== 'string') return entry;
  const profile = profileOf(device.profile);
  if (profile === undefined) return entry;
  const { failureDomain = id, lease, command, feedback } = device;
  const habits = picked(device, ['availability', 'republishes', 'maxAge', 'ask']);
  const channel = typeof entry.channel === 'string' ? entry.channel : '';
  const own = isActuator
    ? merged(
        channel === '' && profile.relayAlone !== undefined ? profile.relayAlone : profile.relay,
        picked({ command, feedback }, ['command', 'feedback']),
        { lease: merged(profile.lease, lease) },
      )
    : merged(
        profile.sensor,
        profile.kinds?.[String(entry.measures)],
        isContactKind(entry.measures) ? picked(device, ['believe']) : {},
      );
  const heard = merged(profile.all, habits);
  const given = isActuator
    ? merged(own, {
        failureDomain,
        feedback: merged(heard, isObject(own.feedback) ? own.feedback : {}, habits),
      })
    : merged(heard, own, habits, { failureDomain });
  return merged(filled(given, namesOf(device.topic, channel)) as Json, entry);
}

/** What stands for each `$name` in a profile, and in the `command` and `feedback` of a device. */
function namesOf(topic: string, channel: string): Readonly<Record<string, string>> {
  const [part = '', ...rest] = channel.split('/');
  return { topic, channel, base: topic.split('/')[0] ?? '', part, rest: rest.join('/') };
}

const isContactKind = (measures: unknown): boolean =>
  typeof measures === 'string' &&
  Object.hasOwn(SENSOR_KINDS, measures) &&
  'believe' in SENSOR_KINDS[measures as keyof SensorKinds].members;

const NAME = /\$(topic|channel|base|part|rest)\b/gu;

function filled(value: unknown, names: Readonly<Record<string, string>>): unknown {
  if (typeof value === 'string') {
    // A number alone stays one: a board counts its relays.
    if (value === '$channel' && /^\d{1,6}$/u.test(names.channel ?? '')) return Number(names.channel);
    return value.replaceAll(NAME, (_, name: string) => names[name] ?? '');
  }
  if (Array.isArray(value)) return value.map((item) => filled(item, names));
  return isObject(value) ? mapped(value, (inner) => filled(inner, names)) : value;
}

/** Later counts more. Payloads, words and lists are taken whole; objects of the file member by member. */
function merged(...parts: readonly unknown[]): Json {
  const found: Record<string, unknown> = {};
  for (const part of parts) {
    if (!isObject(part)) continue;
    for (const [key, value] of Object.entries(part)) {
      if (value === undefined) continue;
      const before = found[key];
      found[key] =
        MEMBERWISE.includes(key) && isObject(before) && isObject(value) ? merged(before, value) : value;
    }
  }
  return found;
}
const MEMBERWISE: readonly string[] = ['command', 'feedback', 'lease', 'ask'];

const picked = (from: Json, keys: readonly string[]): Json =>
  Object.fromEntries(keys.flatMap((key) => (from[key] === undefined ? [] : [[key, from[key]]])));

const mapped = (object: Json, make: (value: unknown, key: string) => unknown): Json =>
  Object.fromEntries(Object.entries(object).map(([key, value]) => [key, make(value, key)]));

const isObject = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
