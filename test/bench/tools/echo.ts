// The floor: an mqtt.js client and nothing else. It answers each message that says `wet` as a station would say `off`, or
// it reads what comes and counts.
import { answering, optionsGiven } from './children.ts';
import { clientOf } from './clients.ts';

export interface EchoOptions {
  readonly port: number;
  readonly listenTo: readonly string[];
  /** False: the library as it comes. */
  readonly fast: boolean;
  /** Answers `wet` here ... */
  readonly wet?: { readonly topic: string; readonly payload: string };
  /** ... with this there; without it every message is parsed as JSON. */
  readonly off?: { readonly topic: string; readonly payload: string };
}

const { port, listenTo, fast, wet, off } = optionsGiven<EchoOptions>();
const client = await clientOf(port, fast);
let count = 0;
let [firstMs, lastMs, sum] = [0, 0, 0];
client.on('message', (topic, payload) => {
  if (off !== undefined) {
    if (topic === wet?.topic && payload.toString() === wet.payload)
      client.publish(off.topic, off.payload, { qos: 1 });
    return;
  }
  sum += Object.keys(JSON.parse(payload.toString())).length;
  lastMs = performance.now();
  if (count === 0) firstMs = lastMs;
  count += 1;
});
await client.subscribeAsync([...listenTo], { qos: 1 });

answering((message) => {
  if (message.do === 'begin') [count, firstMs, lastMs] = [0, 0, 0];
  return { count, firstMs, lastMs, sum, rssBytes: process.memoryUsage.rss(), cpu: process.cpuUsage() };
});
