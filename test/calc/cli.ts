// The built command, as a person or a script runs it. Built when missing or older than its sources.
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const MAIN = join(ROOT, 'dist/cli/main.js');

function newest(folder: string): number {
  return Math.max(
    ...readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => statSync(join(entry.parentPath, entry.name)).mtimeMs),
  );
}

/** Builds when that is due. The age of the whole output is judged: an untouched file keeps its age. */
export function build(): void {
  if (existsSync(MAIN) && newest(join(ROOT, 'dist')) >= newest(join(ROOT, 'src'))) return;
  execFileSync('npx', ['tsc', '-p', 'src'], { cwd: ROOT });
}

export interface Run {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

export function vatwarden(args: readonly string[], input = ''): Run {
  const { status, stdout, stderr } = spawnSync(process.execPath, [MAIN, ...args], {
    input,
    encoding: 'utf8',
  });
  return { status, out: stdout, err: stderr };
}
