// Nights of the guard below a process that wants at random: the campaign is `vatwarden trial --hostile`.
import { describe, expect, test } from 'vitest';
import { lose } from '../../src/verify/lost.ts';
import { parseTrouble, type Trouble } from '../../src/verify/trial/misfortunes.ts';
import { runNight } from '../../src/verify/trial/night.ts';
import { savesOf } from '../../src/verify/trial/saves.ts';
import { savesText } from '../../src/verify/trial/saves-report.ts';
import { plantAt } from '../tools/coupled.ts';

const oneVat = () => structuredClone(plantAt('schemas/examples/one-vat.json'));

/** Harm that no gap explains, in a night of a process that wants at random. */
const harmsOf = (seed: number, troubles: readonly Trouble[], ...lost: readonly string[]): readonly string[] =>
  runNight(oneVat(), seed, troubles, {
    hostile: true,
    prepare: (plant) => lose(plant, (kind) => lost.includes(kind)),
  })
    .findings.filter(({ gap }) => gap === null)
    .map(({ check, about }) => `${check}/${about}`);

test('a siphon too slow for its meter ends at the latest with the ledger of the exchange: nothing feeds it any more', () => {
  const troubles = [parseTrouble('siphon:supply=0.067@1417s-18283s', oneVat())];
  expect(harmsOf(3, troubles)).toEqual([]);
});

describe('it can fail', () => {
  test('without any row, the very night does harm that the guard holds', () => {
    expect(harmsOf(6, [])).toEqual([]);
    expect(harmsOf(6, [], 'I-01', 'I-02', 'I-03', 'I-04', 'I-10')).not.toEqual([]);
  });
});

test('a row that saved a night is told with that night, and with the rows behind which it stands', async () => {
  const plant = oneVat();
  const saves = await savesOf(plant, { seeds: 1, seed: 6, kinds: ['I-20'], workers: 1 });
  expect(saves.harms).toEqual([]);
  const { held, saved, example } = saves.rows['I-20'] ?? { held: 0, saved: 0, example: null };
  expect([held, saved]).toEqual([1, 1]);
  expect(example?.seed).toBe(6);
  expect(savesText(plant, saves, 1)).toMatch(/I-20 +1 +1 {2}night 6/u);
});
