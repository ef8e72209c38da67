// The page's words, one file a language; and what the service says, printed from the catalogue of that language in the person's
// units.
import { computed, effect, signal } from '@preact/signals';
import sentences from '../../language/en.json';
import { message } from '../../language/message.ts';
import { namesOf } from '../../language/names.ts';
import { type Catalogue, print, type Reader } from '../../language/print.ts';
import type { Words } from '../contract.ts';
import { standing } from './state/live.ts';
import { preferences } from './state/preferences.ts';
import english from './texts/en.json';
import { UNITS } from './units.ts';

export type Texts = typeof english;
export type Key = keyof Texts['words'];

interface Language {
  readonly texts: Texts;
  readonly catalogue: Catalogue;
}
const ENGLISH: Language = { texts: english, catalogue: sentences };

const loaded = signal<Readonly<Partial<Record<'en' | 'de', Language>>>>({ en: ENGLISH });

/** A language comes over the line only when somebody wants it. */
effect(() => {
  const { language } = preferences.value;
  if (language !== 'de' || loaded.peek().de !== undefined) return;
  Promise.all([import('./texts/de.json'), import('../../language/de.json')]).then(([texts, catalogue]) => {
    const de = { texts: texts.default as Texts, catalogue: catalogue.default as Catalogue };
    loaded.value = { ...loaded.peek(), de };
  });
});

const language = computed<Language>(() => loaded.value[preferences.value.language] ?? ENGLISH);
const texts = computed<Texts>(() => language.value.texts);

const NOTHING = { vessels: {}, routes: {}, sensors: {}, actuators: {}, heaters: {}, id: '', name: '' };
const reader = computed<Reader>(() => ({
  language: preferences.value.language,
  catalogue: language.value.catalogue,
  names: namesOf(standing.value ?? NOTHING, preferences.value.language),
  units: UNITS,
}));

export type Values = Readonly<Record<string, string | number>>;

/** A text by its key. `{name}` in it is filled in; with a `count`, `key.one` serves for 1. */
export function t(key: Key, values: Values = {}): string {
  const { words } = texts.value;
  const one = `${key}.one` as Key;
  const text = values.count === 1 && words[one] !== undefined ? words[one] : words[key];
  return text.replace(/\{(\w+)\}/gu, (whole, name: string) => String(values[name] ?? whole));
}

/** Whether there is such a text: for keys that are made of data. */
export function has(key: string): key is Key {
  return key in english.words;
}

/** A text by a key made of data; without one, the data itself. */
export function say(key: string, otherwise: string): string {
  return has(key) ? t(key) : otherwise;
}

/** What the service said, in this person's language and units; what is text already is told as it is. */
export function told(words: Words): string {
  return typeof words === 'string' ? words : print(words, reader.value);
}

/** With a capital: what is said begins small, because it may stand inside a sentence. */
export function sentence(words: Words): string {
  const text = told(words);
  return text.slice(0, 1).toLocaleUpperCase(preferences.value.language) + text.slice(1);
}

/** Whoever did something: by name, or as somebody. */
export const person = (who: string): string => told(message('the-person', { who }));
