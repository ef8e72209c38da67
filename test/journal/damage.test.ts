import '../seed.ts';
import { readdirSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initial } from '../../src/control/process/initial.ts';
import { openDatabase, sqlite } from '../../src/journal/driver.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { VERSION } from '../../src/journal/schema.ts';
import { Damaged, JournalError } from '../../src/journal/trouble.ts';
import type { Plant } from '../../src/station/plant.ts';
import {
  BENCH_RIG,
  copyFiles,
  type Driven,
  drive,
  fileIn,
  MARRAM_POINT,
  newFolder,
  removeFolders,
  replayed,
} from './driven.ts';

afterAll(removeFolders);

/** A run that a power cut ended: the file as the last commit left it, its log beside it. */
let cut: string;
/** The same run, closed in good order. */
let closed: string;
let recorded: Driven;

beforeAll(() => {
  recorded = drive(BENCH_RIG, { seed: 5 });
  recorded.run(30_000, 250);
  recorded.journal.snapshot();
  recorded.run(30_000, 250);
  recorded.journal.flush();
  cut = newFolder();
  copyFiles(recorded.directory, cut);
  recorded.journal.close();
  closed = recorded.directory;
});

const copyOf = (directory: string): string => {
  const copy = newFolder();
  copyFiles(directory, copy);
  return copy;
};

function thrownBy(act: () => unknown): unknown {
  try {
    act();
  } catch (error) {
    return error;
  }
  return null;
}

describe('a log that was torn off while it was written', () => {
  it('loses the end of the record and nothing else, wherever it is torn', () => {
    const log = readFileSync(join(cut, 'journal.db-wal'));
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: log.length }),
        fc.uint8Array({ maxLength: 64 }),
        (at, rubbish) => {
          const directory = copyOf(cut);
          writeFileSync(join(directory, 'journal.db-wal'), Buffer.concat([log.subarray(0, at), rubbish]));
          const journal = openJournal(directory, BENCH_RIG);
          expect(journal.words).toBeNull();
          journal.begin(journal.restore()?.state ?? initial(BENCH_RIG));
          expect(journal.close()).toEqual({ ok: true });
          const effects: unknown[] = [];
          const verdict = replayed(fileIn(directory), {}, (taken) => effects.push(taken.effects));
          expect(verdict.difference).toBeNull();
          const prefix = recorded.taken.slice(0, effects.length).map((taken) => taken.effects);
          expect(effects).toEqual(prefix);
        },
      ),
      { numRuns: 25 },
    );
  });
});

