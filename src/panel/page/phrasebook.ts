// From the core's English sentences to the person's: a list of patterns, of those that fit the whole sentence the one with
// the most words of its own counts.
//
// In a pattern `{volume}`, `{mass}`, `{flow}`, `{temperature}`, `{difference}`, `{minutes}`, `{percent}`, `{salinity}` and
// `{number}` are numbers with the unit that the core writes; `{a}`, `{b}` ... are any words, looked up again themselves, so
// that a sentence may hold another. Digits after a name tell two of a kind apart. What no pattern fits stays as it is,
// save for its units.
import * as units from './units.ts';

export type Phrasebook = (words: string) => string;

const NUMBER = '(-?\\d+(?:\\.\\d+)?)';
const SLOTS: Readonly<
  Record<string, { readonly pattern: string; readonly write: (text: string) => string }>
> = {
  volume: { pattern: `${NUMBER} L`, write: (text) => units.volume(Number(text), decimals(text)) },
  flow: { pattern: `${NUMBER} L/min`, write: (text) => units.flow(Number(text)) },
  temperature: { pattern: `${NUMBER} degC`, write: (text) => units.temperature(Number(text)) },
  difference: { pattern: `${NUMBER} K`, write: (text) => units.difference(Number(text)) },
  kilograms: { pattern: `${NUMBER} kg`, write: (text) => units.mass(Number(text)) },
  grams: { pattern: `${NUMBER} g`, write: (text) => units.mass(Number(text) / 1000) },
  minutes: { pattern: `${NUMBER} min`, write: (text) => units.duration(Number(text) * 60_000) },
  days: { pattern: `${NUMBER} d`, write: (text) => units.duration(Number(text) * 86_400_000) },
  percent: { pattern: `${NUMBER} %`, write: (text) => units.share(Number(text) / 100) },
  salinity: { pattern: NUMBER, write: (text) => units.salinity(Number(text)) },
  number: { pattern: NUMBER, write: (text) => units.number(Number(text), decimals(text)) },
};

const decimals = (text: string): number => (text.split('.')[1] ?? '').length;

interface Phrase {
  readonly english: string;
  readonly pattern: RegExp;
  readonly slots: readonly string[];
  readonly text: string;
}

/** A sentence inside a sentence inside a sentence: deeper than this nothing of ours goes. */
const DEEPEST = 6;

export function phrasebook(core: Readonly<Record<string, string>>): Phrasebook {
  const phrases = phrasesOf(core);
  const cache = new Map<string, string>();
  const find = (words: string, depth: number): string => {
    for (const phrase of phrases) {
      const match = phrase.pattern.exec(words);
      if (match !== null)
        return filled(phrase, match, (inner) => (depth < DEEPEST ? find(inner, depth + 1) : inner));
    }
    return withUnits(words);
  };
  return (words) => {
    const known = cache.get(words);
    if (known !== undefined) return known;
    const found = find(words, 0);
    if (cache.size > 2_000) cache.clear();
    cache.set(words, found);
    return found;
  };
}

/** Which pattern fits, or null: for the tests that hold the core's words against every language. */
export function patternFor(core: Readonly<Record<string, string>>): (words: string) => string | null {
  const phrases = phrasesOf(core);
  return (words) => phrases.find(({ pattern }) => pattern.test(words))?.english ?? null;
}

/** A sentence that is said as the core says it; the build writes this for the twin of every such English sentence. */
export const SAME = '=';

function phrasesOf(core: Readonly<Record<string, string>>): Phrase[] {
  const own = (english: string) => english.replace(/\{\w+\}/gu, '').length;
  return Object.entries(core)
    .map(([english, text]) => phraseOf(english, text === SAME ? english : text))
    .toSorted((a, b) => own(b.english) - own(a.english));
}

const nameOf = (slot: string): string => slot.replace(/\d+$/u, '');

function phraseOf(english: string, text: string): Phrase {
  const slots: string[] = [];
  const source = english
    .split(/(\{\w+\})/u)
    .map((part) => {
      const slot = /^\{(\w+)\}$/u.exec(part)?.[1];
      if (slot === undefined) return part.replace(/[.*+?^${}()|[\]\\]/gu, '\\$&');
      slots.push(slot);
      return SLOTS[nameOf(slot)]?.pattern ?? '(.+?)';
    })
    .join('');
  return { english, pattern: new RegExp(`^${source}$`, 'u'), slots, text };
}

function filled({ slots, text }: Phrase, match: RegExpExecArray, inner: (words: string) => string): string {
  return text.replace(/\{(\w+)\}/gu, (whole, slot: string) => {
    const at = slots.indexOf(slot);
    const found = match[at + 1];
    if (at < 0 || found === undefined) return whole;
    return SLOTS[nameOf(slot)]?.write(found) ?? inner(found);
  });
}

const UNITED = /(-?\d+(?:\.\d+)?) (L\/min|L|degC|kg)(?![\w/])/gu;

function withUnits(words: string): string {
  return words.replace(UNITED, (whole, value: string, unit: string) => {
    if (unit === 'L') return SLOTS.volume?.write(value) ?? whole;
    if (unit === 'L/min') return SLOTS.flow?.write(value) ?? whole;
    if (unit === 'degC') return SLOTS.temperature?.write(value) ?? whole;
    return SLOTS.kilograms?.write(value) ?? whole;
  });
}
