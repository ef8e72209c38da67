// Entries from the discovery messages that devices publish about themselves (the public form that Home Assistant documents,
// long or abbreviated): topic, place in the payload, words and unit as the device says them. What can't be read whole is
// listed and left out: nothing is made up.
import type { ActuatorFile } from '../station/file/station.ts';
import { member } from '../station/pointer.ts';
import type { Heard, Part } from './draft.ts';

export interface Discovered {
  readonly sensors: Readonly<Record<string, Part>>;
  readonly actuators: Readonly<Record<string, ActuatorFile>>;
  readonly remarks: readonly string[];
  /** Topics that were spoken of, and topics of the messages themselves: nobody needs to guess about them any more. */
  readonly known: ReadonlySet<string>;
}

const CONFIG = /^[^/]+\/(sensor|binary_sensor|switch|valve)\/(?:[\w-]+\/)?([\w-]+)\/config$/u;
const LONG: Readonly<Record<string, string>> = {
  stat_t: 'state_topic',
  cmd_t: 'command_topic',
  val_tpl: 'value_template',
  pl_on: 'payload_on',
  pl_off: 'payload_off',
  dev_cla: 'device_class',
  unit_of_meas: 'unit_of_measurement',
  avty_t: 'availability_topic',
  pl_avail: 'payload_available',
  pl_not_avail: 'payload_not_available',
  ent_cat: 'entity_category',
};
const UNITS: Readonly<Record<string, object>> = {
  '°C': { measures: 'temperature', vessel: 'which-vessel', unit: 'degC' },
  '°F': { measures: 'temperature', vessel: 'which-vessel', unit: 'degF' },
  'mS/cm': { measures: 'conductivity', vessel: 'which-vessel', unit: 'mS/cm' },
  'µS/cm': { measures: 'conductivity', vessel: 'which-vessel', unit: 'uS/cm' },
  'μS/cm': { measures: 'conductivity', vessel: 'which-vessel', unit: 'uS/cm' },
  'L/min': { measures: 'flow', route: 'which-route', unit: 'L/min' },
  'L/h': { measures: 'flow', route: 'which-route', unit: 'L/h' },
};
/** What says something of the device itself and nothing of the water. */
const OF_THE_DEVICE = [
  'battery',
  'signal_strength',
  'connectivity',
  'update',
  'tamper',
  'problem',
  'voltage',
  'power',
];

export function discoveredIn(all: readonly Heard[]): Discovered {
  const sensors: Record<string, Part> = {};
  const actuators: Record<string, ActuatorFile> = {};
  const remarks: string[] = [];
  const known = new Set<string>();
  const said = new Map<string, string>();
  for (const { topic, samples } of all) {
    const [, component = '', id = ''] = CONFIG.exec(topic) ?? [];
    if (component === '') continue;
    known.add(topic);
    const config = configIn(samples.at(-1) ?? '');
    const made = config === null ? 'no message that can be read' : entryOf(component, id, config);
    if (typeof made === 'string') {
      remarks.push(`${topic}: ${made}; left out`);
      continue;
    }
    const key = slug(id);
    const before = said.get(key);
    said.set(key, JSON.stringify(made));
    if (before !== undefined && before !== said.get(key)) {
      remarks.push(`${topic}: says otherwise than another message about ${id}; both left out`);
      delete sensors[key];
      delete actuators[key];
      continue;
    }
    if ('measures' in made) sensors[key] = made as Part;
    else actuators[key] = made as ActuatorFile;
    known.add(String(config?.state_topic));
  }
  return { sensors, actuators, remarks, known };
}

type Config = Readonly<Record<string, unknown>>;

