// From the text of a file to the value in it, with the line of every part. `JSON.parse` alone would lose three things
// that people need: where a mistake stands, in which order the file has it, and that one key was written twice (copying
// a sensor and forgetting to rename it would silently drop the first).
import { type AnyNode, parse } from '@humanwhocodes/momoa';
import { member } from './pointer.ts';
import { type Mistake, quoted } from './problem.ts';

export interface Spot {
  readonly line: number;
  readonly column: number;
  readonly offset: number;
}

export interface Read {
  readonly value: unknown;
  /** Where the part under a JSON Pointer begins; members begin at their key. */
  spotOf(pointer: string): Spot;
  readonly repeated: readonly (Mistake & { readonly spot: Spot })[];
}

/** What stopped the parser, where, and nothing else: after it the text has no meaning. */
export interface Unreadable {
  readonly mistake: Mistake;
  readonly spot: Spot;
}

const START: Spot = { line: 1, column: 1, offset: 0 };

export function readText(text: string): Read | Unreadable {
  // A byte-order mark is what some editors leave; it means nothing.
  const source = text.startsWith('\uFEFF') ? text.slice(1) : text;
  const spots = new Map<string, Spot>();
  const repeated: Read['repeated'][number][] = [];
  const walk = (node: AnyNode, pointer: string, spot: Spot): void => {
    spots.set(pointer, spot);
    if (node.type === 'Array') {
      for (const [index, element] of node.elements.entries()) {
        walk(element.value, member(pointer, index), element.loc.start);
      }
    }
    if (node.type !== 'Object') return;
    for (const { name, value: inner, loc } of node.members) {
      const key = name.type === 'String' ? name.value : name.name;
      const here = member(pointer, key);
      if (spots.has(here)) {
        const found = `the key ${quoted(key)} a second time`;
        repeated.push({ pointer: here, found, accepted: 'each key once', spot: loc.start });
        // The later one is what counts, so what is inside it is no repetition.
        for (const old of [...spots.keys()]) if (old.startsWith(`${here}/`)) spots.delete(old);
      }
      walk(inner, here, loc.start);
    }
  };
  try {
    const { body } = parse(source, { mode: 'json' });
    const value: unknown = JSON.parse(source);
    walk(body, '', body.loc.start);
    return { value, repeated, spotOf: (pointer) => spotOf(spots, pointer) };
  } catch (error) {
    return unreadable(source, error);
  }
}

/** Of what a file does not say itself, but a device that it names: where that is said. */
function spotOf(spots: ReadonlyMap<string, Spot>, pointer: string): Spot {
  const known = spots.get(pointer);
  if (known !== undefined || pointer === '') return known ?? START;
  return spotOf(spots, pointer.slice(0, pointer.lastIndexOf('/')));
}

function unreadable(source: string, error: unknown): Unreadable {
  const { line, column, offset } = error as Partial<Spot>;
  const message = error instanceof Error ? error.message : String(error);
  const accepted =
    'JSON (RFC 8259): names and texts in double quotes, commas between members, none after the last';
  if (line === undefined || column === undefined || offset === undefined) {
    // Only JSON.parse minds a raw line break inside a text; it says the position in words.
    const position = Number(/position (\d+)/u.exec(message)?.[1] ?? 0);
    const before = source.slice(0, position).split('\n');
    const spot = { line: before.length, column: (before.at(-1) ?? '').length + 1, offset: position };
    return { mistake: { pointer: '', found: `text that is no JSON (${message})`, accepted }, spot };
  }
  const rest = source.slice(offset).trimStart();
  const found =
    rest === ''
      ? 'the end of the file too early'
      : `${quoted(rest.split('\n')[0]?.slice(0, 12) ?? '')} out of place`;
  return { mistake: { pointer: '', found, accepted }, spot: { line, column, offset } };
}
