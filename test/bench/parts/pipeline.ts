// How many messages a second go the whole way in (socket, codec, core, state file, journal), against a bare subscriber that
// parses JSON on the same broker; and what becomes of memory and of alarms when more comes than can be taken.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { mosquitto } from '../../tools/brokers.ts';
import { type Child, child, pause } from '../tools/children.ts';
import { clientOf } from '../tools/clients.ts';
import { figure, type Part, ratio } from '../tools/figures.ts';
import type { ServiceFigures } from '../tools/service.ts';
import { MARRAM } from '../tools/stations.ts';

/** What devices say all day: numbers that move a little, plain or in JSON, all of them readable as JSON. */
const SAID: Readonly<Record<string, (nth: number) => string>> = {
  'marram/fresh/level': (nth) => `{"distance":{"mm":${248 + (nth % 7) / 10}}}`,
  'marram/mixing/level': (nth) => String(6 + (nth % 5) / 100),
  'marram/mixing/temperature': (nth) => String(16 + (nth % 9) / 100),
  'marram/display': (nth) => `{"water":{"fahrenheit":${77 + (nth % 6) / 100}}}`,
  'marram/purifier/conductivity': (nth) => String(4 + (nth % 4) / 10),
  'marram/supply/total': () => '0',
};
const TOPICS = Object.keys(SAID);
const MESSAGES = Array.from({ length: 60 }, (_, nth) => {
  const topic = TOPICS[nth % TOPICS.length] as string;
  return { topic, payload: SAID[topic]?.(nth) ?? '' };
});
const LEAK = 'marram/tray/leak';

interface Counted {
  readonly count: number;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly cpu: NodeJS.CpuUsage;
}

interface Rate {
  readonly perSecond: number;
  /** Processor time: says the same on a machine that does something else as well. */
  readonly usEach: number;
}

/** Messages a second, from the first that came to the last. */
async function rateOf(listener: Child, flood: Child, count: number, qos: 0 | 1): Promise<Rate> {
  const { cpu } = await listener.ask<Counted>({ do: 'begin' });
  await flood.ask({ do: 'flood', count, qos, forMs: 15_000 }, 30_000);
  let before = -1;
  for (;;) {
    const now = await listener.ask<Counted & { messages?: number }>({ do: 'stats' }, 30_000);
    const heard = now.messages ?? now.count;
    if (heard === before && heard > 0)
      return {
        perSecond: (1_000 * heard) / (now.lastMs - now.firstMs),
        usEach: (now.cpu.user + now.cpu.system - cpu.user - cpu.system) / heard,
      };
    before = heard;
    await pause(400);
  }
}

export const measure: Part = async (size) => {
  const whole = size === 'whole';
  const [repetitions, count] = whole ? [4, 60_000] : [2, 20_000];
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  // Two brokers: a flood for one listener must not be carried to the other.
  const lines = 'max_queued_messages 0\nmax_inflight_messages 0\n';
  const [one, other] = await Promise.all([mosquitto({ more: lines }), mosquitto({ more: lines })]);
  const children: Child[] = [];
  const begin = async (file: string, options: object) => {
    const started = await child(file, options);
    children.push(started);
    return started;
  };
  const figures: Record<string, ReturnType<typeof figure>> = {};
  try {
    const given = { file: MARRAM, stations: 1, directory, journal: true, again: null };
    const service = await begin('./service.ts', { port: one.port, ...given });
    const bare = await begin('./echo.ts', { port: other.port, listenTo: TOPICS, fast: true });
    const [floodOne, floodOther] = [
      await begin('./flood.ts', { port: one.port, messages: MESSAGES }),
      await begin('./flood.ts', { port: other.port, messages: MESSAGES }),
    ];
    await pause(1_500);
    for (const qos of [0, 1] as const) {
      const rates = { service: [] as Rate[], bare: [] as Rate[] };
      // The first of each is the compiler's.
      for (let nth = -1; nth < repetitions; nth++) {
        const now = {
          service: await rateOf(service, floodOne, count, qos),
          bare: await rateOf(bare, floodOther, count, qos),
        };
        if (nth < 0) continue;
        rates.service.push(now.service);
        rates.bare.push(now.bare);
      }
      const of = (who: 'service' | 'bare', what: keyof Rate) => rates[who].map((rate) => rate[what]);
      figures[`qos${qos}-per-second`] = figure(of('service', 'perSecond'), '1/s');
      figures[`qos${qos}-bare-per-second`] = figure(of('bare', 'perSecond'), '1/s');
      figures[`qos${qos}-by-bare`] = ratio(of('service', 'perSecond'), of('bare', 'perSecond'));
      figures[`qos${qos}-cpu`] = figure(of('service', 'usEach'), 'us for each');
      figures[`qos${qos}-bare-cpu`] = figure(of('bare', 'usEach'), 'us for each');
      figures[`qos${qos}-cpu-by-bare`] = ratio(of('service', 'usEach'), of('bare', 'usEach'));
    }
    if (whole) Object.assign(figures, await overload(service, floodOne, one.port));
    return { figures };
  } finally {
    for (const started of children) await started.end();
    await one.close();
    await other.close();
    rmSync(directory, { recursive: true, force: true });
  }
};

/** Half a minute of all that the broker takes, while a leak sensor goes to and fro. */
async function overload(service: Child, flood: Child, port: number) {
  const client = await clientOf(port);
  await service.ask({ do: 'begin' });
  const rss: number[] = [];
  const flooding = flood.ask<{ sent: number }>(
    { do: 'flood', count: Number.MAX_SAFE_INTEGER, qos: 0, forMs: 24_000 },
    60_000,
  );
  const fromMs = performance.now();
  let changes = 0;
  while (performance.now() - fromMs < 24_000) {
    await client.publishAsync(LEAK, changes % 2 === 0 ? 'WET' : 'DRY', { qos: 1 });
    changes += 1;
    await pause(200);
    const { rssBytes } = await service.ask<ServiceFigures>({ do: 'stats' }, 30_000);
    rss.push(rssBytes / 2 ** 20);
  }
  await flooding;
  let last = -1;
  for (;;) {
    const { messages } = await service.ask<ServiceFigures>({ do: 'stats' }, 30_000);
    if (messages === last) break;
    last = messages;
    await pause(500);
  }
  await client.endAsync(true);
  const { messages, steps, contacts, firstMs, lastMs } = await service.ask<ServiceFigures>({ do: 'stats' });
  const third = Math.floor(rss.length / 3);
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  return {
    'overload-per-second': figure([(1_000 * messages) / (lastMs - firstMs)], '1/s'),
    'overload-peak': figure([Math.max(...rss)], 'MiB'),
    'overload-growth': figure([mean(rss.slice(-third)) / mean(rss.slice(third, -third))], 'x'),
    'overload-steps-per-message': figure([steps / messages], 'x'),
    'overload-contacts': figure([changes], ''),
    'overload-contacts-lost': figure([Math.max(0, changes - contacts)], ''),
  };
}
