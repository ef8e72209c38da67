// The command `fleet`: one page about all stations whose uplinks reach a central broker. It hears, and publishes nothing.
import { randomBytes } from 'node:crypto';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Command } from 'commander';
import { portTrouble, wordsOf } from '../errors/coded.ts';
import { type Fleet, fleetOf, HEARD } from '../hub/fleet.ts';
import { earAt } from '../hub/listen.ts';
import { accessOf, addBrokerOptions, type BrokerGiven } from './broker-options.ts';
import { fleetPage } from './fleet-page.ts';
import { duration, wholeNumber } from './values.ts';

interface Given extends BrokerGiven {
  readonly port: number;
  readonly for?: number;
}

const AGAIN_MS = 5000;

/** Adds `fleet` to the program. */
export function addFleet(program: Command): void {
  const command = program
    .command('fleet')
    .description(
      'Shows many stations of a central broker on one page: which needs a person, what for, since when',
    )
    .option('--port <n>', 'of the page, on this computer only; 0 takes any free one', wholeNumber(), 8091)
    .option('--for <duration>', 'ends after so long; without it, at a signal', duration('366 d'));
  addBrokerOptions(command)
    .addHelpText('after', HELP)
    .action(async (given: Given) => {
      await show(given);
    });
}

const HELP = `
Examples:
  $ vatwarden fleet --broker mqtt://127.0.0.1:1883 --port 0 --for '2 s'
Stations come there by the uplinks that \`vatwarden wire --uplink\` prints. Nothing is published: control stays with each
station. The page is at / and the same as JSON at /stations.json, for this computer only; put it behind a door of your own.
Exit code 0: it was ended; 2: the call can't be used, or the port is taken; 3: no broker at the start.`;

async function show(given: Given): Promise<void> {
  const access = accessOf(given, `vatwarden-fleet-${randomBytes(3).toString('hex')}`);
  const fleet = fleetOf(Date.now());
  const stop = new AbortController();
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => stop.abort());
  if (given.for !== undefined) setTimeout(() => stop.abort(), given.for);
  // The first connection says at once what is wrong with the call; later ones are tried for again and again.
  let client = await hears(access, fleet);
  const server = await serve(fleet, given.port);
  process.stdout.write(`the fleet is at http://127.0.0.1:${(server.address() as AddressInfo).port}\n`);
  while (!stop.signal.aborted) {
    await Promise.race([gone(client), aborted(stop.signal)]);
    fleet.connected(false, Date.now());
    await client.endAsync(true);
    for (let isBack = false; !isBack && !stop.signal.aborted; ) {
      await Promise.race([
        aborted(stop.signal),
        new Promise((resolve) => setTimeout(resolve, AGAIN_MS).unref()),
      ]);
      if (stop.signal.aborted) break;
      try {
        client = await hears(access, fleet);
        isBack = true;
      } catch (error) {
        process.stderr.write(`fleet: ${wordsOf(error)}; trying again\n`);
      }
    }
  }
  await client.endAsync(true);
  server.closeAllConnections();
  server.close();
}

type Client = Awaited<ReturnType<typeof earAt>>;

async function hears(access: Parameters<typeof earAt>[0], fleet: Fleet): Promise<Client> {
  const client = await earAt(access, HEARD, (topic, payload) => fleet.hear(topic, payload, Date.now()));
  fleet.connected(true, Date.now());
  return client;
}

const gone = (client: Client): Promise<void> =>
  new Promise((resolve) => client.once('close', () => resolve()));
const aborted = (signal: AbortSignal): Promise<void> =>
  new Promise((resolve) => {
    if (signal.aborted) resolve();
    signal.addEventListener('abort', () => resolve());
  });

async function serve(fleet: Fleet, port: number) {
  const server = createServer(({ url, method }, response) => {
    const nowMs = Date.now();
    const isPage = url === '/';
    const body = isPage ? fleetPage(fleet.shown(nowMs), nowMs) : JSON.stringify(fleet.shown(nowMs));
    const isKnown = (isPage || url === '/stations.json') && (method === 'GET' || method === 'HEAD');
    response.writeHead(isKnown ? 200 : 404, {
      'content-type': isPage ? 'text/html; charset=utf-8' : 'application/json',
      'cache-control': 'no-store',
      'x-content-type-options': 'nosniff',
      'content-security-policy': "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
    });
    response.end(isKnown && method === 'GET' ? body : '');
  });
  server.headersTimeout = 5000;
  server.requestTimeout = 5000;
  server.maxConnections = 50;
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(portTrouble('the page', port, '--port', error)));
    server.listen(port, '127.0.0.1', resolve);
  });
  return server;
}
