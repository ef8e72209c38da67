// Between plain data and the bytes of the file. A step is kept as it is, event and effects in JSON, and folded together
// with its neighbours against a dictionary of this station's names: nothing of it has a form of its own here that could
// drift from the core's types, and a step still costs a dozen bytes. Sums over the bytes tell damage from difference.

import { createHash } from 'node:crypto';
import { crc32, deflateRawSync, inflateRawSync } from 'node:zlib';
import type { Effect, Event } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';
import { message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import { LIMITS } from './limits.ts';
import { Damaged } from './trouble.ts';

export interface Pair {
  readonly event: Event;
  readonly effects: readonly Effect[];
}

export const textOf = ({ event, effects }: Pair): string => JSON.stringify([event, effects]);

/** Folds the texts of steps into one row. */
export function foldSteps(texts: readonly string[], dictionary: Buffer): Buffer {
  return deflateRawSync(`[${texts.join(',')}]`, { dictionary });
}

/** @throws Damaged */
export function unfoldSteps(body: Uint8Array, dictionary: Buffer): Pair[] {
  const pairs = parse(unfold(body, dictionary)) as [Event, Effect[]][];
  return pairs.map(([event, effects]) => ({ event, effects }));
}

export const foldText = (text: string): Buffer => deflateRawSync(text);

/** @throws Damaged */
export const unfoldText = (body: Uint8Array): string => unfold(body);

function unfold(body: Uint8Array, dictionary?: Buffer): string {
  try {
    const options = { maxOutputLength: LIMITS.unfoldedBytes, ...(dictionary ? { dictionary } : {}) };
    return inflateRawSync(body, options).toString('utf8');
  } catch (error) {
    throw new Damaged('what is folded can not be unfolded', { cause: error });
  }
}

function parse(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new Damaged('what was unfolded is no JSON', { cause: error });
  }
}

export const sumOf = (text: string): number => crc32(text);

/** Two states with equal digests are equal, but for one chance in 4,000 million. */
export const digestOf = (state: State): number => sumOf(JSON.stringify(state));

/** Each row's sum includes the sum of the row before it: a row that was changed, lost or moved breaks the chain. */
export function chainOf(previous: number, head: readonly (number | string)[], body: Uint8Array): number {
  return crc32(body, crc32(head.join(' '), previous));
}

/** A plant in JSON. The inlet and the waste are without limit, and JSON knows no Infinity. */
export const plantText = (plant: Plant): string =>
  JSON.stringify(plant, (_, value) => (value === Number.POSITIVE_INFINITY ? { limit: 'none' } : value));

/** @throws Damaged */
export function plantOf(text: string): Plant {
  const isNone = (value: unknown) =>
    typeof value === 'object' && value !== null && (value as { limit?: unknown }).limit === 'none';
  try {
    return JSON.parse(text, (_, value) => (isNone(value) ? Number.POSITIVE_INFINITY : value));
  } catch (error) {
    throw new Damaged('the plant is no JSON', { cause: error });
  }
}

export const hashOf = (text: string): string => createHash('sha256').update(text).digest('hex');

/** What the steps of this station are made of; the likeliest last, where it is cheapest to point at. */
export function dictionaryOf(plant: Plant): Buffer {
  const sensors = Object.keys(plant.sensors);
  const actuators = Object.keys(plant.actuators);
  const inputs = [
    ...actuators.map((actuator) => ({ type: 'feedback', actuator, on: true, live: true })),
    ...sensors.map((sensor) => ({ type: 'reading', sensor, value: true, live: true })),
    { type: 'clock', minuteOfDay: 480, day: 20_000, trusted: true },
    { type: 'link', up: true },
    { type: 'echo' },
  ];
  const effects = [
    {
      do: 'record',
      about: 'phase',
      words: message('batch-phase', { procedure: 'running', stage: 'transfer' }),
    },
    ...actuators.flatMap((actuator) => [
      { do: 'command', actuator, on: false, leaseMs: 0 },
      { do: 'command', actuator, on: true, leaseMs: plant.actuators[actuator]?.leaseMs ?? 0 },
    ]),
  ];
  const quiet: Pair = { event: { elapsedMs: 250, inputs: [], tick: true }, effects: [] };
  return Buffer.from(JSON.stringify([effects, inputs]) + textOf(quiet)).subarray(-DICTIONARY_BYTES);
}
/** Deflate looks no further back than 32 KiB. */
const DICTIONARY_BYTES = 32_000;
