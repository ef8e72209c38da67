// What a payload may say: a word, one of several, or a number above or below a limit. Words compare by what they print as.

/** As it is written in a file. */
export type WrittenWord = string | number | boolean;
export type WrittenWords =
  | WrittenWord
  | readonly WrittenWord[]
  | { readonly above?: number; readonly below?: number };

type Saying = string | { readonly above: number } | { readonly below: number };
export type Words = readonly Saying[];

export function wordsIn(written: WrittenWords): Words {
  if (typeof written !== 'object') return [String(written).trim()];
  if ('length' in written) return written.map((word) => String(word).trim());
  if (written.above !== undefined) return [{ above: written.above }];
  return written.below === undefined ? [] : [{ below: written.below }];
}

/** Whether a value that was found in a payload says one of the words. */
export const isSaid = (words: Words, found: WrittenWord): boolean =>
  words.some((saying) => {
    if (typeof saying === 'string') return String(found).trim() === saying;
    const number = decimalIn(found);
    if (number === null) return false;
    return 'above' in saying ? number > saying.above : number < saying.below;
  });

/** What a device says that means it. */
export function exampleOf([first]: Words): string {
  if (first === undefined || typeof first === 'string') return first ?? '';
  return String(
    'above' in first ? first.above + Math.max(1, Math.abs(first.above)) : Math.min(0, first.below - 1),
  );
}

export const printedWords = (words: Words): string =>
  words
    .map((saying) =>
      typeof saying === 'string'
        ? saying
        : 'above' in saying
          ? `above ${saying.above}`
          : `below ${saying.below}`,
    )
    .join(', ');

/** Something that says both; null where they can be told apart. */
export function saidByBoth(one: Words, other: Words): string | null {
  const said = [...one, ...other].flatMap((saying) =>
    typeof saying === 'string' ? [saying] : limitsOf(saying),
  );
  return said.find((text) => isSaid(one, text) && isSaid(other, text)) ?? null;
}

/** Numbers beside the limit: two ranges that meet have one of them in common. */
function limitsOf(saying: Exclude<Saying, string>): readonly string[] {
  const limit = 'above' in saying ? saying.above : saying.below;
  const step = Math.max(1e-9, Math.abs(limit) * 1e-9);
  return [String(limit), String(limit + ('above' in saying ? step : -step))];
}

const DECIMAL = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/u;

/** A JSON number, or text that is a decimal number; finite. NaN, Infinity, hexadecimal and `true` are no readings. */
export function decimalIn(found: WrittenWord): number | null {
  if (typeof found === 'boolean') return null;
  if (typeof found === 'string' && !DECIMAL.test(found)) return null;
  const number = Number(found);
  return Number.isFinite(number) ? number : null;
}
