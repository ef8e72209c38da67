// How the station's devices speak: payloads written the way its file says, commands read back by the same templates that
// the service fills in. Whoever disagrees about a payload disagrees about the file, not about a second copy of it.
import { isNumberSensor } from '../station/kinds.ts';
import { LEASE_UNITS_MS, literally, PLACEHOLDER } from '../station/payloads.ts';
import type { Actuator, Payload, Plant, Sensor } from '../station/plant.ts';
import { stepsOf } from '../station/pointer.ts';
import { exampleOf } from '../station/words.ts';
import type { Report } from './reports.ts';
import { rawOf } from './scales.ts';
import { resolutionOf } from './sensors.ts';

export interface Message {
  readonly topic: string;
  readonly payload: string;
}

export interface Command {
  readonly on: boolean;
  readonly leaseMs: number;
  /** From the payload, where it carries them. */
  readonly sequence: number | null;
  readonly boot: string | null;
}

type Found = Record<string, string>;

/**
 * Reads a command as the device would: null for what it can't read. A lease that is not in the payload is the device's own
 * fixed time.
 */
export function readCommand(actuator: Actuator, text: string): Command | null {
  const { on, off } = actuator.command;
  for (const [template, isOn] of [
    [on, true],
    [off, false],
  ] as const) {
    const found: Found = {};
    if (!matches(template, text, found)) continue;
    const leaseMs = leaseIn(found, actuator.leaseMs);
    if (isOn && !(leaseMs > 0)) return null;
    const { sequence, boot } = found;
    return {
      on: isOn,
      leaseMs,
      sequence: sequence === undefined ? null : Number(sequence),
      boot: boot ?? null,
    };
  }
  return null;
}

function leaseIn(found: Found, fixedMs: number): number {
  for (const [name, unitMs] of Object.entries(LEASE_UNITS_MS)) {
    if (found[name] !== undefined) return Math.round(Number(found[name]) * unitMs);
  }
  return fixedMs;
}

function matches(template: Payload, text: string, found: Found): boolean {
  if (typeof template === 'object') {
    try {
      return matchesJson(template, JSON.parse(text), found);
    } catch {
      return false;
    }
  }
  return matchesText(String(template), text, found);
}

function matchesJson(template: unknown, value: unknown, found: Found): boolean {
  if (typeof template === 'string') {
    return (
      (typeof value === 'string' || typeof value === 'number') && matchesText(template, String(value), found)
    );
  }
  if (typeof template !== 'object' || template === null) return template === value;
  if (typeof value !== 'object' || value === null || Array.isArray(template) !== Array.isArray(value))
    return false;
  const keys = Object.keys(template);
  return (
    keys.length === Object.keys(value).length &&
    keys.every(
      (key) => Object.hasOwn(value, key) && matchesJson(member(template, key), member(value, key), found),
    )
  );
}

function member(of: object, key: string): unknown {
  return (of as Record<string, unknown>)[key];
}

function matchesText(template: string, text: string, found: Found): boolean {
  const names: string[] = [];
  // split() puts the captured names at the odd places.
  const pattern = template
    .split(PLACEHOLDER)
    .map((part, place) => {
      if (place % 2 === 0) return literally(part);
      names.push(part);
      return part === 'boot' ? '([^\\s,;]+)' : '(\\d+(?:\\.\\d+)?)';
    })
    .join('');
  const match = new RegExp(`^${pattern}$`, 'u').exec(text.trim());
  if (match === null) return false;
  names.forEach((name, place) => {
    found[name] = match[place + 1] ?? '';
  });
  return true;
}

/** Writes reports as messages, one for each topic, in the order in which the topics first appear. */
export function messagesOf(plant: Plant, reports: readonly Report[]): readonly Message[] {
  const topics = new Map<string, Part[]>();
  for (const report of reports) {
    for (const { topic, ...part } of written(plant, report))
      topics.set(topic, [...(topics.get(topic) ?? []), part]);
  }
  return [...topics].map(([topic, bits]) => {
    const parts = gathered(bits);
    const plain = parts.find(({ at }) => at === null);
    return { topic, payload: plain?.says ?? document(parts) };
  });
}

interface Part {
  readonly at: string | null;
  readonly says: string;
  /** What it says is only this bit of the number there. */
  readonly bit?: number | null;
}

/** Contacts that are bits of one number become that number. */
function gathered(parts: readonly Part[]): readonly Part[] {
  const numbers = new Map<string | null, number>();
  for (const { at, says, bit } of parts) {
    if (typeof bit === 'number') numbers.set(at, (numbers.get(at) ?? 0) + Number(says) * 2 ** bit);
  }
  const whole = parts.filter(({ bit }) => typeof bit !== 'number');
  return [...whole, ...[...numbers].map(([at, number]) => ({ at, says: String(number) }))];
}

type Written = Part & { readonly topic: string };

function written(plant: Plant, report: Report): readonly Written[] {
  switch (report.of) {
    case 'empty-command': {
      const topic = plant.actuators[report.actuator]?.command.topic;
      return topic === undefined ? [] : [{ topic, at: null, says: '' }];
    }
    case 'sensor':
      return [sensorPart(plant, report.sensor, report.value)];
    case 'raw':
      return [{ topic: report.sensor.topic, at: null, says: report.text }];
    case 'feedback': {
      const { topic, at, bit, on, off } = report.feedback;
      return [{ topic, at, bit, says: exampleOf(report.on ? on : off) }];
    }
    case 'availability': {
      const device =
        report.kind === 'sensor' ? plant.sensors[report.device] : plant.actuators[report.device]?.feedback;
      return (device?.availability ?? []).map(({ topic, at, online, offline }) => ({
        topic,
        at,
        says: exampleOf(report.online ? online : offline),
      }));
    }
  }
}

function sensorPart(plant: Plant, sensor: Sensor, value: number | boolean): Written {
  const { topic, at } = sensor;
  return isNumberSensor(sensor)
    ? { topic, at, says: String(rawOf(plant, sensor, Number(value), resolutionOf(plant, sensor))) }
    : { topic, at, bit: sensor.bit, says: exampleOf(value === true ? sensor.yes : sensor.no) };
}

/** A JSON document that has each value where its pointer (RFC 6901) looks for it. */
function document(parts: readonly Part[]): string {
  let root: unknown = {};
  for (const { at, says } of parts) root = placed(root, stepsOf(at ?? ''), literal(says));
  return JSON.stringify(root);
}

function placed(into: unknown, [token, ...rest]: readonly string[], value: unknown): unknown {
  if (token === undefined) return value;
  const isPlace = /^(?:0|[1-9]\d*)$/u.test(token);
  if (isPlace && (Array.isArray(into) || Object.keys(into ?? {}).length === 0)) {
    const list: unknown[] = Array.isArray(into) ? [...into] : [];
    while (list.length < Number(token)) list.push(null);
    list[Number(token)] = placed(list[Number(token)], rest, value);
    return list;
  }
  const before = typeof into === 'object' && into !== null ? into : {};
  return { ...before, [token]: placed(member(before, token), rest, value) };
}

/** Words of the station file compare by what they print as; a device sends true and 1 bare. */
function literal(says: string): unknown {
  if (says === 'true' || says === 'false') return says === 'true';
  return says.trim() !== '' && String(Number(says)) === says ? Number(says) : says;
}
