// Many stations in one process, as on an installer's bench: twelve sensors each, each once a second, over one broker. What a
// station costs, and how soon one of them answers its leak sensor while all the others talk.
import { mosquitto } from '../../tools/brokers.ts';
import { type Child, child, pause } from '../tools/children.ts';
import { clientOf } from '../tools/clients.ts';
import { figure, type Part, quantile } from '../tools/figures.ts';
import type { ServiceFigures } from '../tools/service.ts';

const FILE = 'schemas/examples/one-vat.json';
const SENSORS = 12;
/** What the aim allows; the largest number that holds it is told. */
const WITHIN_MS = 25;

interface Told {
  readonly stations: number;
  readonly cpuPercent: number;
  readonly mib: number;
  readonly tookMs: readonly number[];
  readonly lateMs: readonly number[];
}

async function tried(stations: number, seconds: number): Promise<Told> {
  const broker = await mosquitto({ more: 'max_queued_messages 0\n' });
  const children: Child[] = [];
  try {
    const service = await child('./service.ts', {
      port: broker.port,
      file: FILE,
      sensors: SENSORS,
      stations,
      directory: null,
      journal: false,
      again: { sensor: 'cabinet-leak', route: 'fill' },
    });
    children.push(service);
    const names = Array.from({ length: stations }, (_, nth) => `many-${nth + 1}`);
    const chatter = await child('./chatter.ts', {
      port: broker.port,
      file: FILE,
      perSecond: 1,
      route: 'fill',
      names,
      sensors: SENSORS,
    });
    children.push(chatter);
    for (let tries = 0; (await service.ask<ServiceFigures>({ do: 'stats' })).up < stations; tries++) {
      if (tries > 300) throw new Error(`not all of ${stations} stations came up`);
      await pause(100);
    }
    // The compilers have seen the path.
    await pause(8_000);
    const before = await service.ask<ServiceFigures>({ do: 'begin' });
    const fromMs = performance.now();
    const tookMs = await reactions(broker.port, names, seconds);
    const after = await service.ask<ServiceFigures>({ do: 'stats' });
    const cpuUs = after.cpu.user + after.cpu.system - before.cpu.user - before.cpu.system;
    return {
      stations,
      cpuPercent: cpuUs / 10 / (performance.now() - fromMs),
      mib: after.rssBytes / 2 ** 20,
      tookMs,
      lateMs: after.ticksLateMs,
    };
  } finally {
    for (const started of children) await started.end();
    await broker.close();
  }
}

async function reactions(port: number, names: readonly string[], seconds: number): Promise<number[]> {
  const client = await clientOf(port);
  const waiting = new Map<string, () => void>();
  client.on('message', (topic, payload) => {
    if (payload.toString() === 'off') waiting.get(topic)?.();
  });
  await client.subscribeAsync('+/relay/inlet/set', { qos: 1 });
  const tookMs: number[] = [];
  for (const endMs = performance.now() + seconds * 1_000; performance.now() < endMs; ) {
    const name = names[Math.floor(Math.random() * names.length)] as string;
    await client.publishAsync(`${name}/leak`, 'dry', { qos: 1 });
    await pause(30 + Math.random() * 40);
    const answered = new Promise<number>((resolve) =>
      waiting.set(`${name}/relay/inlet/set`, () => resolve(performance.now())),
    );
    const sentMs = performance.now();
    client.publish(`${name}/leak`, 'wet', { qos: 1 });
    tookMs.push((await answered) - sentMs);
    waiting.clear();
  }
  await client.endAsync(true);
  return tookMs;
}

export const measure: Part = async (size) => {
  const counts = size === 'whole' ? [10, 100, 300, 1_000] : [10, 50];
  const told: Told[] = [];
  const notes = [
    'State file and journal are off here: an installer tries wiring, and a thousand journals on one disk would measure the disk.',
  ];
  for (const count of counts) {
    try {
      told.push(await tried(count, size === 'whole' ? 20 : 6));
    } catch (error) {
      notes.push(`${count} stations: ${error instanceof Error ? error.message : error}`);
    }
  }
  const each = ({ cpuPercent, stations }: Told) => (10 * cpuPercent) / stations;
  const p99 = ({ tookMs }: Told) => quantile(tookMs, 0.99);
  const few = told[0] as Told;
  const last = told.at(-1) as Told;
  const holding = told.findLast((one) => p99(one) <= WITHIN_MS);
  const one = (value: number, unit: string) => figure([value], unit);
  const rows = told.flatMap((at) => [
    [`cpu-${at.stations}`, one(at.cpuPercent, '% of a processor')],
    [`reaction-p50-${at.stations}`, one(quantile(at.tookMs, 0.5), 'ms')],
    [`reaction-p99-${at.stations}`, one(p99(at), 'ms')],
    [`tick-late-p99-${at.stations}`, one(quantile(at.lateMs, 0.99), 'ms')],
    [`memory-${at.stations}`, one(at.mib, 'MiB')],
  ]);
  return {
    figures: {
      'cpu-few': one(each(few), 'ms/s for each'),
      'cpu-most': one(each(last), 'ms/s for each'),
      'cost-at-most-by-few': one(each(last) / each(few), 'x'),
      'stations-tried': one(last.stations, ''),
      'stations-most': one(holding?.stations ?? 0, `within ${WITHIN_MS} ms`),
      'reaction-p99-most': one(p99(holding ?? few), 'ms'),
      ...Object.fromEntries(rows),
    },
    curves: {
      cpu: {
        words: 'Processor time against stations in one process',
        x: { words: 'stations', values: told.map(({ stations }) => stations) },
        y: { words: '% of a processor', values: told.map(({ cpuPercent }) => cpuPercent) },
      },
    },
    notes,
  };
};
