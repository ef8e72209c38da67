// The packed release, as npm makes it, and what an installation of it needs on this machine.
import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../../', import.meta.url));
/** Whom the system lets do the least. */
export const NOBODY = 65_534;
export const isRoot = process.getuid?.() === 0;

/** @throws Error with what the command said */
export function ran(command: string, args: readonly string[], cwd: string): string {
  const { status, stdout, stderr } = spawnSync(command, args, { cwd, encoding: 'utf8' });
  if (status !== 0) throw new Error(`${command} ${args.join(' ')}: ${stderr}`);
  return stdout;
}

/** The name of the tarball that then lies in the directory. */
export function packedInto(directory: string): string {
  ran('npm', ['pack', '--ignore-scripts', '--pack-destination', directory], ROOT);
  return readdirSync(directory).find((name) => name.endsWith('.tgz')) ?? '';
}

/** The production dependencies of the lock file in the folder, without the network where `npm ci` has just been. */
export function installedIn(app: string): void {
  ran('npm', ['ci', '--omit=dev', '--ignore-scripts', '--prefer-offline', '--no-audit'], app);
}
