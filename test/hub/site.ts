// The broker of a site as docker/mosquitto.conf sets it up, for real: own ports on 127.0.0.1, own directory, TLS by an own
// authority, the accounts as `wire --accounts` writes them.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { appendFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { writeAccounts } from '../../src/hub/account-files.ts';
import { accountsOf } from '../../src/hub/accounts.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import { passwordLine } from '../../src/hub/mosquitto.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import type { Plant } from '../../src/station/plant.ts';
import { freePort } from '../tools/brokers.ts';
import type { Account } from './rig.ts';

/** One who sees everything; only in tests. */
export const OBSERVER: Account = { username: 'observer', password: 'observer' };

export interface Site {
  readonly directory: string;
  readonly port: number;
  readonly tlsPort: number;
  readonly ca: Buffer;
  readonly account: (name: string) => Account;
  /** What the broker wrote so far. */
  readonly log: () => string;
  readonly as: (name: string | Account, options?: IClientOptions) => Promise<MqttClient>;
  /** A power cut of the broker, and its coming back. */
  readonly crash: () => Promise<void>;
  readonly close: () => Promise<void>;
}

export interface SiteOptions {
  readonly plant: Plant;
  readonly station: Pick<StationFile, 'announce'>;
  /** Lines to leave out of the shipped configuration, to see that they matter. */
  readonly without?: RegExp;
  /** Lines of its own. */
  readonly more?: string;
  readonly moreAcl?: string;
  /** By name, beside those of the station. */
  readonly morePasswords?: Readonly<Record<string, string>>;
  /** Accounts for a simulated water, too. */
  readonly simulated?: boolean;
}

export async function startSite({
  plant,
  station,
  without,
  more = '',
  moreAcl = '',
  morePasswords = {},
  simulated = false,
}: SiteOptions): Promise<Site> {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-site-'));
  for (const name of ['config', 'certs', 'data']) mkdirSync(join(directory, name));
  const config = join(directory, 'config');
  writeAccounts(config, accountsOf(wiringOf(plant, station), simulated), plant.id);
  appendFileSync(join(config, 'acl'), `\nuser ${OBSERVER.username}\ntopic read #\n${moreAcl}`);
  for (const [name, password] of Object.entries({ [OBSERVER.username]: OBSERVER.password, ...morePasswords }))
    appendFileSync(join(config, 'passwords'), `${passwordLine(name, password)}\n`);
  makeCertificates(join(directory, 'certs'));
  const [port, tlsPort] = [await freePort(), await freePort()];
  const shipped = readFileSync(new URL('../../docker/mosquitto.conf', import.meta.url), 'utf8');
  const here = shipped
    .split('\n')
    .filter((line) => without === undefined || !without.test(line))
    .join('\n')
    .replaceAll('/mosquitto/', `${directory}/`)
    .replace('listener 1883', `listener ${port} 127.0.0.1`)
    .replace('listener 8883', `listener ${tlsPort} 127.0.0.1`);
  // Started by root it would change to a user who may not read this directory.
  writeFileSync(join(config, 'mosquitto.conf'), `user root\n${here}\n${more}`);
  const log: string[] = [];
  const tell = (line: string) => log.push(line);
  let child = await started(join(config, 'mosquitto.conf'), port, tell);
  const account = (name: string): Account => ({
    username: name,
    password: readFileSync(join(config, 'secrets', name), 'utf8').trim(),
  });
  const clients: MqttClient[] = [];
  return {
    directory,
    port,
    tlsPort,
    ca: readFileSync(join(directory, 'certs', 'ca.crt')),
    account,
    log: () => log.join(''),
    as: async (name, options = {}) => {
      const client = await mqtt.connectAsync({
        host: '127.0.0.1',
        port,
        protocol: 'mqtt',
        protocolVersion: 5,
        reconnectPeriod: 0,
        ...(typeof name === 'string' ? account(name) : name),
        ...options,
      });
      client.on('error', () => {});
      clients.push(client);
      return client;
    },
    crash: async () => {
      await new Promise<void>((resolve) => {
        child.once('exit', () => resolve());
        child.kill('SIGKILL');
      });
      child = await started(join(config, 'mosquitto.conf'), port, tell);
    },
    close: async () => {
      for (const client of clients) client.end(true);
      await stopped(child);
      rmSync(directory, { recursive: true, force: true });
    },
  };
}

export async function started(
  config: string,
  port: number,
  tell: (words: string) => void = () => {},
): Promise<ChildProcess> {
  const child = spawn('/usr/sbin/mosquitto', ['-c', config], { stdio: ['ignore', 'ignore', 'pipe'] });
  let words = '';
  child.stderr?.on('data', (chunk) => {
    if (words.length < 10_000) words += chunk;
    tell(String(chunk));
  });
  for (let attempt = 0; attempt < 2_000; attempt++) {
    if (child.exitCode !== null) throw new Error(`mosquitto does not start: ${words}`);
    const there = await new Promise<boolean>((resolve) => {
      const socket = connect(port, '127.0.0.1', () => {
        socket.destroy();
        resolve(true);
      });
      socket.on('error', () => resolve(false));
    });
    if (there) return child;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  child.kill('SIGTERM');
  throw new Error(`nothing listens on ${port}: ${words}`);
}

export async function stopped(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  await new Promise<void>((resolve) => {
    child.once('exit', () => resolve());
    child.kill('SIGTERM');
  });
}

/** An authority and a broker's certificate for `localhost`, as docker/README.md tells to make them. */
function makeCertificates(directory: string): void {
  const openssl = (...args: readonly string[]) => {
    const { status, stderr } = spawnSync('openssl', args, { cwd: directory, encoding: 'utf8' });
    if (status !== 0) throw new Error(`openssl ${args.join(' ')}: ${stderr}`);
  };
  openssl(
    'req',
    '-x509',
    '-newkey',
    'ec',
    '-pkeyopt',
    'ec_paramgen_curve:prime256v1',
    '-nodes',
    '-days',
    '30',
    '-subj',
    '/CN=Test authority',
    '-keyout',
    'ca.key',
    '-out',
    'ca.crt',
  );
  openssl(
    'req',
    '-newkey',
    'ec',
    '-pkeyopt',
    'ec_paramgen_curve:prime256v1',
    '-nodes',
    '-subj',
    '/CN=localhost',
    '-keyout',
    'broker.key',
    '-out',
    'broker.csr',
  );
  writeFileSync(join(directory, 'names'), 'subjectAltName=DNS:localhost\n');
  openssl(
    'x509',
    '-req',
    '-in',
    'broker.csr',
    '-CA',
    'ca.crt',
    '-CAkey',
    'ca.key',
    '-CAcreateserial',
    '-days',
    '30',
    '-extfile',
    'names',
    '-out',
    'broker.crt',
  );
}
