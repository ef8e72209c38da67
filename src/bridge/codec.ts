// Topics to inputs: compiled once from the plant into a table by topic, then one look-up a message.
//
// Pure: the same message always gives the same inputs. Who sent a command is not the codec's business (see
// own-commands.ts); it says what a command on an actuator's topic means, as if somebody else had sent it.
// R9: a retained value is history (`live: false`). R11: whatever can't be read is bad, never `off` and never the last
// value. R12: levels, not edges; totals are absolute.
import type { BadReading, Input } from '../control/guard/types.ts';
import type { Availability, Feedback, Plant, Sensor } from '../station/plant.ts';
import { converterOf } from './conversion.ts';
import { type Matcher, matcherOf } from './payloads.ts';
import { type Document, documentOf, type Found, numberIn, stepsTo, valueAt } from './values.ts';

export interface Codec {
  /** Everything to listen to, each topic once. */
  readonly topics: readonly string[];
  readonly commandTopics: ReadonlySet<string>;
  /** Never throws, whatever the payload; nothing for a topic that the station does not know. */
  readonly read: (topic: string, payload: Uint8Array, retain: boolean) => readonly Input[];
}

type Reader = (document: Document, retain: boolean) => Input | null;

export function codecOf(plant: Plant): Codec {
  const readers = new Map<string, Reader[]>();
  const listen = (topic: string, reader: Reader) => {
    readers.set(topic, [...(readers.get(topic) ?? []), reader]);
  };
  const actuators = Object.values(plant.actuators);
  for (const sensor of Object.values(plant.sensors)) {
    const bad = (reason: BadReading): Input => ({ type: 'bad-reading', sensor: sensor.id, reason });
    if (sensor.availability !== null)
      listen(sensor.availability.topic, availabilityReader(sensor.availability, bad));
    listen(sensor.topic, sensorReader(sensor, plant, bad));
  }
  for (const { id, feedback } of actuators) {
    if (feedback === null) continue;
    const bad = (reason: BadReading): Input => ({ type: 'bad-feedback', actuator: id, reason });
    if (feedback.availability !== null)
      listen(feedback.availability.topic, availabilityReader(feedback.availability, bad));
    listen(feedback.topic, feedbackReader(id, feedback, bad));
  }
  const commands = new Map<string, Commanded[]>();
  for (const { id, command } of actuators) {
    const commanded = { id, on: matcherOf(command.on), off: matcherOf(command.off) };
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

function sensorReader(sensor: Sensor, plant: Plant, bad: (reason: BadReading) => Input): Reader {
  const steps = stepsTo(sensor.at);
  const judge =
    'yes' in sensor ? contactJudge(sensor.yes, sensor.no, sensor.bit) : numberJudge(sensor, plant);
  return (document, retain) => {
    const found = valueAt(document, steps);
    const judged = 'bad' in found ? found : judge(found.value);
    if ('bad' in judged) return bad(judged.bad);
    return { type: 'reading', sensor: sensor.id, value: judged.value, live: !retain };
  };
}

type Judged = { readonly value: number | boolean } | { readonly bad: BadReading };

function contactJudge(
  yes: string,
  no: string,
  bit: number | null,
): (value: string | number | boolean) => Judged {
  return (value) => {
    const word = bit === null ? String(value) : bitOf(value, bit);
    if (word === yes.trim()) return { value: true };
    return word === no.trim() ? { value: false } : { bad: 'unparsable' };
  };
}

/** '1' or '0'; '' where no whole number is there to have bits. Divided and not shifted: a shift reads 32 bits only. */
function bitOf(value: string | number | boolean, bit: number): string {
  const number = numberIn(value);
  if (number === null || !Number.isSafeInteger(number) || number < 0) return '';
  return String(Math.floor(number / 2 ** bit) % 2);
}

function numberJudge(
  sensor: Parameters<typeof converterOf>[0],
  plant: Plant,
): (value: string | number | boolean) => Judged {
  const convert = converterOf(sensor, plant);
  return (value) => {
    const number = numberIn(value);
    return number === null ? { bad: 'unparsable' } : convert(number);
  };
}

function feedbackReader(actuator: string, feedback: Feedback, bad: (reason: BadReading) => Input): Reader {
  const steps = stepsTo(feedback.at);
  const judge = contactJudge(feedback.on, feedback.off, feedback.bit);
  return (document, retain) => {
    const found = valueAt(document, steps);
    const judged = 'bad' in found ? found : judge(found.value);
    if ('bad' in judged) return bad(judged.bad);
    return { type: 'feedback', actuator, on: judged.value === true, live: !retain };
  };
}

/** Online says nothing about a value: the next reading does. Anything that is not `online` is not to be relied on. */
function availabilityReader(availability: Availability, bad: (reason: BadReading) => Input): Reader {
  const steps = stepsTo(availability.at);
  return (document) => {
    const found: Found = valueAt(document, steps);
    if ('value' in found && String(found.value) === availability.online.trim()) return null;
    return bad(
      'value' in found && String(found.value) === availability.offline.trim() ? 'offline' : 'unparsable',
    );
  };
}

interface Commanded {
  readonly id: string;
  readonly on: Matcher;
  readonly off: Matcher;
}

/** Several actuators may share a topic (a relay board with a number in its payload): only those meant are named. */
function foreignCommands(
  commanded: readonly Commanded[],
  document: Document,
  retained: boolean,
): readonly Input[] {
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