describe('a file in which bits fell over', () => {
  it('never replays as something that did not happen', () => {
    const whole = readFileSync(fileIn(closed));
    const truth = recorded.taken.map((taken) => taken.effects);
    const seen = { identical: 0, refused: 0, differs: 0 };
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.integer({ min: 1, max: 255 })), {
          minLength: 1,
          maxLength: 4,
        }),
        (flips) => {
          const directory = newFolder();
          const bytes = Buffer.from(whole);
          for (const [at, mask] of flips) bytes[at] = (bytes[at] ?? 0) ^ mask;
          writeFileSync(fileIn(directory), bytes);
          const effects: unknown[] = [];
          try {
            const verdict = replayed(fileIn(directory), {}, (taken) => effects.push(taken.effects));
            if (verdict.difference === null) seen.identical += 1;
            else seen.differs += 1;
            if (verdict.difference === null) expect(effects).toEqual(truth);
          } catch (error) {
            expect(error instanceof Damaged || error instanceof JournalError || isSqlite(error)).toBe(true);
            seen.refused += 1;
          }
          expect(effects).toEqual(truth.slice(0, effects.length));
        },
      ),
      { numRuns: 100 },
    );
    expect(seen.refused).toBeGreaterThan(10);
    expect(seen.identical).toBeGreaterThan(0);
    expect(seen.differs).toBe(0);
  });

  it('opens all the same, or is kept aside byte for byte, or is not touched at all', () => {
    const whole = readFileSync(fileIn(closed));
    const seen = { opened: 0, aside: 0, refused: 0 };
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.integer({ min: 1, max: 255 })), {
          minLength: 1,
          maxLength: 30,
        }),
        (flips) => {
          const directory = newFolder();
          const bytes = Buffer.from(whole);
          for (const [at, mask] of flips) bytes[at] = (bytes[at] ?? 0) ^ mask;
          writeFileSync(fileIn(directory), bytes);
          const error = thrownBy(() => {
            const journal = openJournal(directory, BENCH_RIG);
            const state = journal.restore()?.state ?? initial(BENCH_RIG);
            const begun = journal.begin(state);
            if (!begun.ok) expect(begun.trouble).toBe('damaged');
            const aside = readdirSync(directory).filter((name) => name.includes('damaged'));
            if (aside.length > 0) {
              seen.aside += 1;
              expect(journal.words).toContain(aside[0]);
              expect(readFileSync(join(directory, aside[0] ?? '')).length).toBeGreaterThanOrEqual(
                whole.length,
              );
            } else seen.opened += 1;
            journal.close();
          });
          if (error === null) return;
          expect(error).toBeInstanceOf(JournalError);
          expect(['no-journal', 'newer', 'another-station']).toContain((error as JournalError).trouble);
          expect(readFileSync(fileIn(directory)).equals(bytes)).toBe(true);
          seen.refused += 1;
        },
      ),
      { numRuns: 100 },
    );
    expect(seen.aside).toBeGreaterThan(10);
    expect(seen.opened).toBeGreaterThan(10);
  });
});

/** Without the guard that the driver has of its own against writing on the tables' own table. */
function openUnguarded(file: string): { exec: (sql: string) => unknown; close: () => unknown } {
  return new (sqlite().DatabaseSync)(file, { readOnly: false, timeout: 0, defensive: false });
}

const isSqlite = (error: unknown): boolean =>
  String((error as { code?: unknown }).code).startsWith('SQLITE_');

describe('a file that is damaged', () => {
  it('is noticed where only the cause or the gap of a start was changed', () => {
    for (const change of ["cause = 'anew'", 'gap = 7', "words = 'all is well'", 'seq = 2']) {
      const directory = copyOf(closed);
      const db = openDatabase(fileIn(directory));
      db.exec(`UPDATE starts SET ${change}`);
      db.close();
      expect((thrownBy(() => replayed(fileIn(directory))) as JournalError).message).toContain(
        'does not fit its sum',
      );
      const journal = openJournal(directory, BENCH_RIG);
      expect(journal.words).toContain('does not fit its sum');
      journal.close();
    }
  });

  it('is kept under another name, with words that say so, and a new journal is begun', () => {
    const directory = copyOf(closed);
    truncateSync(fileIn(directory), 20_000);
    const before = readFileSync(fileIn(directory));
    const journal = openJournal(directory, BENCH_RIG);
    expect(journal.words).toContain('is kept as');
    expect(journal.words).toContain('is in the state file');
    expect(journal.restore()).toBeNull();
    expect(readFileSync(join(directory, 'journal.damaged-1.db')).equals(before)).toBe(true);
    expect(journal.begin(initial(BENCH_RIG))).toEqual({ ok: true });
    journal.close();
  });

  it('never replaces one that was put aside before', () => {
    const directory = copyOf(closed);
    for (const number of [1, 2, 3]) {
      writeFileSync(fileIn(directory), `no database, the ${number}. time`);
      openJournal(directory, BENCH_RIG).close();
    }
    const kept = [1, 2, 3].map((n) => readFileSync(join(directory, `journal.damaged-${n}.db`), 'utf8'));
    expect(kept).toEqual([1, 2, 3].map((n) => `no database, the ${n}. time`));
  });

  it('gives up its last state where that was whole, and only the rest was damaged', () => {
    const directory = copyOf(cut);
    const db = openUnguarded(fileIn(directory));
    // Two tables on one page: damage that only a look at every page finds.
    db.exec('PRAGMA writable_schema = ON');
    db.exec(
      "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = 'alarms') WHERE name = 'records'",
    );
    db.close();
    const journal = openJournal(directory, BENCH_RIG);
    expect(journal.words).toContain('Its last state was whole and goes on');
    expect(journal.restore()?.state).toEqual(recorded.state);
    journal.begin(journal.restore()?.state ?? initial(BENCH_RIG));
    journal.close();
    expect(replayed(fileIn(directory)).difference).toBeNull();
  });

  it('that was empty when the power went is a new journal', () => {
    const directory = newFolder();
    writeFileSync(fileIn(directory), '');
    const journal = openJournal(directory, BENCH_RIG);
    expect(journal.words).toBeNull();
    expect(journal.begin(initial(BENCH_RIG))).toEqual({ ok: true });
    journal.close();
  });
});