/** With its long names, and the base of its topics filled in. */
function configIn(text: string): Config | null {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    return null;
  }
  if (typeof parsed !== 'object' || parsed === null || Array.isArray(parsed)) return null;
  const base = (parsed as Config)['~'];
  return Object.fromEntries(
    Object.entries(parsed).map(([key, value]) => {
      const name = Object.hasOwn(LONG, key) ? (LONG[key] ?? key) : key;
      const isTopic = name.endsWith('_topic') && typeof value === 'string' && typeof base === 'string';
      return [name, isTopic ? value.replace(/^~|~$/u, base) : value];
    }),
  );
}

function entryOf(component: string, id: string, config: Config): Part | ActuatorFile | string {
  const { state_topic: topic, device_class: kind, unit_of_measurement: unit } = config;
  if (config.entity_category === 'diagnostic' || OF_THE_DEVICE.includes(String(kind)))
    return 'about the device itself';
  if (typeof topic !== 'string' || !/^[^#+$][^#+]{0,498}$/u.test(topic))
    return 'without a topic for its state';
  const at = placeIn(config.value_template);
  if (at === undefined) return 'its template says more than where the value is';
  const base = {
    name: typeof config.name === 'string' && config.name !== '' ? config.name : id,
    topic,
    ...(at === null ? {} : { at }),
    ...presenceOf(config),
  };
  const words = wordsOf(config, at !== null);
  if (component === 'sensor') {
    const measured = typeof unit === 'string' && Object.hasOwn(UNITS, unit) ? UNITS[unit] : undefined;
    return measured === undefined
      ? `in ${String(unit)}: nothing that a station reads`
      : { ...base, ...(measured as Pick<Part, 'measures'>) };
  }
  if (words === null) return 'without words that can be read';
  if (component === 'binary_sensor') {
    if (kind !== 'moisture') return 'a contact, and not said of what: a float, if it is one, by hand';
    return { ...base, measures: 'leak', tray: 'which tray', wet: words.on, dry: words.off };
  }
  const { command_topic: command } = config;
  const moves = /pump|valve|heater/u.exec(`${id} ${base.name} ${component}`.toLowerCase())?.[0];
  if (typeof command !== 'string' || moves === undefined) return 'a switch, and not said of what';
  const { name, ...heard } = base;
  return {
    name,
    kind: moves as 'pump' | 'valve' | 'heater',
    command: { topic: command, on: words.on, off: words.off },
    // That it drops out by itself is nothing that it says of itself.
    lease: { lasts: '30 s', countedBy: 'nobody' },
    feedback: { ...heard, on: words.on, off: words.off },
  };
}

/** Null for the plain payload, undefined for a template that does more than to pick a value. */
function placeIn(template: unknown): string | null | undefined {
  if (template === undefined || /^\{\{\s*value\s*\}\}$/u.test(String(template))) return null;
  const path = /^\{\{\s*value_json((?:\.\w+|\[['"][^'"\]]+['"]\])+)\s*\}\}$/u.exec(String(template))?.[1];
  if (path === undefined) return undefined;
  const steps = [...path.matchAll(/\.(\w+)|\[['"]([^'"\]]+)['"]\]/gu)].map(([, a, b]) => a ?? b ?? '');
  return member('', ...steps);
}

/** The documented defaults are ON and OFF. */
function wordsOf({ payload_on: on = 'ON', payload_off: off = 'OFF' }: Config, inJson: boolean) {
  const isWord = (word: unknown): word is string | boolean | number =>
    ['string', 'number', 'boolean'].includes(typeof word);
  if (!isWord(on) || !isWord(off) || String(on) === String(off) || on === '' || off === '') return null;
  return inJson ? { on, off } : { on: String(on), off: String(off) };
}

function presenceOf({
  availability_topic: topic,
  payload_available: online = 'online',
  payload_not_available: offline = 'offline',
}: Config) {
  if (typeof topic !== 'string' || typeof online !== 'string' || typeof offline !== 'string') return {};
  return { availability: { topic, online, offline } };
}

const slug = (id: string): string =>
  id
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/gu, '-')
    .replaceAll(/^-|-$/gu, '') || 'entry';
