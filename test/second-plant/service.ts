// The real service as a process: started, killed, stopped and started again. Between two starts time passes by the plant's
// clock and hardly any by the computer's, so the saved stamp is moved back by what passed: the service then knows its gap.
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

export interface ServiceOptions {
  readonly url: string;
  readonly state: string;
  /** What is run: the built product, or a copy of it that lacks something. */
  readonly main: string;
  readonly station: string;
  /** Interlock rows that are taken away. */
  readonly rowsOut: readonly string[];
}

export class Service {
  lines = '';
  log = '';
  readonly #options: ServiceOptions;
  #child: ChildProcess | null = null;

  constructor(options: ServiceOptions) {
    this.#options = options;
  }

  start(): void {
    const { url, state, main, station, rowsOut } = this.#options;
    const without = rowsOut.length > 0 ? ['--import', './test/second-plant/rows-out.mjs'] : [];
    const child = spawn(
      process.execPath,
      [...without, main, 'run', station, '--broker', url, '--state', state, '--time', 'topic'],
      { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ROWS_OUT: rowsOut.join(',') } },
    );
    child.stdout?.on('data', (chunk) => {
      this.lines += chunk;
    });
    child.stderr?.on('data', (chunk) => {
      this.log += chunk;
    });
    this.#child = child;
  }

  get isGone(): boolean {
    return this.#child === null || this.#child.exitCode !== null || this.#child.signalCode !== null;
  }

  async end(signal: 'SIGKILL' | 'SIGTERM'): Promise<number | null> {
    const child = this.#child;
    if (child === null || this.isGone) return child?.exitCode ?? null;
    const exit = once(child, 'exit');
    child.kill(signal);
    const timer = setTimeout(() => child.kill('SIGKILL'), 15_000);
    await exit;
    clearTimeout(timer);
    return child.exitCode;
  }

  /** So much passed on the plant while the service was away. */
  age(awayMs: number): void {
    const file = join(this.#options.state, 'state.json');
    if (!existsSync(file)) return;
    const saved = JSON.parse(readFileSync(file, 'utf8')) as {
      stamp: { monotonicMs: number; wallMs: number };
    };
    saved.stamp.monotonicMs -= awayMs;
    saved.stamp.wallMs -= awayMs;
    writeFileSync(file, JSON.stringify(saved));
  }
}
