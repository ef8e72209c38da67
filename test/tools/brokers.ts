// Brokers for tests, each on a free port of 127.0.0.1: the embedded one (MQTT 3.1.1), and a real mosquitto (MQTT 5) where
// it is installed. Where CI is set a missing mosquitto is a failure, elsewhere the tests that need it are skipped.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chmodSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { type AddressInfo, connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startBroker } from '../../src/bridge/broker.ts';

export interface TestBroker {
  readonly port: number;
  /** The process id of a real one. */
  readonly pid: number | undefined;
  readonly close: () => Promise<void>;
}

const MOSQUITTO = ['mosquitto', '/usr/sbin/mosquitto'].find(
  (path) => spawnSync(path, ['-h']).error === undefined,
);

export const hasMosquitto = MOSQUITTO !== undefined;
if (!hasMosquitto && process.env.CI !== undefined)
  throw new Error('mosquitto is not installed: apt-get install mosquitto');
if (!hasMosquitto)
  console.warn('NOTICE: mosquitto is not installed; the tests over a real broker are skipped');

/** A test process that ends in the middle must not leave brokers behind. */
const children = new Set<ChildProcess>();
process.once('exit', () => {
  for (const child of children) child.kill('SIGKILL');
});

export async function embedded(commandTopics: ReadonlySet<string> = new Set()): Promise<TestBroker> {
  return { pid: undefined, ...(await startBroker(0, commandTopics)) };
}

export interface MosquittoOptions {
  readonly passwords?: Readonly<Record<string, string>>;
  /** Lines of its access list. */
  readonly acl?: string;
  readonly port?: number;
  /** As it comes, without `set_tcp_nodelay`: small packets wait for an acknowledgement. */
  readonly nagle?: true;
  /** Lines of its configuration. */
  readonly more?: string;
}

export async function mosquitto(options: MosquittoOptions = {}): Promise<TestBroker> {
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-broker-'));
  chmodSync(directory, 0o755);
  const port = options.port ?? (await freePort());
  const lines = [
    `listener ${port} 127.0.0.1`,
    ...(options.nagle === true ? [] : ['set_tcp_nodelay true']),
    'persistence false',
    options.more ?? '',
  ];
  if (options.passwords === undefined) lines.push('allow_anonymous true');
  else lines.push('allow_anonymous false', `password_file ${passwordFile(directory, options.passwords)}`);
  if (options.acl !== undefined) {
    writeFileSync(join(directory, 'acl'), options.acl, { mode: 0o644 });
    lines.push(`acl_file ${join(directory, 'acl')}`);
  }
  writeFileSync(join(directory, 'mosquitto.conf'), `${lines.join('\n')}\n`, { mode: 0o644 });
  const child = spawn(MOSQUITTO ?? 'mosquitto', ['-c', join(directory, 'mosquitto.conf')], {
    stdio: 'ignore',
  });
  children.add(child);
  await reachable(port);
  return {
    port,
    pid: child.pid,
    close: async () => {
      await ended(child);
      children.delete(child);
      rmSync(directory, { recursive: true, force: true });
    },
  };
}

function passwordFile(directory: string, passwords: Readonly<Record<string, string>>): string {
  const file = join(directory, 'passwords');
  writeFileSync(
    file,
    Object.entries(passwords)
      .map(([user, password]) => `${user}:${password}\n`)
      .join(''),
  );
  spawnSync('mosquitto_passwd', ['-U', file]);
  chmodSync(file, 0o644);
  return file;
}

async function ended(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  await new Promise<void>((resolve) => {
    child.once('exit', () => resolve());
    child.kill('SIGCONT');
    child.kill('SIGTERM');
  });
}

export function freePort(): Promise<number> {
  return new Promise((resolve) => {
    const server = createServer();
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo;
      server.close(() => resolve(port));
    });
  });
}

async function reachable(port: number): Promise<void> {
  for (let attempt = 0; attempt < 2_000; attempt++) {
    const there = await new Promise<boolean>((resolve) => {
      const socket = connect(port, '127.0.0.1', () => {
        socket.destroy();
        resolve(true);
      });
      socket.on('error', () => resolve(false));
    });
    if (there) return;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error(`nothing listens on port ${port}`);
}
