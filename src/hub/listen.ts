// Listens to a broker for a while and writes down what it hears, within bounds: so many topics, so many different payloads
// of each, so long. It publishes nothing, and subscribes to what it was asked to and no wider.
import type { MqttClient } from 'mqtt';
import { Coded } from '../errors/coded.ts';
import { verdictOf } from '../errors/refusals.ts';
import { greeted, ONCE, refusedOf } from '../mqtt/client.ts';
import type { BrokerAccess } from './connection.ts';
import type { Heard } from './draft.ts';

export interface ListenOptions {
  readonly access: BrokerAccess;
  /** Everything below this level of the topic tree; null: everything. */
  readonly under: string | null;
  readonly forMs: number;
  readonly stop: AbortSignal;
}

export interface Listened {
  readonly heard: readonly Heard[];
  /** Topics that came after the list was full. */
  readonly leftOut: number;
}

const MOST_TOPICS = 2000;
const MOST_SAMPLES = 8;
const LONGEST_SAMPLE = 4096;

interface Notes {
  samples: string[];
  live: number;
  retained: boolean;
  lastMs: number | null;
  longestGapMs: number;
}

/** The one filter that is subscribed to. @throws Error for a prefix with a wildcard in it. */
export function filterUnder(under: string | null): string {
  if (under === null) return '#';
  const prefix = under.replace(/\/+$/u, '');
  if (prefix === '' || /[#+]/u.test(prefix)) {
    throw new Coded(
      'E-104',
      `--under '${under}': give the first levels of a topic, without # and +, for example house/cellar`,
    );
  }
  return `${prefix}/#`;
}

type Message = (topic: string, payload: Buffer, retain: boolean) => void;

/** A connection that hears and never says anything. @throws Error when the broker does not let us in, or not listen. */
export async function earAt(
  access: BrokerAccess,
  filters: readonly string[],
  message: Message,
): Promise<MqttClient> {
  const { url, ...asked } = access;
  const client = await greeted(url, { ...asked, ...ONCE }).catch((error) => {
    const { code, words } = verdictOf(error, access.version);
    throw new Coded(code, `the broker at ${url} can't be used: ${words}`, error);
  });
  client.on('message', (topic, payload, { retain }) => message(topic, payload, retain));
  try {
    const refused = await refusedOf(client, [...filters], { qos: 0 });
    if (refused === null) throw hungUp();
    if (refused.length > 0)
      throw new Coded(
        'E-316',
        `the broker does not let this user listen to ${filters.join(', ')}: give --under, or change its access list`,
      );
    return client;
  } catch (error) {
    await client.endAsync(true);
    throw error;
  }
}

/** @throws Error when the broker does not let us in, or not listen. */
export async function listen({ access, under, forMs, stop }: ListenOptions): Promise<Listened> {
  const notes = new Map<string, Notes>();
  let leftOut = 0;
  const client = await earAt(access, [filterUnder(under)], (topic, payload, retain) => {
    const note = notes.get(topic) ?? { samples: [], live: 0, retained: false, lastMs: null, longestGapMs: 0 };
    if (!notes.has(topic) && notes.size >= MOST_TOPICS) leftOut++;
    else notes.set(topic, noted(note, payload, retain, performance.now()));
  });
  try {
    await passed(forMs, stop, client);
  } finally {
    await client.endAsync(true);
  }
  return { heard: [...notes].map(([topic, note]) => heardOf(topic, note)).toSorted(byTopic), leftOut };
}

const hungUp = (): Coded =>
  new Coded('E-399', 'the broker closed the connection: look at its log for the same moment');

function noted(note: Notes, payload: Buffer, retain: boolean, nowMs: number): Notes {
  const text = payload.subarray(0, LONGEST_SAMPLE).toString('utf8');
  const isNew = payload.byteLength <= LONGEST_SAMPLE && !note.samples.includes(text);
  const samples = isNew && note.samples.length < MOST_SAMPLES ? [...note.samples, text] : note.samples;
  if (retain) return { ...note, samples, retained: true };
  const gapMs = note.lastMs === null ? 0 : nowMs - note.lastMs;
  return {
    ...note,
    samples,
    live: note.live + 1,
    lastMs: nowMs,
    longestGapMs: Math.max(note.longestGapMs, gapMs),
  };
}

function heardOf(topic: string, { samples, live, retained, longestGapMs }: Notes): Heard {
  return { topic, samples, live, retained, longestGapMs: live >= 3 ? longestGapMs : null };
}

const byTopic = (a: Heard, b: Heard): number => (a.topic < b.topic ? -1 : a.topic > b.topic ? 1 : 0);

function passed(forMs: number, stop: AbortSignal, client: MqttClient): Promise<void> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(resolve, forMs);
    stop.addEventListener('abort', () => {
      clearTimeout(timer);
      resolve();
    });
    client.once('close', () => {
      clearTimeout(timer);
      reject(hungUp());
    });
  });
}
