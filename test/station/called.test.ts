// Names and other texts of an owner, for each language where they are given: every reader gets the own one.
import { describe, expect, it } from 'vitest';
import { againstUnaskedFlow } from '../../src/control/guard/causes.ts';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import de from '../../src/language/de.json' with { type: 'json' };
import { englishOf } from '../../src/language/english.ts';
import { message } from '../../src/language/message.ts';
import { namesOf } from '../../src/language/names.ts';
import { print } from '../../src/language/print.ts';
import { HOUSE_UNITS } from '../../src/language/units.ts';
import type { Plant, Route } from '../../src/station/plant.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { example, load, spoilt } from './stations.ts';

const MARRAM = example('marram-point');
type Spoil = readonly [pointer: string, part: unknown];
const withParts = (...spoils: readonly Spoil[]) =>
  load(spoils.reduce<unknown>((so, [pointer, part]) => spoilt(so, pointer, part), MARRAM));
const plantWith = (...spoils: readonly Spoil[]): Plant => {
  const loaded = withParts(...spoils);
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded.plant;
};
const german = (plant: Plant) => (said: Parameters<typeof print>[0]) =>
  print(said, { language: 'de', catalogue: de, names: namesOf(plant, 'de'), units: HOUSE_UNITS });
const FULL = message('vessel-full', { vessel: 'fresh' });

describe('a name', () => {
  it.each([
    ['for both languages', { en: 'Fresh vat', de: 'Tonne' }, /Fresh vat/u, /Tonne/u],
    ['for all readers', 'Tank 1', /Tank 1/u, /Tank 1/u],
    ['in German alone', { de: 'Tonne' }, /Tonne/u, /Tonne/u],
    ['that is missing', undefined, /fresh/u, /fresh/u],
  ])('%s', (_, name, inEnglish, inGerman) => {
    const plant = plantWith(['/vessels/fresh/name', name]);
    expect(englishOf(plant)(FULL)).toMatch(inEnglish);
    expect(german(plant)(FULL)).toMatch(inGerman);
  });

  it.each([
    [
      'in a language that nobody speaks here',
      { fr: 'Cuve' },
      'the unknown key "fr"; accepted: the keys en, de',
    ],
    ['that is empty', '', '"", which is empty'],
    ['that is empty in one language', { en: '' }, '"", which is empty'],
    ['of no language', {}, '{}, which is empty'],
    ['that is a number', 3, 'A text, or one for each language'],
  ])('%s is refused, with its place and what would do', (_, name, phrase) => {
    const loaded = withParts(['/vessels/fresh/name', name]);
    const said = loaded.ok ? [] : loaded.errors.map(wordsOf);
    expect(said.length).toBe(1);
    expect(said[0]).toContain('/vessels/fresh/name');
    expect(said[0]).toContain(phrase);
  });
});

it('No German sentence about Marram Point has one of its English names', () => {
  const plant = plantWith();
  const say = german(plant);
  const named = [plant.vessels, plant.routes, plant.sensors, plant.actuators, plant.heaters].flatMap(
    (table) =>
      Object.values(table as Readonly<Record<string, { name: string; names?: { en: string; de: string } }>>),
  );
  expect(named.filter(({ names }) => names === undefined)).toEqual([]);
  const said = deriveRows(plant).flatMap(({ words, response, proof, about }) =>
    [words, response, about, ...(proof === null ? [] : [proof])].map(say),
  );
  const english = named.map(({ name }) => name).filter((name) => name.includes(' '));
  expect(said.filter((text) => english.some((name) => text.includes(name)))).toEqual([]);
  expect(said.filter((text) => /\b(?:circuits|corridor|tap|valve|behind|under the)\b/u.test(text))).toEqual(
    [],
  );
});

describe('how a person stops what flows unasked', () => {
  const stopFor = (plant: Plant, id: string): string =>
    englishOf(plant)(againstUnaskedFlow(plant, plant.routes[id] as Route));
  const TAP = { action: 'close', what: 'the green tap', where: 'in the cellar' };

  it('is what the route says of itself', () => {
    expect(stopFor(plantWith(['/routes/drain/stop', TAP]), 'drain')).toContain(
      'close the green tap (in the cellar)',
    );
  });
  it('is what its device says, where the route and its vessels say nothing', () => {
    const plant = plantWith(
      ['/vessels/system/stop', undefined],
      [
        '/actuators/drain-pump/stop',
        { action: 'unplug', what: 'the drain pump', where: 'at the socket above it' },
      ],
    );
    expect(stopFor(plant, 'drain')).toContain('unplug the drain pump (at the socket above it)');
  });
  it('is the stop of the vessel whose only way it is', () => {
    expect(stopFor(plantWith(), 'transfer')).toContain('close the ball valve (under the fresh vat)');
  });
  it('is the breaker panel where nobody says anything', () => {
    const plant = plantWith(['/vessels/system/stop', undefined]);
    expect(stopFor(plant, 'drain')).toContain('switch off Drain pump at the breaker panel');
  });
});
