// What may happen to a service that carries a station: twenty times the normal rate, floods, payloads without end, thousands
// of topics, a slow disk, a broker that stands still, a clock that jumps, no processor to be had. In every case water is
// moving, and a leak sensor (or the case itself) asks for `off`: it must come. LOAD_SECONDS shortens the first.
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, setPriority, tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MqttClient } from 'mqtt';
import { mosquitto, type TestBroker } from '../../tools/brokers.ts';
import { type Child, child, pause } from '../tools/children.ts';
import { clientOf } from '../tools/clients.ts';
import { type Figure, figure, type Part, quantile } from '../tools/figures.ts';
import type { ServiceFigures } from '../tools/service.ts';
import { MARRAM } from '../tools/stations.ts';

const LEAK = 'marram/tray/leak';
const PUMP = 'marram/pumps/transfer/set';
const OFF = '{"output":false}';
const LINK = { provenWithinMs: 3_000, tickWithinMs: 3_000 };
/** Each sensor once a second. */
const NORMAL_PER_SECOND = 1;
const PATIENCE_MS = 30_000;
const SECONDS = Number(process.env.LOAD_SECONDS ?? 600);

interface Bench {
  readonly broker: TestBroker;
  readonly service: Child;
  readonly client: MqttClient;
  readonly directory: string;
}

/** Water moves from now on. */
async function move({ client }: Bench): Promise<void> {
  await client.publishAsync(LEAK, 'DRY', { qos: 1 });
  await pause(300);
}

/** Milliseconds until the pump is told `off`; Infinity where it never is. */
function offWithin({ client }: Bench): Promise<number> {
  const fromMs = performance.now();
  return new Promise((resolve) => {
    const timer = setTimeout(() => resolve(Number.POSITIVE_INFINITY), PATIENCE_MS);
    const hear = (topic: string, payload: Buffer) => {
      if (topic !== PUMP || payload.toString() !== OFF) return;
      clearTimeout(timer);
      client.off('message', hear);
      resolve(performance.now() - fromMs);
    };
    client.on('message', hear);
  });
}

async function leak(bench: Bench): Promise<number> {
  await move(bench);
  const off = offWithin(bench);
  bench.client.publish(LEAK, 'WET', { qos: 1 });
  return off;
}

/** A case: what it does, and how long until `off`, ms. */
type Case = (bench: Bench) => Promise<number>;

async function during(started: Child | ChildProcess, act: () => Promise<number>): Promise<number> {
  try {
    return await act();
  } finally {
    if ('ask' in started) await started.end();
    else started.kill('SIGKILL');
  }
}

const CASES: Readonly<Record<string, Case>> = {
  rate20: async (bench) => {
    const perSecond = 20 * NORMAL_PER_SECOND;
    const chatter = await child('./chatter.ts', {
      port: bench.broker.port,
      file: MARRAM,
      perSecond,
      route: 'transfer',
    });
    return during(chatter, async () => {
      let worst = 0;
      for (const endMs = performance.now() + SECONDS * 1_000; performance.now() < endMs; await pause(2_000))
        worst = Math.max(worst, await leak(bench));
      return worst;
    });
  },
  'flood-of-a-level': (bench) =>
    flooded(bench, 'marram/fresh/level', ['{"distance":{"mm":248}}', '{"distance":{"mm":249}}']),
  'flood-of-a-float': (bench) => flooded(bench, 'marram/fresh/high', ['wet', 'dry']),
  'payloads-of-10-MB': async (bench) => {
    const huge = Buffer.alloc(10 * 2 ** 20, 'x');
    for (let nth = 0; nth < 5; nth++) bench.client.publish('marram/fresh/level', huge, { qos: 1 });
    return leak(bench);
  },
  '10-000-topics': async (bench) => {
    for (let nth = 0; nth < 10_000; nth++)
      bench.client.publish(`marram/strange/${nth}/state`, 'on', { qos: 0, retain: true });
    return leak(bench);
  },
  'slow-disk': async (bench) => {
    await bench.service.ask({ do: 'disk', ms: 3_000 });
    const took = await leak(bench);
    await bench.service.ask({ do: 'disk', ms: 0 });
    return took;
  },
  'broker-stands-still': async (bench) => {
    await move(bench);
    process.kill(bench.broker.pid as number, 'SIGSTOP');
    await pause(2 * LINK.provenWithinMs);
    const off = offWithin(bench);
    process.kill(bench.broker.pid as number, 'SIGCONT');
    return off;
  },
  'clock-forward': (bench) => atClock(bench, 86_400_000),
  'clock-back': (bench) => atClock(bench, -86_400_000),
  'tick-beyond-its-bound': async (bench) => {
    await move(bench);
    const off = offWithin(bench);
    await bench.service.ask({ do: 'stall', ms: LINK.tickWithinMs + 1_000 });
    return (await off) - LINK.tickWithinMs - 1_000;
  },
  starved: async (bench) => {
    // The service takes what others leave, as on a computer whose owner does something else with it.
    setPriority(bench.service.pid, 10);
    const loops = Array.from({ length: 2 * availableParallelism() }, () =>
      spawn(process.execPath, ['-e', 'for (;;);'], { stdio: 'ignore' }),
    );
    try {
      await pause(10_000);
      return await leak(bench);
    } finally {
      for (const loop of loops) loop.kill('SIGKILL');
    }
  },
};

