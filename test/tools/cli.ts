// The built command line as a process of its own. `npm test` builds it first.
import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const MAIN = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

export interface Cli {
  readonly child: ChildProcess;
  readonly out: () => string;
  readonly err: () => string;
  /** Null where a signal ended it. */
  readonly code: Promise<number | null>;
  /** Ends it if it still runs. */
  readonly close: () => Promise<void>;
}

/** @param stdin 'pipe' where somebody answers it */
export function cli(
  args: readonly string[],
  environment: Readonly<Record<string, string>> = {},
  stdin: 'ignore' | 'pipe' = 'ignore',
): Cli {
  if (!existsSync(MAIN)) throw new Error('dist/ is missing: npm run build');
  const child = spawn(process.execPath, [MAIN, ...args], {
    env: { ...process.env, ...environment },
    stdio: [stdin, 'pipe', 'pipe'],
  });
  let [out, err] = ['', ''];
  child.stdout?.on('data', (chunk) => {
    out += chunk;
  });
  child.stderr?.on('data', (chunk) => {
    err += chunk;
  });
  const code = new Promise<number | null>((resolve) => child.once('close', (exit) => resolve(exit)));
  return {
    child,
    out: () => out,
    err: () => err,
    code,
    close: async () => {
      if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
      await code;
    },
  };
}
