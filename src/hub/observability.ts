// Whether the service lives, whether it controls, and its numbers: a small HTTP server on this computer only, off unless
// somebody asks for it. It answers GET and HEAD of three paths and nothing else; it can change nothing.
//
// `/healthz` is for whoever would start the service again: the control loop turned lately. A broker that is away is no reason
// to be started again. `/readyz` is for whoever asks whether the station is being looked after: the link is proven, and
// what was asked to be kept (`--state`) is kept: the state, without which nothing new is begun, and the journal, without
// which nobody can tell afterwards what happened. A service that lost its journal still controls; it is not as it should be.
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Effect } from '../control/guard/types.ts';
import type { ToldStatus as Status } from '../control/process/describe.ts';
import { portTrouble } from '../errors/coded.ts';
import type { Plant } from '../station/plant.ts';
import { metricsOf } from './metrics.ts';

export interface ObservabilityOptions {
  readonly plant: Plant;
  /** 0: any free one. */
  readonly port: number;
  /** Since any moment, ms, monotonic. */
  readonly monotonicMs: () => number;
  /** What can't be kept at the moment, in words; empty where all is well. */
  readonly lost: () => readonly string[];
}

export interface Observability {
  readonly port: number;
  /** A step of the core is done and on the wire. */
  readonly turn: (turn: {
    readonly effects: readonly Effect[];
    readonly tick: boolean;
    readonly status: () => Status;
  }) => void;
  readonly link: (up: boolean) => void;
  readonly close: () => Promise<void>;
}

interface Answer {
  readonly code: number;
  readonly type: string;
  readonly body: string;
}

/** @throws Coded when the port is taken. */
export async function startObservability(options: ObservabilityOptions): Promise<Observability> {
  const { plant, monotonicMs, lost } = options;
  const metrics = metricsOf(plant);
  let tickedMs = monotonicMs();
  let status: (() => Status) | null = null;
  const tickAgeMs = () => Math.max(0, monotonicMs() - tickedMs);

  const answers: Readonly<Record<string, () => Answer | Promise<Answer>>> = {
    '/healthz': () => verdict(healthTroubles(tickAgeMs(), plant)),
    '/readyz': () =>
      verdict([...healthTroubles(tickAgeMs(), plant), ...readyTroubles(status?.() ?? null), ...lost()]),
    '/metrics': async () => ({
      code: 200,
      type: metrics.contentType,
      body: await metrics.text(status?.() ?? null, tickAgeMs()),
    }),
  };
  const server = createServer((request, response) => void respond(request, response, answers));
  server.headersTimeout = 5000;
  server.requestTimeout = 5000;
  server.maxConnections = 20;
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) =>
      reject(portTrouble('the numbers for machines', options.port, '--observe', error)),
    );
    server.listen(options.port, '127.0.0.1', resolve);
  });
  return {
    port: (server.address() as AddressInfo).port,
    turn: (turn) => {
      metrics.step();
      metrics.effects(turn.effects);
      status = turn.status;
      if (turn.tick) tickedMs = monotonicMs();
    },
    link: (up) => metrics.link(up),
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}

/** Two late ticks in a row: one may be the garbage collector or a busy disk. */
function healthTroubles(ageMs: number, { link }: Plant): readonly string[] {
  return ageMs <= 2 * link.tickWithinMs ? [] : [`no control tick for ${(ageMs / 1000).toFixed(1)} s`];
}

function readyTroubles(status: Status | null): readonly string[] {
  return status?.link.proven === true ? [] : ['the connection to the broker is not confirmed'];
}

function verdict(troubles: readonly string[]): Answer {
  const body = `${JSON.stringify({ ok: troubles.length === 0, troubles })}\n`;
  return { code: troubles.length === 0 ? 200 : 503, type: 'application/json', body };
}

async function respond(
  { url = '', method = '' }: IncomingMessage,
  response: ServerResponse,
  answers: Readonly<Record<string, () => Answer | Promise<Answer>>>,
): Promise<void> {
  const path = url.split('?')[0] ?? '';
  const answer = Object.hasOwn(answers, path) ? answers[path] : undefined;
  const { code, type, body } =
    answer === undefined
      ? { code: 404, type: 'text/plain', body: `here are ${Object.keys(answers).join(', ')}\n` }
      : method === 'GET' || method === 'HEAD'
        ? await answer()
        : { code: 405, type: 'text/plain', body: 'only GET and HEAD\n' };
  response.writeHead(code, {
    'content-type': type,
    'cache-control': 'no-store',
    'content-length': Buffer.byteLength(body),
  });
  response.end(method === 'HEAD' ? '' : body);
}
