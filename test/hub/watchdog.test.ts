// The service manager's watchdog: unit by unit, and the real service against a stand-in for the manager's socket.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { watchdogOf } from '../../src/hub/watchdog.ts';
import { until } from '../bridge/rig.ts';
import { embedded } from '../tools/brokers.ts';

const begin = (environment: Record<string, string>, slow = false) => {
  let nowMs = 0;
  const sent: string[] = [];
  const failures: string[] = [];
  let finish: (failure: string | null) => void = () => {};
  const watchdog = watchdogOf({
    environment,
    monotonicMs: () => nowMs,
    failed: (words) => failures.push(words),
    send: (lines, done) => {
      sent.push(lines.join(' '));
      if (slow) finish = done;
      else done(null);
    },
  });
  return {
    sent,
    failures,
    watchdog,
    finish: (failure: string | null) => finish(failure),
    ticks: (count: number, everyMs = 250) => {
      for (let tick = 0; tick < count; tick++) {
        nowMs += everyMs;
        watchdog.ticked();
      }
    },
    pass: (ms: number) => {
      nowMs += ms;
    },
  };
};
const MANAGED = { NOTIFY_SOCKET: '/run/x', WATCHDOG_USEC: '30000000' };

describe('what the manager hears', () => {
  it('is nothing where there is none', () => {
    const { sent, ticks, watchdog } = begin({});
    ticks(100);
    watchdog.stopping();
    expect(sent).toEqual([]);
  });

  it('is ready and alive with the first completed tick, and alive at a third of its patience', () => {
    const { sent, ticks } = begin(MANAGED);
    ticks(1);
    expect(sent).toEqual(['READY=1 WATCHDOG=1']);
    ticks(120);
    expect(sent.slice(1)).toEqual(['WATCHDOG=1', 'WATCHDOG=1', 'WATCHDOG=1']);
  });

  it('is nothing while no tick is completed, however long', () => {
    const { sent, ticks, pass, watchdog } = begin(MANAGED);
    ticks(1);
    pass(3_600_000);
    watchdog.says('link down');
    expect(sent).toHaveLength(1);
  });

  it('is a line for people with the next tick, and never a line break that would be a message of its own', () => {
    const { sent, ticks, watchdog } = begin(MANAGED);
    ticks(1);
    watchdog.says('link down:\nWATCHDOG=1');
    ticks(1);
    expect(sent[1]).toBe('WATCHDOG=1 STATUS=link down: WATCHDOG=1');
  });

  it('without a watchdog is ready once, and words when there are any', () => {
    const { sent, ticks, watchdog } = begin({ NOTIFY_SOCKET: '/run/x' });
    ticks(1000);
    expect(sent).toEqual(['READY=1 WATCHDOG=1']);
    watchdog.says('x');
    ticks(10);
    expect(sent).toHaveLength(2);
  });

  it('is not asked of the process whose watchdog it is not', () => {
    const { sent, ticks } = begin({ ...MANAGED, WATCHDOG_PID: '1' });
    ticks(1000);
    expect(sent).toHaveLength(1);
  });

  it('is one message at a time, and a manager that does not take them is told of once', () => {
    const { sent, failures, ticks, finish } = begin(MANAGED, true);
    ticks(1000);
    expect(sent).toHaveLength(1);
    finish('no such socket');
    ticks(1000);
    finish('no such socket');
    ticks(1);
    expect(failures).toEqual(['no such socket']);
    expect(sent.length).toBeLessThanOrEqual(3);
  });
});

const tools = ['systemd-notify', 'python3'].every(
  (tool) => spawnSync(tool, ['--version']).error === undefined,
);
if (!tools)
  console.warn('NOTICE: systemd-notify or python3 is not installed; the watchdog is not tried on a socket');

describe.runIf(tools)('the service under a manager', () => {
  const ROOT = fileURLToPath(new URL('../../', import.meta.url));
  const children: ChildProcess[] = [];
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-notify-'));
  afterEach(async () => {
    for (const child of children.splice(0)) {
      if (child.exitCode !== null || child.signalCode !== null) continue;
      const gone = new Promise((resolve) => child.once('exit', resolve));
      child.kill('SIGCONT');
      child.kill('SIGKILL');
      await gone;
    }
    rmSync(directory, { recursive: true, force: true });
  });

  /** What systemd's side of the socket is: a datagram socket, each message a few lines. */
  const LISTEN = `
import socket, sys
s = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
s.bind(sys.argv[1])
print('bound', flush=True)
while True: print(s.recv(4096).decode().replace(chr(10), ' '), flush=True)
`;

  it('says ready after its first tick, alive while the loop turns, nothing while it stands still, and stopping', async () => {
    const socket = join(directory, 'notify');
    const heard: string[] = [];
    const manager = spawn('python3', ['-c', LISTEN, socket]);
    children.push(manager);
    manager.stdout.on('data', (chunk) => heard.push(...String(chunk).trim().split('\n')));
    await until(() => heard.includes('bound'), 'the socket');
    const broker = await embedded();
    const service = spawn(
      process.execPath,
      [
        'dist/cli/main.js',
        'run',
        'schemas/examples/one-vat.json',
        '--broker',
        `mqtt://127.0.0.1:${broker.port}`,
        '--mqtt',
        '3.1.1',
      ],
      {
        cwd: ROOT,
        env: { ...process.env, NOTIFY_SOCKET: socket, WATCHDOG_USEC: '1500000' },
        stdio: 'ignore',
      },
    );
    children.push(service);
    const alive = () => heard.filter((line) => line.includes('WATCHDOG=1')).length;
    await until(() => heard.some((line) => line.includes('READY=1')), 'ready');
    await until(() => alive() >= 4, 'alive');
    await until(
      () => heard.some((line) => line.includes('STATUS=link to the broker proven')),
      'the line for people',
      300_000,
    );
    service.kill('SIGSTOP');
    await new Promise((resolve) => setTimeout(resolve, 600));
    const before = alive();
    await new Promise((resolve) => setTimeout(resolve, 2000));
    expect(alive()).toBe(before);
    service.kill('SIGCONT');
    await until(() => alive() > before, 'alive again');
    const ended = new Promise((resolve) => service.once('exit', resolve));
    service.kill('SIGTERM');
    await until(() => heard.some((line) => line.includes('STOPPING=1')), 'stopping');
    await ended;
    await broker.close();
  });
});