async function flooded(bench: Bench, topic: string, payloads: readonly string[]): Promise<number> {
  const messages = payloads.map((payload) => ({ topic, payload }));
  const flood = await child('./flood.ts', { port: bench.broker.port, messages });
  return during(flood, async () => {
    const flooding = flood.ask({ do: 'flood', count: Number.MAX_SAFE_INTEGER, qos: 0, forMs: 8_000 }, 60_000);
    // A failure is told below, where it is waited for.
    flooding.catch(() => {});
    await pause(2_000);
    const took = await leak(bench);
    await flooding;
    return took;
  });
}

async function atClock(bench: Bench, ms: number): Promise<number> {
  await bench.service.ask({ do: 'clock', ms });
  // The service reads the wall clock once a minute.
  await pause(61_000);
  return leak(bench);
}

async function begin(): Promise<Bench> {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  const broker = await mosquitto();
  const service = await child('./service.ts', {
    port: broker.port,
    file: MARRAM,
    stations: 1,
    directory,
    journal: true,
    link: LINK,
    again: { sensor: 'tray-leak', route: 'transfer' },
  });
  const client = await clientOf(broker.port);
  await client.subscribeAsync(PUMP, { qos: 1 });
  await pause(1_500);
  return { broker, service, client, directory };
}

async function end({ broker, service, client, directory }: Bench): Promise<void> {
  await service.end();
  await client.endAsync(true);
  await broker.close();
  rmSync(directory, { recursive: true, force: true });
}

export const measure: Part = async () => {
  const figures: Record<string, Figure> = {};
  const notes: string[] = [];
  let unsafe = 0;
  for (const [name, act] of Object.entries(CASES)) {
    const bench = await begin();
    try {
      await bench.service.ask({ do: 'begin' });
      const tookMs = await act(bench);
      const { ticksLateMs, messages, firstMs, lastMs, rssBytes } = await bench.service.ask<ServiceFigures>(
        { do: 'stats' },
        120_000,
      );
      if (Number.isFinite(tookMs)) figures[`${name}-off`] = figure([tookMs], 'ms');
      else {
        unsafe += 1;
        notes.push(`${name}: the pump was not told to stop within ${PATIENCE_MS / 1_000} s.`);
      }
      figures[`${name}-late-p99`] = figure([quantile(ticksLateMs, 0.99)], 'ms');
      figures[`${name}-memory`] = figure([rssBytes / 2 ** 20], 'MiB');
      if (name === 'rate20')
        figures['rate20-per-second'] = figure([(1_000 * messages) / (lastMs - firstMs)], '1/s');
    } catch (error) {
      unsafe += 1;
      notes.push(`${name}: ${error instanceof Error ? error.message : error}`);
    } finally {
      await end(bench);
    }
  }
  figures['rate20-seconds'] = figure([SECONDS], 's');
  figures.cases = figure([Object.keys(CASES).length], '');
  figures.unsafe = figure([unsafe], '');
  return { figures, notes };
};
