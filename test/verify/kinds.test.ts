// Stations of other kinds than the examples: each is valid, says what it lacks and nothing else, and holds some nights. The
// long run is `node test/verify/measure.mjs kinds`.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { loadStation } from '../../src/station/load.ts';
import { groundOf } from '../../src/verify/prove/explore.ts';
import { nightReport } from '../../src/verify/trial/campaign.ts';
import { plantAt } from '../tools/coupled.ts';

/** What `check` warns of: what the kind of station does without. */
// biome-ignore format: a table reads as a table
const KINDS: readonly (readonly [station: string, lacks: readonly string[]])[] = [
  ['gravity', ['W-31']],
  ['reef-and-nursery', ['W-31']],
  ['one-vat-two-systems', ['W-31']],
  ['shed', ['W-02', 'W-20', 'W-25', 'W-26', 'W-27', 'W-28', 'W-31']],
  ['level-only', ['W-01', 'W-02', 'W-10', 'W-25', 'W-31']],
  ['one-pump', ['W-31']],
  ['coarse-meters', ['W-31']],
  ['no-system-floats', ['W-01', 'W-02', 'W-10', 'W-31', 'W-42']],
  ['by-hand', ['W-02', 'W-12', 'W-20', 'W-25', 'W-26', 'W-27', 'W-28', 'W-31']],
  ['doser-heater', []],
];
const fileOf = (station: string): string => `test/stations/${station}.json`;
/** Besides a night without faults; drawn so that each station meets others. */
const NIGHTS = 1;

describe.each(KINDS)('%s', (station, lacks) => {
  test('is understood, and warned of what it does without', () => {
    const loaded = loadStation(station, readFileSync(fileOf(station), 'utf8'));
    expect(loaded.ok && loaded.warnings.map(({ id }) => id)).toEqual(lacks);
  });

  test('while all is well nothing trips, nobody is called, and a batch can always become ready', () => {
    const { run } = groundOf(plantAt(fileOf(station)));
    expect(run).toMatchObject({ complete: true, accidents: [], stranded: { tripped: 0, untripped: 0 } });
  });

  test('holds a night without faults and one with', () => {
    const plant = plantAt(fileOf(station));
    const at = 1 + KINDS.findIndex(([one]) => one === station) * NIGHTS;
    expect(nightReport(plant, at, []).verdicts).toEqual([]);
    for (let seed = at; seed < at + NIGHTS; seed++)
      expect(
        nightReport(plant, seed, null).verdicts.filter(({ gap }) => gap === null),
        `night ${seed}`,
      ).toEqual([]);
  });
});
