// What is wrong with a station file, said so that its owner can mend it without reading the schema: where, what was
// found, what is accepted there, and the nearest right spelling.
import { distance } from 'fastest-levenshtein';
import { nearestSpelling } from '../units/quantity.ts';

/** A mistake before it is known on which line it stands. The pointer (RFC 6901) names something that is in the file. */
export interface Mistake {
  readonly pointer: string;
  /** What is there. */
  readonly found: string;
  /** What would do. */
  readonly accepted: string;
  /** The nearest right spelling, where one is near. */
  readonly nearest?: string | undefined;
}

export interface StationError extends Mistake {
  readonly file: string;
  /** Both counted from 1. */
  readonly line: number;
  readonly column: number;
}

/** One line for a terminal: `marram.json:12:9 /vessels/fresh/capacity: found ...; accepted: ... Did you mean ...?` */
export function wordsOf(error: StationError): string {
  const where = `${error.file}:${error.line}:${error.column} ${error.pointer === '' ? 'the whole file' : error.pointer}`;
  const meant = error.nearest === undefined ? '' : `. Did you mean ${error.nearest}?`;
  return `${where}: found ${error.found}; accepted: ${error.accepted}${meant}`;
}

/** A value as it stands in the file, cut where it is long. */
export function shown(value: unknown): string {
  const text = JSON.stringify(value) ?? 'nothing';
  return text.length <= 60 ? text : `${text.slice(0, 57)}...`;
}

/** An id or a key in a sentence. */
export function quoted(text: string): string {
  return JSON.stringify(text);
}

export function listed(words: readonly string[]): string {
  return words.length === 0 ? 'nothing (there are none)' : words.join(', ');
}

/**
 * The candidate nearest to what was written, or nothing when none is near. A third of the word may be wrong, so that
 * `vesel` is mended to `vessel` and `sump` is not mended to `pump-2`; a good beginning counts too (`mixer`, `mixing`).
 */
export function nearest(written: string, candidates: readonly string[]): string | undefined {
  const spoken = nearestSpelling(written, candidates);
  let best: string | undefined;
  let strokes = Math.max(2, Math.floor(written.length / 3)) + 1;
  for (const candidate of candidates) {
    const away = distance(written.toLowerCase(), candidate.toLowerCase());
    if (away < strokes && away < Math.max(written.length, candidate.length)) {
      best = candidate;
      strokes = away;
    }
  }
  if (best !== undefined || spoken !== undefined) return best ?? spoken;
  const turned = candidates.find((candidate) => lettersOf(candidate) === lettersOf(written));
  if (turned !== undefined) return turned;
  const begun = candidates.filter((candidate) =>
    candidate.toLowerCase().startsWith(written.slice(0, 3).toLowerCase()),
  );
  return written.length > 3 && begun.length === 1 ? begun[0] : undefined;
}

/** `no` is two strokes from `on`, which is all of it; but the letters are the same. */
function lettersOf(word: string): string {
  return [...word].toSorted().join('');
}
