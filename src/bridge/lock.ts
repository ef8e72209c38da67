// One instance to a state directory: a file that says who is at work here.
//
// A process id alone proves nothing: ids are used again, in a container every service is number 1, and after a power cut
// the number may belong to anything. So the file also names the computer, which of its starts, and the process's own
// start; from another computer (a shared folder) it counts while somebody keeps touching it.
import {
  linkSync,
  mkdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { Coded, unwritable } from '../errors/coded.ts';
import { LIMITS } from './limits.ts';

export interface Lock {
  /** To be called now and then while the service lives. */
  readonly touch: () => void;
  readonly release: () => void;
}

/** Another instance is at work, or the directory can't be used. */
export class LockError extends Coded {
  override readonly name = 'LockError';
}

interface Holder {
  readonly host: string;
  readonly computerBoot: string | null;
  readonly pid: number;
  /** When the process started, as the system counts it; null where the system does not say. */
  readonly started: string | null;
}

/** @throws LockError */
export function lockDirectory(directory: string): Lock {
  const file = join(directory, 'lock');
  const mine = JSON.stringify(holderOf(process.pid) satisfies Holder);
  const beside = `${file}.${process.pid}`;
  try {
    mkdirSync(directory, { recursive: true });
    writeFileSync(beside, mine);
  } catch (error) {
    throw new LockError('E-401', unwritable('the state directory', directory, error).message, error);
  }
  try {
    for (let attempt = 0; !take(beside, file); attempt++) {
      const holder = readHolder(file);
      if (attempt >= 3 || (holder !== null && isAtWork(holder, file)))
        throw new LockError('E-402', taken(directory, holder));
      // Renaming is what only one of two can do; the other one finds nothing to rename and tries again.
      moveAway(file, `${file}.stale-${process.pid}`);
    }
  } finally {
    rmSync(beside, { force: true });
  }
  return {
    touch: () => {
      try {
        utimesSync(file, new Date(), new Date());
      } catch {
        // Somebody removed it by hand; the next start makes it again.
      }
    },
    release: () => {
      if (readText(file) === mine) rmSync(file, { force: true });
    },
  };
}

function taken(directory: string, holder: Holder | null): string {
  const who = holder === null ? 'somebody' : `process ${holder.pid} on ${holder.host}`;
  return `${who} already runs a station with the state directory ${directory}: stop it, or give another directory with --state`;
}

/** A hard link can be made only where nothing is yet: no two can succeed, and the file is whole from the start. */
function take(beside: string, file: string): boolean {
  try {
    linkSync(beside, file);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw new LockError('E-401', unwritable('the lock of the state directory', file, error).message, error);
  }
}

function moveAway(file: string, aside: string): void {
  try {
    renameSync(file, aside);
    rmSync(aside, { force: true });
  } catch {
    // Another starter was faster.
  }
}

function readHolder(file: string): Holder | null {
  try {
    const { host, computerBoot, pid, started } = JSON.parse(readText(file) ?? '');
    return { host, computerBoot, pid, started };
  } catch {
    return null;
  }
}

function isAtWork(holder: Holder, file: string): boolean {
  const here = holderOf(holder.pid);
  if (holder.host !== here.host) return ageMs(file) < LIMITS.lockStaleMs;
  if (holder.computerBoot !== here.computerBoot) return false;
  return isAlive(holder.pid) && holder.started === here.started;
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Not permitted means that it is there.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

function ageMs(file: string): number {
  try {
    return Date.now() - statSync(file).mtimeMs;
  } catch {
    return Number.POSITIVE_INFINITY;
  }
}

function holderOf(pid: number): Holder {
  return { host: hostname(), computerBoot: computerBoot(), pid, started: startOf(pid) };
}

/** Which start of this computer it is (Linux); null elsewhere. */
export function computerBoot(): string | null {
  return readText('/proc/sys/kernel/random/boot_id')?.trim() ?? null;
}

/** Field 22 of /proc/PID/stat, counted after the name in brackets, which may hold blanks (proc(5)). */
function startOf(pid: number): string | null {
  return (
    readText(`/proc/${pid}/stat`)
      ?.replace(/^.*\)\s/su, '')
      .split(' ')[19] ?? null
  );
}

function readText(file: string): string | null {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    return null;
  }
}
