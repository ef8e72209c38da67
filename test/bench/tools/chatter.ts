// A busy station: every sensor of it says something new so many times a second, each message as its device would write it.
import { messagesOf } from '../../../src/simulate/payloads.ts';
import { makeTwin } from '../../../src/simulate/twin.ts';
import { answering, optionsGiven } from './children.ts';
import { clientOf } from './clients.ts';
import { withSensors } from './growing.ts';
import { plantOf, twinOf } from './stations.ts';

export interface ChatterOptions {
  readonly port: number;
  readonly file: string;
  readonly perSecond: number;
  /** Names of stations; none: the one of the file. */
  readonly names?: readonly string[];
  /** As for the service. */
  readonly sensors?: number;
}

const { port, file, perSecond, names = [], sensors } = optionsGiven<ChatterOptions>();
const plant = sensors === undefined ? plantOf(file) : withSensors(file, sensors);
const client = await clientOf(port);

/** What each device of a station says, read off the simulated one at its start; the leak sensor is left to whoever measures. */
function saying(of: typeof plant): { topic: string; payload: string }[] {
  const twin = makeTwin(of, 1);
  twin.advance(1_000);
  const leaks = new Set(
    Object.values(of.sensors)
      .filter(({ measures }) => measures === 'leak')
      .slice(0, 1)
      .map(({ topic }) => topic),
  );
  const said = new Map<string, string>();
  for (const { topic, payload } of messagesOf(of, twin.reports()))
    if (!leaks.has(topic)) said.set(topic, payload);
  const sensorTopics = new Set(Object.values(of.sensors).map(({ topic }) => topic));
  return [...said]
    .filter(([topic]) => sensorTopics.has(topic))
    .map(([topic, payload]) => ({ topic, payload }));
}

const all = (names.length === 0 ? [plant] : names.map((name) => twinOf(plant, name))).map(saying);
const messages = all.flat();
let sent = 0;
// Spread over the second in slices, as devices that know nothing of one another would.
const SLICES = 50;
let slice = 0;
setInterval(() => {
  const each = (messages.length * perSecond) / SLICES;
  const [from, to] = [Math.floor(slice * each), Math.floor((slice + 1) * each)];
  for (let nth = from; nth < to; nth++) {
    const message = messages[nth % messages.length];
    if (message === undefined) continue;
    client.publish(message.topic, message.payload, { qos: 0 });
    sent += 1;
  }
  slice += 1;
}, 1_000 / SLICES);

answering(() => ({ sent, topics: messages.length, rssBytes: process.memoryUsage.rss() }));
