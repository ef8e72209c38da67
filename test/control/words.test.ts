// Every text of every row, over stations of several kinds: it names only what the station has, it is written as a sentence,
// and where something is to be done it says what.

import { describe, expect, test } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { inEnglish } from '../../src/station/called.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';

const EXAMPLES: Readonly<Record<string, Plant>> = {
  'marram-point': plantAt('schemas/examples/marram-point.json'),
  'one-vat': plantAt('schemas/examples/one-vat.json'),
  'unequal-vats': plantAt('schemas/examples/unequal-vats.json'),
  'bench-rig': plantAt('test/stations/bench-rig.json'),
};

const marram = plantAt('schemas/examples/marram-point.json');

/** The transfer goes by height through the valve of the inlet's kind, and no pump is on its way. */
const gravity: Plant = (() => {
  const valve = { ...marram.actuators['transfer-pump'], kind: 'valve', name: 'Transfer valve' };
  const transfer = { ...marram.routes.transfer, pumped: false };
  return {
    ...marram,
    routes: { ...marram.routes, transfer },
    actuators: { ...marram.actuators, 'transfer-pump': valve },
  } as Plant;
})();

/** Levels and nothing else say how much is in a vessel. */
const levelsOnly: Plant = {
  ...marram,
  vessels: Object.fromEntries(
    Object.entries(marram.vessels).map(([id, vessel]) => [id, { ...vessel, floats: {} }]),
  ),
};

/** No meter anywhere. */
const unmetered: Plant = {
  ...marram,
  routes: Object.fromEntries(
    Object.entries(marram.routes).map(([id, route]) => [id, { ...route, meter: null }]),
  ),
};

const STATIONS: Readonly<Record<string, Plant>> = { ...EXAMPLES, gravity, levelsOnly, unmetered };

interface Said {
  readonly key: string;
  readonly text: string;
}

const saidBy = (plant: Plant): readonly Said[] =>
  deriveRows(plant).flatMap(({ key, words, response, proof }) =>
    [words, response, proof]
      .map((one) => say(one, plant))
      .filter((text) => text !== '')
      .map((text) => ({ key, text })),
  );

const namesOf = (plant: Plant): readonly string[] => [
  ...[...Object.values(plant.vessels), ...Object.values(plant.routes), ...Object.values(plant.sensors)].map(
    ({ name }) => name,
  ),
  ...[...Object.values(plant.actuators), ...Object.values(plant.heaters)].map(({ name }) => name),
  ...[
    ...Object.values(plant.vessels).flatMap(({ stop }) => [stop.inflow, stop.outflow]),
    ...[...Object.values(plant.routes), ...Object.values(plant.actuators)].map(({ stop }) => stop),
  ].flatMap((one) => (one === null ? [] : [one.what, one.where ?? ''].map(inEnglish))),
];

/** What the owner calls things is no word of ours. */
function withoutNames(plant: Plant, text: string): string {
  const names = namesOf(plant)
    .filter((name) => name !== '')
    .toSorted((a, b) => b.length - a.length);
  const ours = names.reduce((left, name) => left.replaceAll(name, 'NAME'), text);
  // The float of a top-off is its own, and no sensor of the station.
  return ours.replace(/its float|float of the top-off/u, 'top-off');
}

/** A word of ours, and what a station must have for it. */
const THINGS: readonly (readonly [RegExp, (plant: Plant) => boolean])[] = [
  [/\bfresh vat\b/u, ({ freshId }) => freshId !== null],
  [
    /\bfloat\b/u,
    ({ vessels }) => Object.values(vessels).some(({ floats }) => Object.keys(floats).length > 0),
  ],
  [/\blevel sensor\b/u, ({ vessels }) => Object.values(vessels).some(({ level }) => level !== null)],
  [/\bmeter\b/u, ({ routes }) => Object.values(routes).some(({ meter }) => meter !== null)],
  [/\bheats?\b|\bheater\b/u, ({ heaters }) => Object.keys(heaters).length > 0],
  [/\btop-off\b/u, ({ vessels }) => Object.values(vessels).some(({ topOff }) => topOff !== null)],
  [
    /\bupstream, was told\b/u,
    ({ actuators }) => Object.values(actuators).some(({ upstream }) => upstream !== null),
  ],
  [
    /\bunplug\b/u,
    ({ vessels, routes, actuators }) =>
      [
        ...Object.values(vessels).flatMap(({ stop }) => [stop.inflow, stop.outflow]),
        ...[...Object.values(routes), ...Object.values(actuators)].map(({ stop }) => stop),
      ].some((stop) => stop?.action === 'unplug'),
  ],
  [/\bplug of\b|\bhand valve\b/u, () => false],
];

