// A busy station: every sensor of it speaks so many times a second, each message as its device would write it.
import { messagesOf } from '../../../src/simulate/payloads.ts';
import { answering, optionsGiven } from './children.ts';
import { clientOf } from './clients.ts';
import { withSensors } from './growing.ts';
import { momentOf, plantOf, twinOf } from './stations.ts';

export interface ChatterOptions {
  readonly port: number;
  readonly file: string;
  readonly perSecond: number;
  /** Water has just begun to move here. */
  readonly route: string;
  /** Names of stations; none: the one of the file. */
  readonly names?: readonly string[];
  /** As for the service. */
  readonly sensors?: number;
}

const { port, file, perSecond, route, names = [], sensors } = optionsGiven<ChatterOptions>();
const plant = sensors === undefined ? plantOf(file) : withSensors(file, sensors);
const client = await clientOf(port);

/** What every sensor says in the moment that is measured; the first leak sensor is left to whoever measures. */
const { twin } = momentOf(plant, route);
const present = new Map(Object.keys(plant.sensors).map((id) => [id, twin.present(id)]));

function saying(of: typeof plant): readonly { topic: string; payload: string }[] {
  const [measured] = Object.values(of.sensors).filter(({ measures }) => measures === 'leak');
  const reports = Object.values(of.sensors).flatMap((sensor) => {
    const value = present.get(sensor.id);
    return value === undefined || sensor === measured ? [] : [{ of: 'sensor' as const, sensor, value }];
  });
  return messagesOf(of, reports);
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
