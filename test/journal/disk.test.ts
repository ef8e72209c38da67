// A real file system that fills up or can't be written: a small one in memory, mounted for the test and taken away after.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { step } from '../../src/control/step.ts';
import { openJournal } from '../../src/journal/journal.ts';
import type { Taken } from '../../src/journal/keeping.ts';
import { LIMITS } from '../../src/journal/limits.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { JournalError } from '../../src/journal/trouble.ts';
import { collected } from '../tools/collected.ts';
import { drive, fileIn, MARRAM_POINT, removeFolders, replayed } from './driven.ts';

let disk = '';

/** @returns whether it may be done here */
function mount(): boolean {
  disk = mkdtempSync(join(tmpdir(), 'vatwarden-disk-'));
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=4m', 'tmpfs', disk], { stdio: 'ignore' });
    return true;
  } catch {
    rmdirSync(disk);
    return false;
  }
}

function unmount(): void {
  // Lazily: a test that failed may have left a file open.
  execFileSync('umount', ['-l', disk]);
  rmdirSync(disk);
}

const canMount = process.platform === 'linux' && process.getuid?.() === 0 && mount();
if (canMount) unmount();
else
  console.warn('the tests with a full and with a read-only disk are skipped: they need root, to mount one');

beforeEach(() => {
  if (canMount) mount();
});
afterEach(() => {
  if (canMount) unmount();
  removeFolders();
});

const filler = () => join(disk, 'filler');

/** Takes what room there is, but for `leaveBytes`. */
function fill(leaveBytes: number): void {
  const { bavail, bsize } = statfs();
  writeFileSync(filler(), Buffer.alloc(Math.max(0, bavail * bsize - leaveBytes)));
}

function statfs(): { bavail: number; bsize: number } {
  const [bavail, bsize] = execFileSync('stat', ['-f', '-c', '%a %S', disk], { encoding: 'utf8' }).split(' ');
  return { bavail: Number(bavail), bsize: Number(bsize) };
}

function thrown(act: () => unknown): JournalError {
  try {
    act();
  } catch (error) {
    if (error instanceof JournalError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

describe.skipIf(!canMount)('a journal on a full disk', () => {
  it('says so, keeps in order what it could not write, and lacks nothing once there is room again', () => {
    const directory = join(disk, 'station');
    const driven = drive(MARRAM_POINT, { directory });
    driven.run(60_000, 1_000);
    fill(0);
    let refused = 0;
    for (let count = 0; count < 600; count++) {
      const written = driven.step(1_000);
      if (written.ok) continue;
      refused += 1;
      expect(written).toMatchObject({ trouble: 'full' });
      expect(written.words).toContain('is full');
      expect(written.words).toContain(fileIn(directory));
      expect(written.mend).toContain('Make room');
    }
    expect(refused).toBeGreaterThan(100);
    rmSync(filler());
    driven.clock.nowMs += LIMITS.retryMs;
    expect(driven.journal.flush()).toEqual({ ok: true });
    driven.run(60_000, 1_000);
    expect(driven.journal.close()).toEqual({ ok: true });
    const verdict = replayed(fileIn(directory));
    expect(verdict).toMatchObject({ difference: null, steps: driven.taken.length, starts: 1 });
  });

  it('never calls a step durable that a reader of the file does not find', () => {
    const directory = join(disk, 'station');
    const driven = drive(MARRAM_POINT, { directory });
    fill(200_000);
    let durable = 0;
    for (let count = 1; count <= 900 && durable === count - 1; count++) {
      driven.step(1_000);
      if (driven.journal.flush().ok) durable = count;
    }
    expect(durable).toBeGreaterThan(10);
    expect(durable).toBeLessThan(900);
    expect(replayed(fileIn(directory))).toMatchObject({ difference: null, lastStep: durable });
    driven.journal.close();
  });

  it('gives up what waits when it is too much, and the record says how much is missing', () => {
    const directory = join(disk, 'station');
    const driven = drive(MARRAM_POINT, { directory });
    driven.run(10_000, 1_000);
    driven.journal.flush();
    fill(0);
    const quiet = { event: { elapsedMs: 250, inputs: [], tick: true }, effects: [] };
    let { state } = driven;
    let taken = 10;
    const next = (): Taken => {
      taken += 1;
      const done = step(MARRAM_POINT, state, quiet.event);
      state = done.state;
      return { event: quiet.event, effects: done.effects, state };
    };
    while (driven.journal.append(next()).ok) expect(taken).toBeLessThan(5_000);
    // The step that was refused waits already.
    for (let waiting = 1; waiting <= LIMITS.waitingSteps + 500; waiting++) driven.journal.appendLater(next());
    rmSync(filler());
    driven.clock.nowMs += LIMITS.retryMs;
    expect(driven.journal.flush()).toEqual({ ok: true });
    driven.journal.close();
    const { starts, close } = openRecording(fileIn(directory));
    close();
    expect(starts.map(({ cause, words }) => ({ cause, words }))).toEqual([
      { cause: 'first', words: '' },
      { cause: 'gap', words: `${LIMITS.waitingSteps + 1} steps before this could not be written` },
    ]);
    expect(starts[1]?.step).toBe(taken - 500 + 1);
    expect(replayed(fileIn(directory))).toMatchObject({ difference: null, starts: 2, lastStep: taken });
  });

  it('refuses to open where there is no room for a new one, and says what to do', () => {
    fill(0);
    const error = thrown(() => openJournal(join(disk, 'station'), MARRAM_POINT));
    expect(error.trouble).toBe('full');
    expect(error.message).toContain('Make room');
  });

  it('opens again and remembers where it was, when room is made', async () => {
    const directory = join(disk, 'station');
    const driven = drive(MARRAM_POINT, { directory });
    driven.run(30_000, 1_000);
    driven.journal.close();
    await collected(directory);
    const { state } = driven;
    fill(0);
    expect(thrown(() => openJournal(directory, MARRAM_POINT)).trouble).toBe('full');
    rmSync(filler());
    const journal = openJournal(directory, MARRAM_POINT);
    expect(journal.restore()?.state).toEqual(state);
    journal.close();
  });
});

describe.skipIf(!canMount)('a journal on a disk that was mounted read-only', () => {
  it('refuses to open, and can still be replayed', async () => {
    const directory = join(disk, 'station');
    const driven = drive(MARRAM_POINT, { directory });
    driven.run(30_000, 1_000);
    driven.journal.close();
    await collected(directory);
    execFileSync('mount', ['-o', 'remount,ro', disk]);
    try {
      const error = thrown(() => openJournal(directory, MARRAM_POINT));
      expect(error.trouble).toBe('read-only');
      expect(error.message).toContain('mounted read-only');
      expect(replayed(fileIn(directory))).toMatchObject({ difference: null, steps: driven.taken.length });
    } finally {
      execFileSync('mount', ['-o', 'remount,rw', disk]);
    }
    expect(existsSync(fileIn(directory))).toBe(true);
    expect(statSync(fileIn(directory)).size).toBeGreaterThan(0);
  });
});
