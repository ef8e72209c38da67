// The state directory: one file, replaced whole. What is in it survives a power cut at any moment.
//
// Written beside, flushed, renamed over, directory flushed: after a cut there is the old file or the new one, never half
// of one. Newest wins: while one is being written, only the last of those that come meanwhile is written next.
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, renameSync } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import { join } from 'node:path';
import { Coded, unreadable } from '../errors/coded.ts';
import { isMessage, type Message, message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import { plumbingOf } from '../station/plumbing.ts';

/** Of the file's own form, the state's shape included. Another one is not read. */
const VERSION = 3;

/** Of one that lies in a backup: no release goes on from it, not even one that never heard of backups. */
const BACKUP = 'backup';

/** Where in time a snapshot was taken; see gapOf. */
export interface Stamp {
  /** Which start of the computer; null where the system does not say. */
  readonly computerBoot: string | null;
  readonly monotonicMs: number;
  readonly wallMs: number;
}

interface Snapshot {
  readonly version: number;
  readonly plantHash: string;
  readonly plumbingHash: string;
  readonly stamp: Stamp;
  /** Of the state's text: a bit that fell over on a worn card is no state. */
  readonly digest: string;
  readonly state: unknown;
}

export type Loaded =
  /** And no trace of an earlier run. */
  | { readonly found: 'nothing' }
  | {
      readonly found: 'state';
      readonly state: unknown;
      readonly stamp: Stamp;
      readonly isSamePlant: boolean;
      readonly isSamePlumbing: boolean;
    }
  /** Or gone, beside a history. */
  | { readonly found: 'unusable'; readonly why: Message };

/** Saving failed for good at the start: a service that can't remember must not run. */
export class KeeperError extends Coded {
  override readonly name = 'KeeperError';
}

export interface Keeper {
  readonly load: () => Loaded;
  /** Keeps a file that can't be used under another name, which it returns; null where there is none. */
  readonly putAside: () => string | null;
  /** True once this state, or a newer one, is durable; false where writing failed. Never rejects. */
  readonly save: (state: unknown) => Promise<boolean>;
}

interface Hashes {
  readonly plantHash: string;
  readonly plumbingHash: string;
}

const hashOf = (plain: unknown): string => digestOf(JSON.stringify(plain));

/** @param directory must be there; see lock.ts. */
export function keeperOf(directory: string, plant: Plant, stamp: () => Stamp): Keeper {
  const file = join(directory, 'state.json');
  const hashes = { plantHash: hashOf(plant), plumbingHash: hashOf(plumbingOf(plant)) };
  let next: { state: unknown; tellers: ((durable: boolean) => void)[] } | null = null;
  let writing = false;

  const work = async (): Promise<void> => {
    if (writing) return;
    writing = true;
    for (let job = next; job !== null; job = next) {
      next = null;
      const durable = await write(directory, file, textOf(job.state, hashes, stamp()));
      for (const tell of job.tellers) tell(durable);
    }
    writing = false;
  };

  return {
    load: () => load(directory, file, hashes),
    putAside: () => {
      if (!existsSync(file)) return null;
      const aside = file.replace(
        /\.json$/u,
        `.unusable-${digestOf(readFileSync(file, 'utf8')).slice(0, 8)}.json`,
      );
      renameSync(file, aside);
      return aside;
    },
    save: (state) =>
      new Promise((tell) => {
        next = { state, tellers: [...(next?.tellers ?? []), tell] };
        void work();
      }),
  };
}

function textOf(state: unknown, hashes: Hashes, stamp: Stamp): string {
  const digest = digestOf(JSON.stringify(state));
  return JSON.stringify({ version: VERSION, ...hashes, stamp, digest, state } satisfies Snapshot);
}

async function write(directory: string, file: string, text: string): Promise<boolean> {
  try {
    const beside = await open(`${file}.new`, 'w', 0o600);
    try {
      await beside.writeFile(text);
      await beside.sync();
    } finally {
      await beside.close();
    }
    await rename(`${file}.new`, file);
    const folder = await open(directory, 'r');
    await folder.sync().finally(() => folder.close());
    return true;
  } catch {
    return false;
  }
}

function load(directory: string, file: string, { plantHash, plumbingHash }: Hashes): Loaded {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT')
      return hasPast(directory) ? { found: 'unusable', why: message('state-missing') } : { found: 'nothing' };
    throw new KeeperError('E-403', unreadable('the state file', file, error).message, error);
  }
  const read = readSnapshot(text);
  if (isMessage(read)) return { found: 'unusable', why: read };
  const { state, stamp } = read;
  const isSamePlant = read.plantHash === plantHash;
  return { found: 'state', state, stamp, isSamePlant, isSamePlumbing: read.plumbingHash === plumbingHash };
}

/** A journal, or a state file that was put aside, is of an earlier run. */
const hasPast = (directory: string): boolean =>
  existsSync(join(directory, 'journal')) ||
  readdirSync(directory).some((name) => name.startsWith('state.unusable-'));

/**
 * A state file's text as it lies in a backup. What a station knew of its vats was true when it was saved; put back later it
 * would be believed, and water may have been moved since.
 */
export function backedUp(text: string, madeMs: number): string {
  return JSON.stringify({ version: BACKUP, madeMs, snapshot: text });
}

function readSnapshot(text: string): Snapshot | Message {
  let snapshot: (Partial<Snapshot> & { madeMs?: unknown }) | null;
  try {
    snapshot = JSON.parse(text);
  } catch {
    return message('state-no-json');
  }
  if ((snapshot?.version as unknown) === BACKUP) return fromBackup(snapshot?.madeMs);
  if (typeof snapshot?.version !== 'number') return message('state-no-format');
  if (snapshot.version !== VERSION)
    return message('state-other-format', { count: snapshot.version, ownCount: VERSION });
  const whole =
    snapshot.stamp !== undefined && snapshot.digest === digestOf(JSON.stringify(snapshot.state) ?? '');
  return whole ? (snapshot as Snapshot) : message('state-no-digest');
}

function fromBackup(madeMs: unknown): Message {
  return typeof madeMs === 'number' && Number.isFinite(madeMs)
    ? message('state-from-backup-of', { what: new Date(madeMs).toLocaleString('en-GB') })
    : message('state-from-backup');
}

function digestOf(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}

/**
 * How long ago a snapshot was taken, ms; null where nobody can know. Within one start of the computer its monotonic
 * clock tells; across a restart only the wall clock can, and only if both readings are plausible and in order.
 */
export function gapOf(taken: Stamp, now: Stamp, earliestYear: number): number | null {
  const sameStart = taken.computerBoot !== null && taken.computerBoot === now.computerBoot;
  if (sameStart && now.monotonicMs >= taken.monotonicMs)
    return Math.ceil(now.monotonicMs - taken.monotonicMs);
  const plausible = new Date(taken.wallMs).getFullYear() >= earliestYear && now.wallMs >= taken.wallMs;
  return plausible ? now.wallMs - taken.wallMs : null;
}
