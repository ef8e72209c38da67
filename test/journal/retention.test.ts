import { randomBytes } from 'node:crypto';
import { statSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import type { Event } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import { step } from '../../src/control/step.ts';
import { type Database, openDatabase } from '../../src/journal/driver.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { LIMITS, SPANS } from '../../src/journal/limits.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { prune } from '../../src/journal/retention.ts';
import { upgrade } from '../../src/journal/schema.ts';
import { BENCH_RIG, fileIn, newFolder, removeFolders, replayed } from './driven.ts';

afterEach(removeFolders);

const MIB = 1024 * 1024;

/** A request that nobody can fold smaller: the quickest way to a large journal. */
function largeEvent(count: number): Event {
  const request = {
    ask: 'out-of-service',
    device: 'nothing',
    reason: randomBytes(30_000).toString('base64'),
  } as const;
  return { elapsedMs: 10, inputs: [{ type: 'request', id: `large-${count}`, request }], tick: true };
}

describe('a journal that has reached its bound', () => {
  it('lets the oldest steps go, never grows beyond it, and is replayed from what is left', () => {
    const directory = newFolder();
    const fileBytes = LIMITS.leastFileBytes;
    const journal = openJournal(directory, BENCH_RIG, { fileBytes });
    let state = initial(BENCH_RIG);
    journal.begin(state);
    let largest = 0;
    let largestLog = 0;
    const count = 3_500;
    for (let number = 1; number <= count; number++) {
      const event = largeEvent(number);
      const done = step(BENCH_RIG, state, event);
      state = done.state;
      expect(journal.appendLater({ event, ...done })).toEqual({ ok: true });
      largest = Math.max(largest, statSync(fileIn(directory)).size);
      largestLog = Math.max(largestLog, statSync(`${fileIn(directory)}-wal`).size);
    }
    expect(journal.flush()).toEqual({ ok: true });
    expect(count * 30_000).toBeGreaterThan(1.5 * fileBytes);
    expect(largest).toBeLessThanOrEqual(fileBytes);
    expect(largest).toBeGreaterThan(fileBytes / 2);
    expect(largestLog).toBeLessThanOrEqual(16 * MIB);
    expect(journal.close()).toEqual({ ok: true });
    const verdict = replayed(fileIn(directory));
    expect(verdict).toMatchObject({ difference: null, lastStep: count });
    expect(verdict.firstStep).toBeGreaterThan(count / 10);
    const again = openJournal(directory, BENCH_RIG, { fileBytes });
    expect(again.restore()?.state).toEqual(state);
    again.close();
  });

  it('shrinks when a lower bound is set, and forgets a start of which no step is left', () => {
    const directory = newFolder();
    const fill = (fileBytes: number, count: number) => {
      const journal = openJournal(directory, BENCH_RIG, { fileBytes });
      let { state } = journal.restore() ?? { state: initial(BENCH_RIG) };
      journal.begin(state);
      for (let number = 1; number <= count; number++) {
        const event = largeEvent(number);
        const done = step(BENCH_RIG, state, event);
        state = done.state;
        journal.appendLater({ event, ...done });
      }
      journal.close();
      return statSync(fileIn(directory)).size;
    };
    expect(fill(1.5 * LIMITS.leastFileBytes, 2_800)).toBeGreaterThan(LIMITS.leastFileBytes * 1.1);
    const rows = () => {
      const { db, close } = openRecording(fileIn(directory));
      const count = db.prepare<[], number>('SELECT count(*) FROM steps').pluck().get() ?? 0;
      close();
      return count;
    };
    // A start makes room as well: a service that dies soon after each would never come to its next snapshot.
    const before = rows();
    const journal = openJournal(directory, BENCH_RIG, { fileBytes: LIMITS.leastFileBytes });
    journal.begin(journal.restore()?.state ?? initial(BENCH_RIG));
    expect(rows()).toBeLessThan(before);
    journal.close();
    expect(fill(LIMITS.leastFileBytes, 2_400)).toBeLessThanOrEqual(LIMITS.leastFileBytes);
    const { starts, close } = openRecording(fileIn(directory));
    close();
    expect(starts.map(({ id }) => id)).toEqual([3]);
    expect(replayed(fileIn(directory))).toMatchObject({ difference: null, starts: 1, lastStep: 5_200 });
  });
});

describe('the tables beside the steps', () => {
  const filled = () => {
    const db = openDatabase(':memory:');
    upgrade(db);
    const insert = {
      alarm: db.prepare(
        "INSERT INTO alarms (seq, wall, alarm, state, priority, words, mend) VALUES (?, 0, 'a', 's', 'p', 'w', 'm')",
      ),
      record: db.prepare("INSERT INTO records (seq, wall, about, words) VALUES (?, 0, 'phase', 'w')"),
      sample: db.prepare("INSERT INTO samples VALUES (?, ?, 60000, '[1]')"),
      ledger: db.prepare("INSERT INTO ledger VALUES ('system', ?, ?, 1, 1, 0)"),
      test: db.prepare("INSERT INTO proof_tests (wall, row, who, passed, words) VALUES (?, 'r', 'w', 1, '')"),
    };
    return { db, insert };
  };
  const numberOf = (db: Database, table: string, where = '1') =>
    db.prepare(`SELECT count(*) FROM ${table} WHERE ${where}`).pluck().get();

  it('keep their newest rows by number, whatever a clock says', () => {
    const { db, insert } = filled();
    db.transaction(() => {
      for (let n = 1; n <= LIMITS.alarms + 700; n++) insert.alarm.run(n);
      for (let n = 1; n <= LIMITS.records + 900; n++) insert.record.run(n);
      for (let n = 1; n <= LIMITS.proofTests + 5; n++) insert.test.run(n);
      for (let n = 0; n < LIMITS.moments + 300; n++) insert.sample.run(SPANS.moment, n * SPANS.moment);
      for (let n = 0; n < LIMITS.minutes + 300; n++) insert.sample.run(SPANS.minute, n * SPANS.minute);
      for (let n = 0; n < LIMITS.hours + 20; n++) insert.sample.run(SPANS.hour, n * SPANS.hour);
      // Once the clock was ten years ahead.
      insert.sample.run(SPANS.hour, 10 * 365 * 24 * SPANS.hour);
      for (let n = 0; n < LIMITS.ledgerHours + 48; n++) insert.ledger.run(Math.floor(n / 24), n % 24);
    }).immediate();
    prune(db, LIMITS.fileBytes, true);
    expect(numberOf(db, 'alarms')).toBe(LIMITS.alarms);
    expect(numberOf(db, 'alarms', 'seq <= 700')).toBe(0);
    expect(numberOf(db, 'records')).toBe(LIMITS.records);
    expect(numberOf(db, 'proof_tests')).toBe(LIMITS.proofTests);
    expect(numberOf(db, 'samples', `span = ${SPANS.moment}`)).toBe(LIMITS.moments);
    expect(numberOf(db, 'samples', `span = ${SPANS.minute}`)).toBe(LIMITS.minutes);
    expect(numberOf(db, 'samples', `span = ${SPANS.hour}`)).toBe(LIMITS.hours);
    expect(numberOf(db, 'ledger')).toBeLessThanOrEqual(LIMITS.ledgerHours);
    expect(numberOf(db, 'ledger')).toBeGreaterThan(LIMITS.ledgerHours - 24);
    prune(db, LIMITS.fileBytes, true);
    expect(numberOf(db, 'alarms')).toBe(LIMITS.alarms);
    db.close();
  });

  it('give up no more at once than a bounded number of rows', () => {
    const { db, insert } = filled();
    db.transaction(() => {
      for (let n = 1; n <= LIMITS.alarms + LIMITS.prunedRows + 50; n++) insert.alarm.run(n);
    }).immediate();
    prune(db, LIMITS.fileBytes, true);
    expect(numberOf(db, 'alarms')).toBe(LIMITS.alarms + 50);
    db.close();
  });

  it('take at most half of the smallest journal when they are all full', () => {
    const { db, insert } = filled();
    const words = 'x'.repeat(LIMITS.wordsLength);
    db.transaction(() => {
      for (let n = 1; n <= LIMITS.alarms; n++)
        db.prepare(
          "INSERT INTO alarms (seq, wall, alarm, state, priority, words, mend) VALUES (?, 1780293601000, 'I-12/mixing-conductivity', 'returned-unacknowledged', 'urgent', ?, ?)",
        ).run(n, words, words);
      for (let n = 1; n <= LIMITS.records; n++)
        db.prepare("INSERT INTO records (seq, wall, about, words) VALUES (?, 1780293601000, 'phase', ?)").run(
          n,
          words,
        );
      const body = JSON.stringify(Array.from({ length: 24 }, (_, i) => [i + 0.12, i + 0.345, i + 0.678]));
      for (let n = 0; n < LIMITS.moments; n++)
        db.prepare('INSERT INTO samples VALUES (?, ?, 5000, ?)').run(SPANS.moment, n * SPANS.moment, body);
      for (let n = 0; n < LIMITS.minutes; n++)
        db.prepare('INSERT INTO samples VALUES (?, ?, 60000, ?)').run(SPANS.minute, n * SPANS.minute, body);
      for (let n = 0; n < LIMITS.hours; n++)
        db.prepare('INSERT INTO samples VALUES (?, ?, 3600000, ?)').run(SPANS.hour, n * SPANS.hour, body);
      for (let n = 0; n < LIMITS.ledgerHours; n++) insert.ledger.run(Math.floor(n / 24), n % 24);
    }).immediate();
    const bytes = (db.pragma('page_count', { simple: true }) as number) * 4096;
    console.log(`all tables full: ${(bytes / MIB).toFixed(1)} MiB`);
    expect(bytes).toBeLessThan(LIMITS.leastFileBytes / 2);
    db.close();
  });
});
