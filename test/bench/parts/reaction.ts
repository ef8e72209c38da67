// From a leak sensor's message to the `off` that follows from it, through a real broker, with the state file and the journal
// on; against a client that does nothing but answer, on the same broker. Blocks of rounds in turn, so that what else
// the machine does falls on all of them alike.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MqttClient } from 'mqtt';
import { mosquitto } from '../../tools/brokers.ts';
import { type Child, child, pause } from '../tools/children.ts';
import { clientOf } from '../tools/clients.ts';
import { figure, type Part, quantile, ratio } from '../tools/figures.ts';
import type { ServiceFigures } from '../tools/service.ts';
import { MARRAM, plantOf } from '../tools/stations.ts';

const plant = plantOf(MARRAM);
const LEAK = 'marram/tray/leak';
const PUMP = 'marram/pumps/transfer/set';
const OFF = '{"output":false}';
const ECHOED = 'bench/echo/set';
const topics = [
  ...new Set(Object.values(plant.sensors).map(({ topic }) => topic)),
  ...new Set(Object.values(plant.actuators).map(({ command }) => command.topic)),
];

/** One way of answering: who, and where the answer is to be heard. */
interface Way {
  readonly answer: string;
  readonly client: MqttClient;
  readonly tookMs: number[][];
}

async function block({ client, answer, tookMs }: Way, rounds: number): Promise<void> {
  const took: number[] = [];
  for (let round = 0; round < rounds; round++) {
    await client.publishAsync(LEAK, 'DRY', { qos: 1 });
    // Neither in step with the service's own quarter of a second, nor while it writes down the round before.
    await pause(8 + Math.random() * 12);
    const answered = new Promise<number>((resolve) => {
      const hear = (topic: string, payload: Buffer) => {
        if (topic !== answer || payload.toString() !== OFF) return;
        client.off('message', hear);
        resolve(performance.now());
      };
      client.on('message', hear);
    });
    const sentMs = performance.now();
    client.publish(LEAK, 'WET', { qos: 1 });
    took.push((await answered) - sentMs);
  }
  tookMs.push(took);
}

export const measure: Part = async (size) => {
  const [blocks, rounds] = size === 'whole' ? [6, 250] : [3, 60];
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  const [fast, slow] = await Promise.all([mosquitto(), mosquitto({ nagle: true })]);
  const children: Child[] = [];
  const begin = async (file: string, options: object) => {
    const started = await child(file, options);
    children.push(started);
    return started;
  };
  const echo = {
    listenTo: topics,
    wet: { topic: LEAK, payload: 'WET' },
    off: { topic: ECHOED, payload: OFF },
  };
  try {
    const service = await begin('./service.ts', {
      port: fast.port,
      file: MARRAM,
      stations: 1,
      directory,
      journal: true,
      again: { sensor: 'tray-leak', route: 'transfer' },
    });
    await begin('./echo.ts', { port: fast.port, fast: true, ...echo });
    await begin('./echo.ts', { port: slow.port, fast: false, ...echo });
    const client = await clientOf(fast.port);
    await client.subscribeAsync([PUMP, ECHOED], { qos: 1 });
    const plain = await clientOf(slow.port, false);
    await plain.subscribeAsync([ECHOED], { qos: 1 });
    // The link of the service is proven, and the compilers of all three have seen the path.
    await pause(2_000);
    const way = (answer: string, by: MqttClient = client): Way => ({ answer, client: by, tookMs: [] });
    const warm = [way(PUMP), way(ECHOED)];
    for (const one of warm) await block(one, rounds);
    await service.ask({ do: 'begin' });
    const idle = [way(PUMP), way(ECHOED)] as const;
    const busy = [way(PUMP), way(ECHOED)] as const;
    const defaults = way(ECHOED, plain);
    for (let nth = 0; nth < blocks; nth++) {
      for (const one of idle) await block(one, rounds);
      await block(defaults, 15);
    }
    const { insideUs } = await service.ask<ServiceFigures>({ do: 'stats' });
    const chatter = await begin('./chatter.ts', {
      port: fast.port,
      file: MARRAM,
      perSecond: 10,
      route: 'transfer',
    });
    for (let nth = 0; nth < blocks; nth++) for (const one of busy) await block(one, rounds);
    await chatter.end();
    await client.endAsync(true);
    await plain.endAsync(true);
    const inside = [0.5, 0.99].map((share) => [
      `inside-p${share * 100}`,
      figure([quantile(insideUs, share)], 'us'),
    ]);
    return { figures: { ...figuresOf({ idle, busy, defaults }), ...Object.fromEntries(inside) } };
  } finally {
    for (const one of children) await one.end();
    await fast.close();
    await slow.close();
    rmSync(directory, { recursive: true, force: true });
  }
};

interface Ways {
  readonly idle: readonly [Way, Way];
  readonly busy: readonly [Way, Way];
  readonly defaults: Way;
}

function figuresOf({ idle, busy, defaults }: Ways) {
  const at = ({ tookMs }: Way, share: number) => tookMs.map((took) => quantile(took, share));
  const named = { idle, busy };
  const figures = Object.entries(named).flatMap(([name, [station, echo]]) =>
    [0.5, 0.99].flatMap((share) => {
      const p = `p${share * 100}`;
      return [
        [`${name}-${p}`, figure(at(station, share), 'ms')],
        [`${name}-echo-${p}`, figure(at(echo, share), 'ms')],
        [`${name}-${p}-by-echo`, ratio(at(station, share), at(echo, share))],
      ] as const;
    }),
  );
  return {
    ...Object.fromEntries(figures),
    'defaults-p50': figure(at(defaults, 0.5), 'ms'),
    'faster-than-defaults': ratio(at(defaults, 0.5), at(idle[0], 0.5)),
  };
}
