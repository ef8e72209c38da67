// The page's words. One file a language; what the core says comes as English sentences and is found again by its patterns,
// so that its numbers follow the person's units and its words the person's language.
import { computed, effect, signal } from '@preact/signals';
import { type Phrasebook, phrasebook } from './phrasebook.ts';
import { preferences } from './state/preferences.ts';
import english from './texts/en.json';

export type Texts = typeof english;
export type Key = keyof Texts['words'];

const loaded = signal<Readonly<Partial<Record<'en' | 'de', Texts>>>>({ en: english });

/** A language comes over the line only when somebody wants it. */
effect(() => {
  const { language } = preferences.value;
  if (language !== 'de' || loaded.peek().de !== undefined) return;
  import('./texts/de.json').then((file) => {
    loaded.value = { ...loaded.peek(), de: file.default as Texts };
  });
});

const texts = computed<Texts>(() => loaded.value[preferences.value.language] ?? english);
const books = computed<Phrasebook>(() => phrasebook(texts.value.core));

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

/** What the core said, in this person's language and units. */
export function told(words: string): string {
  return books.value(words);
}

/** With a capital: the core's words begin small, because they stand inside sentences. */
export function sentence(words: string): string {
  const text = told(words);
  return text.slice(0, 1).toLocaleUpperCase(preferences.value.language) + text.slice(1);
}
