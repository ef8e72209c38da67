// What the service takes of a small computer that carries it beside everything else: the time from its start to the first
// `off` on the wire, memory and processor at rest, and what an installation weighs.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { mosquitto } from '../../tools/brokers.ts';
import { child, pause } from '../tools/children.ts';
import { clientOf } from '../tools/clients.ts';
import { type Figure, figure, type Part, ratio } from '../tools/figures.ts';
import { MARRAM } from '../tools/stations.ts';

const BARE = fileURLToPath(new URL('../tools/bare.mjs', import.meta.url));

async function end(process: ChildProcess): Promise<void> {
  if (process.exitCode !== null || process.signalCode !== null) return;
  const exit = once(process, 'exit');
  process.kill('SIGKILL');
  await exit;
}

/** Milliseconds of processor time that a process has used, in steps of ten. */
function cpuMs({ pid }: ChildProcess): number {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
  return 10 * (Number(fields[11]) + Number(fields[12]));
}

function residentMiB({ pid }: ChildProcess): number {
  return Number(/VmRSS:\s+(\d+)/u.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1]) / 1_024;
}

export const measure: Part = async (size) => {
  if (!existsSync('/proc/self/stat')) throw new Error('processes are looked at by way of /proc: Linux only');
  const [starts, restS] = size === 'whole' ? [9, 30] : [4, 0];
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  const broker = await mosquitto();
  const spy = await clientOf(broker.port);
  await spy.subscribeAsync('marram/+/+/set', { qos: 1 });
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const started: ChildProcess[] = [];
  const startMs = { service: [] as number[], bare: [] as number[] };
  const startCpu = { service: [] as number[], bare: [] as number[] };
  try {
    for (let nth = 0; nth < starts; nth++) {
      const state = join(directory, `state-${nth}`);
      const fromMs = performance.now();
      const off = new Promise<number>((resolve) =>
        spy.once('message', () => resolve(performance.now() - fromMs)),
      );
      const args = ['dist/cli/main.js', 'run', MARRAM, '--broker', url, '--state', state];
      const service = spawn(process.execPath, args, { stdio: 'ignore' });
      started.push(service);
      startMs.service.push(await off);
      startCpu.service.push(cpuMs(service));
      await end(service);
      const bareMs = performance.now();
      const bare = spawn(process.execPath, [BARE], { stdio: ['ignore', 'pipe', 'inherit'] });
      started.push(bare);
      await once(bare.stdout, 'data');
      startMs.bare.push(performance.now() - bareMs);
      startCpu.bare.push(cpuMs(bare));
      await end(bare);
      await pause(300);
    }
    const figures: Record<string, Figure> = {
      start: figure(startMs.service, 'ms'),
      'bare-start': figure(startMs.bare, 'ms'),
      'start-cpu': figure(startCpu.service, 'ms'),
      'bare-start-cpu': figure(startCpu.bare, 'ms'),
      'start-by-bare': ratio(startCpu.service, startCpu.bare),
    };
    if (restS > 0) Object.assign(figures, await atRest(broker.port, directory, started, restS), weight());
    return { figures };
  } finally {
    for (const process of started) await end(process);
    await spy.endAsync(true);
    await broker.close();
    rmSync(directory, { recursive: true, force: true });
  }
};

/** Linked, every device repeating itself as often as its file says, no water moving for want of anybody asking. */
async function atRest(port: number, directory: string, started: ChildProcess[], seconds: number) {
  const args = ['--broker', `mqtt://127.0.0.1:${port}`, '--state', join(directory, 'rest')];
  const service = spawn(process.execPath, ['dist/cli/main.js', 'run', MARRAM, ...args], { stdio: 'ignore' });
  const bare = spawn(process.execPath, [BARE], { stdio: 'ignore' });
  started.push(service, bare);
  const chatter = await child('./chatter.ts', { port, file: MARRAM, perSecond: 1 / 30, route: 'transfer' });
  await pause(10_000);
  const shares: number[] = [];
  for (let nth = 0; nth < 3; nth++) {
    const [before, fromMs] = [cpuMs(service), performance.now()];
    await pause((seconds * 1_000) / 3);
    shares.push((100 * (cpuMs(service) - before)) / (performance.now() - fromMs));
  }
  await chatter.end();
  return {
    'cpu-at-rest': figure(shares, '% of a processor'),
    memory: figure([residentMiB(service)], 'MiB'),
    'bare-memory': figure([residentMiB(bare)], 'MiB'),
    'memory-by-bare': figure([residentMiB(service) / residentMiB(bare)], 'x'),
  };
}

/** Bytes of files, without what lies below `node_modules` and what a compiler left behind. */
function bytesIn(folder: string, leaveOut: (name: string) => boolean): number {
  return readdirSync(folder, { withFileTypes: true }).reduce((sum, entry) => {
    const path = join(folder, entry.name);
    if (leaveOut(entry.name)) return sum;
    return sum + (entry.isDirectory() ? bytesIn(path, leaveOut) : entry.isFile() ? statSync(path).size : 0);
  }, 0);
}

/** Where there is a ready-made database driver, `build` holds the driver alone; here it may have been compiled. */
const isCompilers = (name: string): boolean =>
  ['node_modules', 'obj', 'obj.target', '.deps', 'test_extension.node'].includes(name) || name.endsWith('.a');

function weight(): Record<string, Figure> {
  const { stdout } = spawnSync('npm', ['ls', '--omit=dev', '--all', '--parseable'], { encoding: 'utf8' });
  const folders = [...new Set(stdout.trim().split('\n').slice(1))].filter((folder) => existsSync(folder));
  if (folders.length === 0) throw new Error('npm ls names no dependency');
  const dependencies = folders.reduce((sum, folder) => sum + bytesIn(folder, isCompilers), 0) / 1e6;
  const own = ['dist', 'schemas'].reduce((sum, folder) => sum + bytesIn(folder, () => false), 0) / 1e6;
  const heaviest = folders
    .map((folder) => [basename(folder), bytesIn(folder, isCompilers) / 1e6] as const)
    .toSorted(([, a], [, b]) => b - a)
    .slice(0, 5)
    .map(([name, megabytes]) => [`of-which-${name}`, figure([megabytes], 'MB')]);
  return {
    installed: figure([dependencies + own], 'MB'),
    dependencies: figure([dependencies], 'MB'),
    own: figure([own], 'MB'),
    ...Object.fromEntries(heaviest),
  };
}