describe.each(Object.entries(STATIONS))('what the rows of %s say', (_, plant) => {
  test('names only what the station has', () => {
    const wrong = saidBy(plant).filter(({ text }) =>
      THINGS.some(([thing, has]) => thing.test(withoutNames(plant, text)) && !has(plant)),
    );
    expect(wrong).toEqual([]);
  });

  test('names a purifier and its membrane only where water comes from one', () => {
    const wrong = saidBy(plant).filter(({ key, text }) => {
      if (!/\bmembrane|\bresin|\bpurifier/u.test(withoutNames(plant, text))) return false;
      const source = plant.vessels[plant.routes[key.split('/')[1] ?? '']?.from ?? ''];
      return source?.role !== 'purified-water';
    });
    expect(wrong).toEqual([]);
  });

  test('names a siphon only where a pump lifts water over the way, and a valve only where one is', () => {
    const wrong = saidBy(plant).filter(({ key, text }) => {
      const route = plant.routes[key.split('/')[1] ?? ''];
      if (route === undefined || !key.startsWith('I-09')) return false;
      const hasValve = route.through.some((id) => plant.actuators[id]?.kind === 'valve');
      const ours = withoutNames(plant, text);
      const fit = ours.replace(/fit a siphon break in NAME, or a valve/u, '');
      return (/siphon/u.test(ours) && (!route.pumped || route.loop)) || (/\bvalve\b/u.test(fit) && !hasValve);
    });
    expect(wrong).toEqual([]);
  });

  test('is written as sentences: no stop twice, no empty place, no bracket left open', () => {
    const wrong = saidBy(plant).filter(
      ({ text }) =>
        /\.\.|,,|;;|: *[.,;]|\. *\.|\s[.,;:]|\s{2}|undefined|null|\(\)|NaN/u.test(text) ||
        text.split('(').length !== text.split(')').length,
    );
    expect(wrong).toEqual([]);
  });

  test('begins each sentence of an instruction with what to do, or with what happens', () => {
    const wrong = deriveRows(plant).flatMap(({ key, response }) =>
      say(response, plant)
        .split(/(?<=[.?!])\s+/u)
        .filter((sentence) => sentence !== '' && !OPENS.test(sentence))
        .map((sentence) => ({ key, sentence })),
    );
    expect(wrong).toEqual([]);
  });

  test('ends each instruction with one full stop, and each cause with none', () => {
    const rows = deriveRows(plant).map(({ key, words, response }) => ({
      key,
      words: say(words, plant),
      response: say(response, plant),
    }));
    expect(
      rows.filter(({ response }) => response !== '' && !/[^.]\.$/u.test(response)).map(({ key }) => key),
    ).toEqual([]);
    expect(rows.filter(({ words }) => /\.$/u.test(words)).map(({ key }) => key)).toEqual([]);
  });
});

/** A verb that asks, or a subject with its verb. */
const OPENS =
  /^(?:Look|Find|Bring|Clear|Open|Close|Stop|Switch|Shut|Replace|Check|Measure|Compare|Lower|Mend|Do not|Let|Give|Make|Free|Put|Then|If |It |Nothing|Outputs|What|The |Only|Stay|Reset|Move|Electricity first:|This |Water |Before |A heater |Later:|Unplug|Say|Dry|Add|Take|Until|Once|To stop it|Test|Pumps and heaters|Repair|Report|Turn|Start|Touch)/u;

describe('where two kinds of station differ', () => {
  const wordsOf = (plant: Plant, key: string): string =>
    say(deriveRows(plant).find((row) => row.key === key)?.words, plant);
  test('water that comes by height has no membrane: its outlet, its valve and air are named', () => {
    expect(wordsOf(gravity, 'I-07/transfer/starved')).toMatch(
      /air or dirt.*too little water above the outlet of the Fresh vat/u,
    );
    expect(wordsOf(marram, 'I-07/refill/starved')).toMatch(/a closed tap.*an exhausted membrane/u);
  });

  test('the likeliest cause comes first: a siphon where nothing but a pump is on the way, else the valve', () => {
    expect(wordsOf(marram, 'I-09/transfer')).toMatch(/told to stop: a siphon, /u);
    expect(wordsOf(marram, 'I-09/refill')).toMatch(/told to stop: a valve that does not close, /u);
    for (const key of ['I-09/transfer', 'I-09/refill'])
      expect(wordsOf(marram, key)).toMatch(
        /two outputs that are swapped, or a meter that counts without flow$/u,
      );
  });
});
