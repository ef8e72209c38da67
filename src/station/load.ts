// From the text of a station file to a plant, or to everything that is wrong with it at once.
//
// Three sieves: the text must be JSON, the parts must fit the schema, and the whole must make sense (`rules/`). What one
// sieve holds back is cut out before the next, so that a single slip gives a single sentence and hides no other slip.
import { adviceOn, type Warning } from './advice.ts';
import { plantOf } from './compile.ts';
import type { Plant } from './plant.ts';
import type { Mistake, StationError } from './problem.ts';
import { mistakesAgainstSense } from './rules/all.ts';
import { schemaErrors } from './schema.ts';
import { mistakesOf } from './schema-mistakes.ts';
import { sketchOf } from './sketch.ts';
import type { StationFile } from './station.generated.ts';
import { readText, type Spot } from './text.ts';

export type Loaded =
  | {
      readonly ok: true;
      readonly plant: Plant;
      readonly station: StationFile;
      readonly warnings: readonly Warning[];
    }
  | { readonly ok: false; readonly errors: readonly StationError[] };

/**
 * Reads a station file. Never throws on what a file may hold.
 * @param file its name, for the messages only: nothing is opened.
 */
export function loadStation(file: string, text: string): Loaded {
  const read = readText(text);
  if ('mistake' in read) return { ok: false, errors: [located(file, read.mistake, read.spot)] };
  const againstSchema = mistakesOf(schemaErrors(read.value));
  const againstSense = mistakesAgainstSense(sketchOf(read.value, againstSchema));
  const spotted = [...againstSchema, ...againstSense].map((mistake) => ({
    mistake: mistake as Mistake,
    spot: read.spotOf(mistake.pointer),
  }));
  const all = [...spotted, ...read.repeated.map((mistake) => ({ mistake, spot: mistake.spot }))];
  if (all.length > 0) {
    const inOrder = all.toSorted((a, b) => a.spot.offset - b.spot.offset);
    return { ok: false, errors: inOrder.map(({ mistake, spot }) => located(file, mistake, spot)) };
  }
  const station = read.value as StationFile;
  const plant = plantOf(station);
  return { ok: true, plant, station, warnings: adviceOn(plant) };
}

function located(file: string, { pointer, found, accepted, nearest }: Mistake, spot: Spot): StationError {
  return { file, pointer, line: spot.line, column: spot.column, found, accepted, nearest };
}
