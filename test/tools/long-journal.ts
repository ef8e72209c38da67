// A journal with a year behind it, made in a second: moments, minutes and hours are put into its file as the service would have.

import { initial } from '../../src/control/process/initial.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { LIMITS, SPANS } from '../../src/journal/limits.ts';
import type { Plant } from '../../src/station/plant.ts';

export interface LongJournal {
  readonly file: string;
  /** Values in it: of each line the least, the mean and the most count as one. */
  readonly samples: number;
}

/** As many of each as a journal ever keeps, the last of them before `endMs`. */
export function longJournal(directory: string, plant: Plant, endMs: number): LongJournal {
  const journal = openJournal(directory, plant);
  journal.begin(initial(plant));
  journal.close();
  return longPast(journal.file, endMs);
}

/** The same, put into a journal that may be in use. */
export function longPast(file: string, endMs: number): LongJournal {
  const db = openDatabase(file);
  const lines = db.prepare<[], number>('SELECT count(*) FROM channels').pluck().get() ?? 0;
  const add = db.prepare('INSERT INTO samples (span, at, lasted, body) VALUES (?, ?, ?, ?)');
  const bodies = Array.from({ length: 60 }, (_, at) =>
    JSON.stringify(
      Array.from({ length: lines }, (_, line) => [line + at, line + at + 0.5, line + at + 1.25]),
    ),
  );
  const fill = (span: number, count: number): void => {
    const lastMs = Math.floor(endMs / span) * span - span;
    for (let back = 0; back < count; back += 1)
      add.run(span, lastMs - back * span, span, bodies[back % bodies.length]);
  };
  db.transaction(() => {
    fill(SPANS.moment, LIMITS.moments);
    fill(SPANS.minute, LIMITS.minutes);
    fill(SPANS.hour, LIMITS.hours);
  }).immediate();
  db.close();
  return { file, samples: lines * (LIMITS.moments + LIMITS.minutes + LIMITS.hours) };
}
