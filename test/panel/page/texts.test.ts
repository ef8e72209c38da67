// The page speaks two languages, and nothing that the service says may be left in the wrong one.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { deriveRows, looksOf } from '../../../src/control/guard/interlocks.ts';
import type { Effect } from '../../../src/control/guard/types.ts';
import { describe as statusOf } from '../../../src/control/process/describe.ts';
import german from '../../../src/language/de.json' with { type: 'json' };
import { isMessage, type Message, message } from '../../../src/language/message.ts';
import { namesOf } from '../../../src/language/names.ts';
import { print } from '../../../src/language/print.ts';
import { prefer } from '../../../src/panel/page/state/preferences.ts';
import { UNITS } from '../../../src/panel/page/units.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { couple, plantAt } from '../../tools/coupled.ts';

interface Texts {
  readonly words: Readonly<Record<string, string>>;
}
const read = (language: string): Texts =>
  JSON.parse(readFileSync(`src/panel/page/texts/${language}.json`, 'utf8'));
const en = read('en');
const de = read('de');
const slots = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/gu)].map(([slot]) => slot).toSorted();

const FILES = [
  'schemas/examples/marram-point.json',
  'schemas/examples/one-vat.json',
  'schemas/examples/unequal-vats.json',
  'test/stations/bench-rig.json',
];

test('both files have the same texts, with the same places to fill in', () => {
  expect(Object.keys(de.words).toSorted()).toEqual(Object.keys(en.words).toSorted());
  for (const [key, text] of Object.entries(de.words)) {
    expect(slots(text), key).toEqual(slots(en.words[key] ?? ''));
    expect(text.trim(), key).not.toBe('');
  }
});

const inGerman = (plant: Plant, said: Message): string =>
  print(said, { language: 'de', catalogue: german, names: namesOf(plant, 'de'), units: UNITS });

/** Every place is filled in: with something, and with no object. */
const isWhole = (text: string): boolean => !/\{|undefined|null|NaN|\[object/u.test(text);

describe('what the core says in German', () => {
  test.each(FILES)('%s: every row, its advice and what it looks at has its places filled in', (file) => {
    const plant = plantAt(file);
    const coupled = couple(plant);
    coupled.run(60_000);
    const said = deriveRows(plant).flatMap((row) => [
      ...[row.about, row.hazard, row.words, row.response, row.bypass.because, row.proof].filter(isMessage),
      ...looksOf(row, coupled.state()).flatMap((look) => ('about' in look ? [look.about] : [])),
    ]);
    expect(said.map((one) => inGerman(plant, one)).filter((text) => !isWhole(text))).toEqual([]);
    expect(said.length).toBeGreaterThan(100);
  });

  test('three eventful days: nothing that was said lacks a sentence or what goes into it', () => {
    const broken = new Set<string>();
    const ids = new Set<string>();
    for (const [file, faults] of EVENTFUL) {
      const plant = plantAt(file);
      const coupled = couple(plant, { faults: [...faults], stepMs: 10_000 });
      const look = (words: Message | undefined) => {
        if (words === undefined) return;
        ids.add(words.id);
        const text = inGerman(plant, words);
        if (!isWhole(text)) broken.add(text);
      };
      const hear = (effect: Effect) => {
        if (effect.do === 'record' || effect.do === 'answer' || effect.do === 'alarm') look(effect.words);
        if (effect.do === 'alarm') look(effect.response);
        if (effect.do === 'ask') look(effect.task?.words);
      };
      let told = 0;
      coupled.run(26 * 3_600_000, () => {
        for (; told < coupled.log.length; told += 1) {
          const happened = coupled.log[told];
          if (happened) hear(happened.effect);
        }
        const { units, forecast, task, unknown: open } = statusOf(coupled.plant, coupled.state());
        const parts = [...forecast.parts, ...Object.values(units.exchange).flatMap((one) => one.timetable)];
        for (const { words } of [units.refill, units.batch, ...Object.values(units.exchange), ...parts])
          look(words);
        look(task?.words);
        open.forEach(look);
        ask(coupled);
        return false;
      });
    }
    expect([...broken]).toEqual([]);
    expect(ids.size).toBeGreaterThan(60);
  });

  test('numbers follow the person: litres and degrees in German with a comma', () => {
    // A Node that knows of a navigator says whose units are usual; here it is somebody who reads litres.
    prefer('volume', 'L');
    prefer('temperature', 'degC');
    const plant = plantAt('schemas/examples/marram-point.json');
    expect(inGerman(plant, message('fresh-water-to-go', { volumeL: 140 }))).toMatch(
      /^Reinwasser wird gepumpt: noch 140\sL$/u,
    );
    const why = message('vessel-low', { vessel: 'fresh' });
    expect(inGerman(plant, message('held-by-row', { row: 'I-05', why }))).toBe(
      'pausiert durch I-05: Reinwasserbehälter: niedrig, der untere Schwimmer ist trocken',
    );
  });
});

const EVENTFUL: readonly (readonly [string, readonly string[]])[] = [
  ['schemas/examples/marram-point.json', ['says:tray-leak=wet@20h', 'no-pressure:purifier@2h-3h']],
  ['schemas/examples/unequal-vats.json', ['salt-share:mixing=0.7@0']],
  ['schemas/examples/one-vat.json', []],
];

/** Somebody presses every button now and then. */
function ask(coupled: ReturnType<typeof couple>): void {
  const at = coupled.nowMs();
  if (at % 3_600_000 !== 0) return;
  const asks = ['start', 'hold', 'restart', 'stop', 'reset'] as const;
  const hour = at / 3_600_000;
  const next = asks[hour % asks.length] ?? 'start';
  if (hour < 4 || hour > 12) coupled.request({ ask: 'start', unit: 'all' });
  else coupled.request({ ask: next, unit: hour % 2 === 0 ? 'all' : 'batch' });
  if (hour === 14) coupled.request({ ask: 'exchange-now', system: 'system', volumeL: 20 });
  if (hour === 22) coupled.request({ ask: 'reset-trip', trip: 'all' });
  if (hour === 23) coupled.request({ ask: 'acknowledge', alarm: 'all' });
}
