// How fast, and how large: JOURNAL_SPEED=FOLDER (on the disk that is to be measured) prints a table. Not part of the
// usual run: a computer that does something else meanwhile says nothing about either.
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { initial } from '../../src/control/process/initial.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { settle } from '../../src/journal/file.ts';
import { openJournal } from '../../src/journal/journal.ts';
import type { Taken } from '../../src/journal/keeping.ts';
import { LIMITS } from '../../src/journal/limits.ts';
import { orderOf } from '../../src/journal/order.ts';
import { textOf } from '../../src/journal/packing.ts';
import { recorded } from '../bench/tools/recorded.ts';
import { fileIn, MARRAM_POINT, replayed } from './driven.ts';

const place = process.env.JOURNAL_SPEED;

function dayInSmall(hours: number): Taken[] {
  const all: Taken[] = [];
  recorded(MARRAM_POINT, hours, (taken) => all.push(taken));
  return all;
}

function spread(durations: number[]) {
  const sorted = durations.toSorted((a, b) => a - b);
  const at = (share: number) =>
    Number((sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0).toFixed(3));
  const sum = durations.reduce((a, b) => a + b, 0);
  return {
    calls: durations.length,
    perSecond: Math.round((1_000 * durations.length) / sum),
    medianMs: at(0.5),
    p99Ms: at(0.99),
    worstMs: at(1),
  };
}

function timed(act: () => void): number {
  const from = performance.now();
  act();
  return performance.now() - from;
}

describe.skipIf(place === undefined)('the speed of a journal', () => {
  it('is near that of SQLite alone with the same settings', () => {
    const folder = mkdtempSync(join(place ?? '', 'vatwarden-speed-'));
    const day = dayInSmall(1);
    const few = day.slice(0, 3_000);

    const alone = openDatabase(join(folder, 'alone.db'));
    settle(alone);
    alone.exec('CREATE TABLE steps (seq INTEGER PRIMARY KEY, body BLOB)');
    const insert = alone.prepare('INSERT INTO steps (body) VALUES (?)');
    const bodies = few.map((taken) => Buffer.from(textOf(taken)));
    const sqlite = bodies.map((body) => timed(() => insert.run(body)));
    alone.close();

    const durable = openJournal(join(folder, 'durable'), MARRAM_POINT);
    durable.begin(initial(MARRAM_POINT));
    const appends = few.map((taken) => timed(() => expect(durable.append(taken).ok).toBe(true)));
    durable.close();

    const mixed = openJournal(join(folder, 'mixed'), MARRAM_POINT);
    mixed.begin(initial(MARRAM_POINT));
    const first: number[] = [];
    const whole = timed(() => {
      for (const taken of day) {
        const order = orderOf(taken.effects);
        if (order === 'later') mixed.appendLater(taken);
        else if (order === 'soon') mixed.append(taken);
        else first.push(timed(() => mixed.append(taken)));
      }
    });
    const before = statSync(fileIn(join(folder, 'mixed'))).size;
    mixed.close();
    const bytes = statSync(fileIn(join(folder, 'mixed'))).size;
    const db = openDatabase(fileIn(join(folder, 'mixed')), { readonly: true });
    const tables = db
      .prepare(
        "SELECT name, sum(pgsize) AS bytes FROM dbstat WHERE name IN ('steps', 'snapshots', 'samples') GROUP BY name",
      )
      .all() as { name: string; bytes: number }[];
    const rows = db.prepare('SELECT count(*) FROM steps').pluck().get() as number;
    db.close();

    const opening = openJournal(join(folder, 'tail'), MARRAM_POINT);
    opening.begin(initial(MARRAM_POINT));
    for (const taken of day.slice(0, LIMITS.snapshotSteps - 1)) opening.appendLater(taken);
    opening.flush();
    const restoreMs = timed(() => openJournal(join(folder, 'tail'), MARRAM_POINT).restore());
    const replayMs = timed(() => expect(replayed(fileIn(join(folder, 'mixed'))).difference).toBeNull());

    console.table({
      'SQLite alone': spread(sqlite),
      'append, each durable': spread(appends),
      'append before an on': spread(first),
    });
    console.log({
      steps: day.length,
      perHour: day.length,
      mixedPerSecond: Math.round(day.length / (whole / 1000)),
      commits: rows,
      restoreMs: Math.round(restoreMs),
      replayPerSecond: Math.round(day.length / (replayMs / 1000)),
      bytesPerStep: Object.fromEntries(
        tables.map(({ name, bytes: size }) => [name, Number((size / day.length).toFixed(2))]),
      ),
      fileBytes: { before, bytes },
    });
    rmSync(folder, { recursive: true });
  }, 600_000);
});
