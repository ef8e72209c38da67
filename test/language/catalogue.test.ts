// A sentence is said once: by id in the code, once in each language, and nowhere else.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { PROCEDURE } from '../../src/control/process/procedure.ts';
import { STAGES } from '../../src/control/process/stages.ts';
import de from '../../src/language/de.json' with { type: 'json' };
import en from '../../src/language/en.json' with { type: 'json' };
import { piecesOf } from '../../src/language/places.ts';
import { wordId } from '../../src/language/print.ts';

const LANGUAGES: Readonly<Record<string, Readonly<Record<string, string>>>> = { en, de };

const files = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .filter((file) => /\.tsx?$/u.test(file) && !file.endsWith('.generated.ts'))
  .map((file) => ({ path: join('src', file), text: readFileSync(join('src', file), 'utf8') }));

const placesIn = (sentence: string): readonly string[] =>
  piecesOf(sentence)
    .flatMap((piece) => (typeof piece === 'string' ? [] : [`${piece.name}.${piece.digits}`]))
    .toSorted();

describe.each(Object.keys(LANGUAGES))('%s', (language) => {
  const catalogue = LANGUAGES[language] ?? {};

  test('has every sentence, and none of its own', () => {
    expect(Object.keys(catalogue).toSorted()).toEqual(Object.keys(en).toSorted());
  });

  test('has the places of the English sentence in each', () => {
    const otherwise = Object.entries(en).filter(
      ([id, english]) => String(placesIn(catalogue[id] ?? '')) !== String(placesIn(english)),
    );
    expect(otherwise).toEqual([]);
  });

  test('has ids that speak, in words with hyphens', () => {
    expect(Object.keys(catalogue).filter((id) => !/^[a-z]+(?:-[a-z0-9]+)*$/u.test(id))).toEqual([]);
  });
});

/** The sentences of enumerations are said by their values. */
const OF_VALUES: Readonly<Record<string, readonly string[]>> = {
  procedure: Object.keys(PROCEDURE),
  stage: Object.keys(STAGES),
  step: ['rest', 'drain', 'supply'],
  unit: ['refill', 'batch'],
  result: ['passed', 'failed'],
  alarmState: ['shelved', 'suppressed-by-design', 'out-of-service'],
};
const BY_VALUE = /^(?:ask|by-hand|salt|who|instrument)-/u;

test('Every sentence is said somewhere', () => {
  const values = Object.entries(OF_VALUES).flatMap(([place, all]) =>
    all.map((value) => wordId(place, value)),
  );
  const dead = Object.keys(en).filter((id) => {
    if (values.includes(id)) return false;
    const said = id.endsWith('-by-request') ? '-by-request`' : `'${id}'`;
    if (files.some(({ text }) => text.includes(said))) return false;
    return !BY_VALUE.test(id) || !files.some(({ text }) => isValueIn(id, text));
  });
  expect(dead).toEqual([]);
});

/** `by-hand-no-route-leads-through-it` is said where a string reads `no route leads through it`. */
function isValueIn(id: string, text: string): boolean {
  const place = /^(?:ask|by-hand|salt|who|instrument)/u.exec(id)?.[0] ?? '';
  const strings = text.match(/'[^'\n]+'/gu) ?? [];
  return strings.some((one) => wordId(place, one.slice(1, -1)) === id);
}

test('Every value of an enumeration has its sentence', () => {
  const ids = Object.entries(OF_VALUES).flatMap(([place, all]) => all.map((value) => wordId(place, value)));
  expect(ids.filter((id) => !(id in en))).toEqual([]);
});

/** Names of harms, and what ends a wait, for those who read that table. */
const COLUMNS = /\bends: ?(?:'[^'\n]*'|"[^"\n]*")|\bharms: \[[^\]\n]*\]/gu;
const ALLOWED: Readonly<Record<string, readonly string[]>> = {
  'src/control/guard/instruments.ts': ['the probe'],
  // Kinds that the engineering room tells apart.
  'src/control/process/mixing.ts': ['add fresh water', 'replace with fresh water'],
};

const withoutComments = (text: string): string =>
  text.replace(/\/\*[\s\S]*?\*\//gu, '').replace(/^\s*\/\/.*$|\s\/\/ .*$/gmu, '');

test('No sentence is made in the core', () => {
  const made = files
    .filter(({ path }) => path.startsWith('src/control/'))
    .flatMap(({ path, text }) => {
      const code = withoutComments(text)
        .replace(COLUMNS, '')
        .replace(/(?:invariant|InvariantError)\([^;]*;/gu, '')
        .replace(/^import [^;]*;/gmu, '');
      const strings = code.match(/'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|`(?:[^`\\]|\\.)*`/gu) ?? [];
      return strings
        .map((one) => one.slice(1, -1))
        .filter((one) => /[a-z]{2,}[,:;]? [a-z]{2,}/iu.test(one.replace(/\$\{[^}]*\}/gu, 'some')))
        .filter((one) => !(ALLOWED[path] ?? []).includes(one))
        .map((one) => `${path}: ${one}`);
    });
  expect(made).toEqual([]);
});
