import '../seed.ts';
import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';
import { drive, fileIn, MARRAM_POINT, newFolder, removeFolders, replayed } from './driven.ts';
import { acts, perform, STATIONS } from './trouble-of-all-kinds.ts';

afterEach(removeFolders);

describe('a replay', () => {
  it('of some hours with refill, batch and exchange says what the core said then, step by step', () => {
    const directory = newFolder();
    const driven = drive(MARRAM_POINT, { directory, seed: 3 });
    driven.run(2 * 3_600_000);
    driven.journal.close();
    const effects: unknown[] = [];
    const verdict = replayed(fileIn(directory), {}, (taken) => effects.push(taken.effects));
    expect(verdict.difference).toBeNull();
    expect(verdict.steps).toBe(driven.taken.length);
    expect(effects).toEqual(driven.taken.map((taken) => taken.effects));
  });

  it('is identical whatever arrives, whoever asks, however often the power fails and the clock jumps', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('marram-point' as const, 'bench-rig' as const),
        fc.integer({ min: 1, max: 1_000_000 }),
        acts,
        (station, seed, doing) => {
          const driven = drive(STATIONS[station], { seed });
          for (const act of doing) perform(driven, act);
          driven.journal.close();
          const verdict = replayed(fileIn(driven.directory));
          removeFolders();
          expect(verdict.difference).toBeNull();
        },
      ),
      { numRuns: 40 },
    );
  });
});
