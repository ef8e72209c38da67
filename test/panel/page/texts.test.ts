// The page speaks two languages, and nothing that the core says may be left in the wrong one.
import { readdirSync, readFileSync } from 'node:fs';
import { parseSync } from 'vite';
import { describe, expect, test } from 'vitest';
import { deriveRows } from '../../../src/control/guard/interlocks.ts';
import type { Effect } from '../../../src/control/guard/types.ts';
import { describe as statusOf } from '../../../src/control/process/describe.ts';
import { STAGES } from '../../../src/control/process/stages.ts';
import { patternFor, phrasebook } from '../../../src/panel/page/phrasebook.ts';
import { prefer } from '../../../src/panel/page/state/preferences.ts';
import { inputsOf } from '../../../src/panel/row-inputs.ts';
import { couple, plantAt } from '../../tools/coupled.ts';

interface Texts {
  readonly words: Readonly<Record<string, string>>;
  readonly core: Readonly<Record<string, string>>;
}
const read = (language: string): Texts =>
  JSON.parse(readFileSync(`src/panel/page/texts/${language}.json`, 'utf8'));
const en = read('en');
const de = read('de');
/** Every sentence is looked up often: once is enough. */
const patterns = patternFor(de.core);
const seen = new Map<string, boolean>();
function isKnown(words: string): boolean {
  const known = seen.get(words) ?? patterns(words) !== null;
  seen.set(words, known);
  return known;
}
const slots = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/gu)].map(([slot]) => slot).toSorted();

const FILES = [
  'schemas/examples/marram-point.json',
  'schemas/examples/one-vat.json',
  'schemas/examples/unequal-vats.json',
  'test/stations/bench-rig.json',
];
const MEND = "add it to 'core' in src/panel/page/texts/en.json and de.json";

describe('two languages', () => {
  test('both files have the same texts, with the same places to fill in', () => {
    for (const part of ['words', 'core'] as const) {
      expect(Object.keys(de[part]).toSorted()).toEqual(Object.keys(en[part]).toSorted());
      for (const [key, text] of Object.entries(de[part])) {
        const places = part === 'core' ? slots(key) : slots(en[part][key] ?? '');
        expect(slots(text), key).toEqual(places);
        expect(text.trim(), key).not.toBe('');
      }
    }
  });

  test('every pattern finds itself and no other first', () => {
    for (const english of Object.keys(en.core)) expect(patterns(filledIn(english))).toBe(english);
  });
});

/** A pattern with plausible values in its places. */
function filledIn(pattern: string): string {
  const values: Readonly<Record<string, string>> = {
    volume: '12.3 L',
    flow: '0.2 L/min',
    temperature: '25.0 degC',
    difference: '0.20 K',
    kilograms: '8.60 kg',
    grams: '120 g',
    minutes: '5.0 min',
    days: '14 d',
    percent: '9 %',
    salinity: '34.98',
    number: '3',
  };
  return pattern.replace(
    /\{(\w+)\}/gu,
    (_, slot: string) => values[slot.replace(/\d+$/u, '')] ?? 'Kelp shelf',
  );
}

