// The topics of the station's devices, as its file describes them: one channel a topic, however many values it carries.
import { literally, PLACEHOLDER, WHOLE_PLACEHOLDER } from '../station/payloads.ts';
import type { Actuator, Availability, Feedback, Payload, Plant, Sensor } from '../station/plant.ts';
import { stepsOf } from '../station/pointer.ts';
import type { Words } from '../station/words.ts';
import { type Channel, type JsonSchema, json, type Message, text } from './channel.ts';

/** One thing that is read at a place. */
interface Reading {
  readonly topic: string;
  readonly at: string | null;
  readonly account: string;
  readonly words: string;
  readonly value: JsonSchema;
  readonly plain: JsonSchema;
}

export const DECIMAL = String.raw`^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*$`;
const WHOLE = String.raw`^\s*\d+\s*$`;

export function deviceChannels(plant: Plant): readonly Channel[] {
  const readings = [
    ...Object.values(plant.sensors).flatMap((sensor) => sensorReadings(sensor, plant)),
    ...Object.values(plant.actuators).flatMap((actuator) => feedbackReadings(actuator, plant)),
  ];
  const topics = new Map<string, Reading[]>();
  for (const reading of readings) topics.set(reading.topic, [...(topics.get(reading.topic) ?? []), reading]);
  return [
    ...[...topics].map(([topic, all]) => readingChannel(topic, all)),
    ...Object.values(plant.actuators).map((actuator) => commandChannel(actuator, plant)),
    ...askChannels(plant),
  ];
}

/**
 * The account of the device that a sensor or an actuator belongs to. The station file knows no devices, but it knows what
 * fails together: what shares a board is one device at the broker.
 */
export function accountOf(
  { id, failureDomain }: { readonly id: string; readonly failureDomain: string | null },
  plant: Plant,
): string {
  const slug = (failureDomain ?? id)
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/gu, '-')
    .replaceAll(/^-|-$/gu, '');
  return `${plant.id}-${slug === '' ? id : slug}`;
}

function readingChannel(topic: string, readings: readonly Reading[]): Channel {
  const plain = readings.filter(({ at }) => at === null);
  const inJson = readings.filter(({ at }) => at !== null);
  const messages: Message[] = [
    ...(plain.length === 0 ? [] : [text('value', merged(plain.map((reading) => reading.plain)))]),
    ...(inJson.length === 0
      ? []
      : [json('values', merged(inJson.map(({ at, value }) => placed(at ?? '', value))))]),
  ];
  return {
    id: `device.${idOf(topic)}`,
    address: topic,
    words: [...new Set(readings.map(({ words }) => words))].join('; '),
    side: 'service',
    does: ['receive'],
    qos: 1,
    // A stored reading is taken for history; both ways of sending are fine.
    retain: false,
    messages,
    device: { accounts: [...new Set(readings.map(({ account }) => account))], does: 'speaks' },
  };
}

function sensorReadings(sensor: Sensor, plant: Plant): readonly Reading[] {
  const account = accountOf(sensor, plant);
  const { topic, at, name } = sensor;
  const own = { topic, at, account, words: name, ...sensorValue(sensor) };
  return [own, ...availabilityReadings(sensor.availability, account)];
}

function sensorValue(sensor: Sensor): Pick<Reading, 'value' | 'plain'> {
  if (!('yes' in sensor)) return NUMBER;
  return sensor.bit === null ? words([...sensor.yes, ...sensor.no]) : BITS;
}

const NUMBER: Pick<Reading, 'value' | 'plain'> = {
  value: { anyOf: [{ type: 'number' }, { type: 'string', pattern: DECIMAL }] },
  plain: { pattern: DECIMAL },
};

const BITS: Pick<Reading, 'value' | 'plain'> = {
  value: {
    anyOf: [
      { type: 'integer', minimum: 0 },
      { type: 'string', pattern: WHOLE },
    ],
  },
  plain: { pattern: WHOLE },
};

function feedbackReadings(actuator: Actuator, plant: Plant): readonly Reading[] {
  const { feedback, name } = actuator;
  if (feedback === null) return [];
  const account = accountOf(actuator, plant);
  const { topic, at } = feedback;
  const own = { topic, at, account, words: `${name}, feedback`, ...feedbackValue(feedback) };
  return [own, ...availabilityReadings(feedback.availability, account)];
}

const feedbackValue = ({ on, off, bit }: Feedback) => (bit === null ? words([...on, ...off]) : BITS);

const availabilityReadings = (availability: readonly Availability[], account: string): readonly Reading[] =>
  availability.map(({ topic, at, online, offline }) => ({
    topic,
    at,
    account,
    words: 'whether the device is there',
    ...words([...online, ...offline]),
  }));