describe('a file that is not ours to write', () => {
  it('of another station is refused and stays as it is', () => {
    const directory = copyOf(closed);
    const before = readFileSync(fileIn(directory));
    const error = thrownBy(() => openJournal(directory, MARRAM_POINT)) as JournalError;
    expect(error.trouble).toBe('another-station');
    expect(error.message).toContain("of 'bench-rig', not of 'marram-point'");
    expect(error.message).toContain('folder of its own');
    expect(readFileSync(fileIn(directory)).equals(before)).toBe(true);
  });

  it('of a newer release is refused and stays as it is', () => {
    const directory = copyOf(closed);
    const db = openDatabase(fileIn(directory));
    db.pragma(`user_version = ${VERSION + 1}`);
    db.close();
    const before = readFileSync(fileIn(directory));
    const error = thrownBy(() => openJournal(directory, BENCH_RIG)) as JournalError;
    expect(error.trouble).toBe('newer');
    expect(error.message).toContain(`its version is ${VERSION + 1}`);
    expect(readFileSync(fileIn(directory)).equals(before)).toBe(true);
    expect((thrownBy(() => replayed(fileIn(directory))) as JournalError).trouble).toBe('newer');
  });

  it('of another program is refused and stays as it is', () => {
    const directory = newFolder();
    const db = openDatabase(fileIn(directory));
    db.exec('CREATE TABLE recipes (name TEXT)');
    db.close();
    const before = readFileSync(fileIn(directory));
    expect((thrownBy(() => openJournal(directory, BENCH_RIG)) as JournalError).trouble).toBe('no-journal');
    expect(readFileSync(fileIn(directory)).equals(before)).toBe(true);
  });

  it('is noticed when a second service writes it at the same time', () => {
    const directory = newFolder();
    const first = drive(BENCH_RIG, { directory });
    const second = drive(BENCH_RIG, { directory });
    first.run(5_000, 1_000);
    expect(first.journal.flush()).toEqual({ ok: true });
    second.run(5_000, 1_000);
    expect(second.journal.flush()).toMatchObject({ ok: false, trouble: 'another-writer' });
    expect(first.journal.flush()).toEqual({ ok: true });
    first.journal.close();
    second.journal.close();
  });
});

describe('a station file that was changed', () => {
  const changed: Plant = { ...BENCH_RIG, process: { ...BENCH_RIG.process, saltYield: 0.9 } };

  it('keeps its history, and starts without the old state', () => {
    const directory = copyOf(closed);
    const journal = openJournal(directory, changed);
    expect(journal.restore()).toBeNull();
    expect(journal.words).toContain('the station file was changed');
    const state = initial(changed);
    journal.begin(state);
    const event = { elapsedMs: 250, inputs: [], tick: true };
    expect(journal.records().length).toBeGreaterThan(0);
    journal.append({ event, effects: [], state });
    journal.close();
  });

  it('is restored again once it was begun with', () => {
    const directory = copyOf(closed);
    const first = openJournal(directory, changed);
    first.begin(initial(changed));
    first.close();
    const second = openJournal(directory, changed);
    expect(second.words).toBeNull();
    expect(second.restore()?.state).toEqual(initial(changed));
    second.close();
    expect(replayed(fileIn(directory)).difference).toBeNull();
  });
});