describe('what the core says', () => {
  test.each(FILES)('%s: every row, its advice and its inputs are in the book', (file) => {
    const plant = plantAt(file);
    const coupled = couple(plant);
    coupled.run(60_000);
    const unknown = new Set<string>();
    const look = (words: string) => {
      if (words !== '' && !isKnown(words)) unknown.add(words);
    };
    for (const row of deriveRows(plant)) {
      look(row.hazard);
      look(row.words);
      look(row.mend);
      if (row.proof !== null) look(row.proof);
      for (const input of inputsOf(plant, coupled.state(), row)) if ('about' in input) look(input.about);
    }
    expect([...unknown], MEND).toEqual([]);
  });

  test('three eventful days: nothing that was said is missing in the book', () => {
    const unknown = new Set<string>();
    const look = (words: string | undefined) => {
      if (words && !isKnown(words)) unknown.add(words);
    };
    const hear = (effect: Effect) => {
      if (effect.do === 'record' && effect.about !== 'trip') look(effect.words);
      if (effect.do === 'answer') look(effect.words);
      if (effect.do === 'alarm') {
        look(effect.words);
        look(effect.mend);
      }
      if (effect.do === 'ask') look(effect.task?.words);
    };
    for (const [file, faults] of EVENTFUL) {
      const coupled = couple(plantAt(file), { faults: [...faults], stepMs: 10_000 });
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
    expect([...unknown], MEND).toEqual([]);
  });

  test('no sentence stands in the core that the book does not know', () => {
    const unknown = sentencesOf('src/control').filter(
      (tries) => !tries.some((words) => patterns(words) !== null),
    );
    expect(
      unknown.map(([first]) => first),
      MEND,
    ).toEqual([]);
  });

  test('every stage of a batch has its word in what is recorded, also one that no day here comes to', () => {
    expect(
      Object.keys(STAGES).filter((stage) => de.core[stage] === undefined),
      MEND,
    ).toEqual([]);
  });

  test('a sentence has the places of its key, no other and none less', () => {
    const places = (words: string) => [...new Set(words.match(/\{\w+\}/gu) ?? [])].toSorted();
    const wrong = [en, de].flatMap(({ core }) =>
      Object.entries(core).filter(([key, words]) => `${places(key)}` !== `${places(words)}`),
    );
    expect(wrong).toEqual([]);
  });

  test('numbers follow the person: litres and degrees in German with a comma', () => {
    // A Node that knows of a navigator says whose units are usual; here it is somebody who reads litres.
    prefer('volume', 'L');
    prefer('temperature', 'degC');
    const say = phrasebook(de.core);
    expect(say('fresh water goes over: 140 L to go')).toMatch(
      /^Frischwasser wird übergepumpt: noch 140\sL$/u,
    );
    expect(say('held by I-05: the Fresh vat is low: its low float is dry')).toBe(
      'angehalten durch I-05: Fresh vat: niedrig, der untere Schwimmer ist trocken',
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

/**
 * Sentences in the source of the core: texts and templates of several words that are not the message of a broken
 * invariant. Nobody can see from a template what will stand in it, so each place is tried with whatever the core puts
 * into its sentences; one of these must be in the book.
 */
function sentencesOf(folder: string): string[][] {
  const found: string[][] = [];
  for (const name of readdirSync(folder)) {
    if (!name.endsWith('.ts')) continue;
    const source = readFileSync(`${folder}/${name}`, 'utf8');
    walk(parseSync(name, source).program, source, (tries) => found.push(tries));
  }
  return found;
}

interface Node {
  readonly type: string;
  readonly start: number;
  readonly end: number;
  readonly [key: string]: unknown;
}

/** Columns of the table of rows that `check` prints and the page does not; and one of the table of waits that nobody prints. */
const UNSHOWN = ['hardware', 'pattern', 'reset', 'unproven', 'ends'];
const SILENT = ['invariant', 'InvariantError', 'Error'];
const FILLINGS = ['12.3', 'Kelp shelf', '25.0 degC', '9 %', '8.60 kg', 'held', 'start'];
const isSentence = (text: string): boolean => /[a-z]{2,} [a-z]{2,}/iu.test(text);

function walk(node: unknown, source: string, tell: (tries: string[]) => void): void {
  if (Array.isArray(node)) {
    for (const one of node) walk(one, source, tell);
    return;
  }
  if (typeof node !== 'object' || node === null || !('type' in node)) return;
  const here = node as Node;
  if (here.type === 'CallExpression' || here.type === 'NewExpression') {
    const callee = here.callee as Node;
    if (SILENT.includes(source.slice(callee.start, callee.end))) return;
  }
  if (here.type === 'TSLiteralType' || here.type === 'ImportDeclaration') return;
  if (here.type === 'BinaryExpression' && here.operator === '===') return;
  if (here.type === 'Property' && UNSHOWN.includes(String((here.key as Node).name))) return;
  if (here.type === 'Literal' && typeof here.value === 'string' && isSentence(here.value)) tell([here.value]);
  if (here.type === 'TemplateLiteral') {
    const texts = (here.quasis as Node[]).map(({ value }) => (value as { cooked: string }).cooked);
    if (isSentence(texts.join('')) && !/^[AI]-\d\d/u.test(texts[0] ?? '')) tell(filled(texts));
  }
  for (const [key, inner] of Object.entries(here)) if (key !== 'type') walk(inner, source, tell);
}

function filled(texts: readonly string[]): string[] {
  const [first = '', ...rest] = texts;
  return rest.reduce<string[]>(
    (tries, text) => tries.flatMap((begun) => FILLINGS.map((filling) => begun + filling + text)),
    [first],
  );
}