/** Words compare by what they print as, so a bare true or 1 says the same as "true" or "1". */
function words(said: Words): Pick<Reading, 'value' | 'plain'> {
  const texts = said.filter((saying) => typeof saying === 'string');
  if (texts.length < said.length) return NUMBER;
  return { value: { enum: texts.flatMap((word) => [word, ...bare(word)]) }, plain: { enum: texts } };
}

function bare(word: string): readonly (number | boolean)[] {
  if (word === 'true' || word === 'false') return [word === 'true'];
  return word.trim() !== '' && String(Number(word)) === word ? [Number(word)] : [];
}

function placed(pointer: string, value: JsonSchema): JsonSchema {
  const steps = stepsOf(pointer);
  // A step that is a number may be a place in a list; what is at it is then not said here.
  const list = steps.findIndex((step) => /^\d+$/u.test(step));
  const known = list === -1 ? steps : steps.slice(0, list);
  const inner: JsonSchema = list === -1 ? value : { type: ['array', 'object'] };
  return known.reduceRight<JsonSchema>(
    (schema, key) => ({ type: 'object', required: [key], properties: { [key]: schema } }),
    inner,
  );
}

function merged(schemas: readonly JsonSchema[]): JsonSchema {
  const different = [...new Map(schemas.map((schema) => [JSON.stringify(schema), schema])).values()];
  return different.length === 1 ? (different[0] ?? {}) : { allOf: different };
}

function commandChannel(actuator: Actuator, plant: Plant): Channel {
  const { id, name, command, leaseMs } = actuator;
  const message = (payload: Payload, word: 'on' | 'off'): Message =>
    typeof payload === 'string'
      ? text(word, { pattern: textPattern(payload) })
      : json(word, commandSchema(payload));
  return {
    id: `command.${id}`,
    address: command.topic,
    words: `${name}: commands, never stored. Listened to as well, so that a second hand at the switch is noticed.`,
    side: 'service',
    does: ['send', 'receive'],
    qos: 1,
    retain: false,
    expiresS: Math.ceil(leaseMs / 1000),
    messages: [message(command.on, 'on'), message(command.off, 'off')],
    device: { accounts: [accountOf(actuator, plant)], does: 'listens' },
  };
}

/** One channel a topic on which devices take questions. */
function askChannels(plant: Plant): readonly Channel[] {
  const asked = [
    ...Object.values(plant.sensors).map((sensor) => ({ ask: sensor.ask, account: accountOf(sensor, plant) })),
    ...Object.values(plant.actuators).map((actuator) => ({
      ask: actuator.feedback?.ask ?? null,
      account: accountOf(actuator, plant),
    })),
  ].flatMap(({ ask, account }) => (ask === null ? [] : [{ ...ask, account }]));
  const topics = [...new Set(asked.map(({ topic }) => topic))];
  const asksOn = (topic: string) => asked.filter((ask) => ask.topic === topic);
  return topics.map((topic) => ({
    id: `ask.${idOf(topic)}`,
    address: topic,
    words: 'a question, to which the device says its state',
    side: 'service',
    does: ['send'],
    qos: 1,
    retain: false,
    messages: [...new Set(asksOn(topic).map(({ payload }) => payload))].map((payload, nth) =>
      text(nth === 0 ? 'question' : `question-${nth + 1}`, { const: payload }),
    ),
    device: { accounts: [...new Set(asksOn(topic).map(({ account }) => account))], does: 'listens' },
  }));
}

function textPattern(template: string): string {
  const parts = template
    .split(PLACEHOLDER)
    // The names stand at the odd places.
    .filter((_, place) => place % 2 === 0)
    .map(literally);
  return `^${parts.join('\\S+')}$`;
}

function commandSchema(template: unknown): JsonSchema {
  if (typeof template === 'string') {
    const whole = WHOLE_PLACEHOLDER.exec(template)?.[1];
    if (whole === 'boot') return { type: 'string' };
    if (whole !== undefined) return { type: 'number', minimum: 0 };
    return template.includes('$') ? { type: 'string', pattern: textPattern(template) } : { const: template };
  }
  if (typeof template !== 'object' || template === null || Array.isArray(template))
    return { const: template };
  return {
    type: 'object',
    additionalProperties: false,
    required: Object.keys(template),
    properties: Object.fromEntries(
      Object.entries(template).map(([key, inner]) => [key, commandSchema(inner)]),
    ),
  };
}

function idOf(topic: string): string {
  return topic.replaceAll('/', '.').replaceAll(/[^A-Za-z0-9._-]/gu, '_');
}
