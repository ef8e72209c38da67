// Runs one part in a process of its own, with an end to its patience; whatever the part started ends with it.
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Measured, Size } from './tools/figures.ts';

const path = (file: string) => fileURLToPath(new URL(file, import.meta.url));

/** @throws Error with what the part said last, where it failed or took too long */
export async function runPart(
  part: string,
  size: Size,
  withinS: number,
  environment: NodeJS.ProcessEnv = {},
): Promise<Measured> {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  const out = join(folder, 'out.json');
  // A young generation in which nothing is collected while a few thousand steps are counted; see parts/core.ts.
  const node =
    part === 'core' ? ['--expose-gc', '--min-semi-space-size=128', '--max-semi-space-size=128'] : [];
  const child = spawn(
    process.execPath,
    [...node, '--import', path('./tools/typescript.mjs'), path('./one.ts'), part, size, out],
    { stdio: ['ignore', 'inherit', 'pipe'], detached: true, env: { ...process.env, ...environment } },
  );
  const group = -(child.pid as number);
  const kill = (signal: NodeJS.Signals) => {
    try {
      process.kill(group, signal);
    } catch {
      // It has gone by itself.
    }
  };
  const leave = () => kill('SIGKILL');
  process.once('exit', leave);
  let said = '';
  child.stderr.on('data', (chunk) => {
    said = `${said}${chunk}`.slice(-2_000);
    process.stderr.write(chunk);
  });
  try {
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      kill('SIGTERM');
      setTimeout(leave, 3_000).unref();
    }, withinS * 1_000);
    const code = await new Promise<number | null>((resolve) => child.once('exit', resolve));
    clearTimeout(timer);
    if (late) throw new Error(`it took longer than ${withinS} s`);
    if (code !== 0) throw new Error(said.match(/^\w*Error: .*$/mu)?.[0] ?? `it ended with ${code}`);
    return JSON.parse(readFileSync(out, 'utf8'));
  } finally {
    kill('SIGKILL');
    process.off('exit', leave);
    rmSync(folder, { recursive: true, force: true });
  }
}
