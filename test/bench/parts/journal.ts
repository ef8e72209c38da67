// Durable steps a second and how long a commit takes, against SQLite alone with the same settings and the same text. In
// turn, ten of each: a disk has moods.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { initial } from '../../../src/control/process/initial.ts';
import { openDatabase } from '../../../src/journal/driver.ts';
import { settle } from '../../../src/journal/file.ts';
import { openJournal } from '../../../src/journal/journal.ts';
import type { Taken } from '../../../src/journal/keeping.ts';
import { orderOf } from '../../../src/journal/order.ts';
import { textOf } from '../../../src/journal/packing.ts';
import { figure, type Part, quantile, ratio } from '../tools/figures.ts';
import { recorded } from '../tools/recorded.ts';
import { MARRAM, plantOf } from '../tools/stations.ts';

const plant = plantOf(MARRAM);
const TOGETHER = 10;

function timed(act: () => void): number {
  const fromMs = performance.now();
  act();
  return performance.now() - fromMs;
}

export const measure: Part = async (size) => {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  try {
    const all: Taken[] = [];
    recorded(plant, size === 'whole' ? 1 : 0.25, (taken) => all.push(taken));
    const few = all.slice(0, size === 'whole' ? 3_000 : 800);

    const alone = openDatabase(join(folder, 'alone.db'));
    settle(alone);
    alone.exec('CREATE TABLE steps (seq INTEGER PRIMARY KEY, body BLOB)');
    const insert = alone.prepare('INSERT INTO steps (body) VALUES (?)');
    const journal = openJournal(join(folder, 'durable'), plant);
    journal.begin(initial(plant));
    const took = { alone: [] as number[], journal: [] as number[] };
    for (let from = 0; from < few.length; from += TOGETHER) {
      const some = few.slice(from, from + TOGETHER);
      for (const taken of some) {
        const body = Buffer.from(textOf(taken));
        took.alone.push(timed(() => insert.run(body)));
      }
      for (const taken of some) {
        took.journal.push(
          timed(() => {
            if (!journal.append(taken).ok) throw new Error('the journal refused a step');
          }),
        );
      }
    }
    alone.close();
    journal.close();

    const mixed = openJournal(join(folder, 'mixed'), plant);
    mixed.begin(initial(plant));
    const wholeMs = timed(() => {
      for (const taken of all)
        if (orderOf(taken.effects) === 'later') mixed.appendLater(taken);
        else mixed.append(taken);
    });
    mixed.close();

    const blocks = (values: readonly number[]) =>
      Array.from({ length: 8 }, (_, nth) =>
        values.slice(Math.floor((nth * values.length) / 8), Math.floor(((nth + 1) * values.length) / 8)),
      );
    const rate = (values: readonly number[]) =>
      blocks(values).map((block) => (1_000 * block.length) / block.reduce((a, b) => a + b, 0));
    const at = (values: readonly number[], share: number) =>
      blocks(values).map((block) => quantile(block, share));
    return {
      figures: {
        'durable-per-second': figure(rate(took.journal), '1/s'),
        'sqlite-per-second': figure(rate(took.alone), '1/s'),
        'by-sqlite': ratio(rate(took.journal), rate(took.alone)),
        'commit-p50': figure(at(took.journal, 0.5), 'ms'),
        'sqlite-commit-p50': figure(at(took.alone, 0.5), 'ms'),
        'commit-p99-by-sqlite': ratio(at(took.journal, 0.99), at(took.alone, 0.99)),
        'commit-p99': figure(at(took.journal, 0.99), 'ms'),
        'sqlite-commit-p99': figure(at(took.alone, 0.99), 'ms'),
        'as-in-life-per-second': figure([(1_000 * all.length) / wholeMs], '1/s'),
      },
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
};
