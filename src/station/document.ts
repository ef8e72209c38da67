// A JSON file that a person writes, read so that everything wrong with it is said at once.
//
// Three sieves: the text must be JSON, the parts must fit the schema, and the whole must make sense. What one sieve holds
// back is cut out before the next, so that a single slip gives a single sentence and hides no other slip.
import type { Mistake, StationError } from './problem.ts';
import type { Schema } from './schema.ts';
import { mistakesOf, type SchemaMistake } from './schema-mistakes.ts';
import { readText, type Spot } from './text.ts';

export type Document<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly errors: readonly StationError[] };

/** What the schema can't see. Must not throw on a value with the mistakes given. */
export type Sense = (value: unknown, againstSchema: readonly SchemaMistake[]) => readonly Mistake[];

/**
 * Reads a document of the type that its schema describes. Never throws on what a file may hold.
 * @param file its name, for the messages only: nothing is opened.
 * @param written what the file means where it says things shorter than its schema
 */
export function readDocument<T>(
  file: string,
  text: string,
  schema: Schema,
  sense: Sense,
  written: (value: unknown) => unknown = (value) => value,
): Document<T> {
  const read = readText(text);
  if ('mistake' in read) return { ok: false, errors: [located(file, read.mistake, read.spot)] };
  const value = written(read.value);
  const againstSchema = mistakesOf(schema.errorsOf(value), schema.definition);
  const againstSense = sense(value, againstSchema);
  const spotted = [...againstSchema, ...againstSense].map((mistake: Mistake) => ({
    mistake,
    spot: read.spotOf(mistake.pointer),
  }));
  const all = [...spotted, ...read.repeated.map((mistake) => ({ mistake, spot: mistake.spot }))];
  if (all.length === 0) return { ok: true, value: value as T };
  const inOrder = all.toSorted((a, b) => a.spot.offset - b.spot.offset);
  return { ok: false, errors: inOrder.map(({ mistake, spot }) => located(file, mistake, spot)) };
}

function located(file: string, { pointer, found, accepted, nearest }: Mistake, spot: Spot): StationError {
  return { file, pointer, line: spot.line, column: spot.column, found, accepted, nearest };
}
