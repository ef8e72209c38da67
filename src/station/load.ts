// From the text of a station file to a plant, or to everything that is wrong with it at once.
import { adviceOn, type Warning } from './advice.ts';
import { plantOf } from './compile.ts';
import { readDocument } from './document.ts';
import { expanded } from './expand.ts';
import type { StationFile } from './file/station.ts';
import type { Plant } from './plant.ts';
import type { StationError } from './problem.ts';
import { mistakesAgainstSense } from './rules/all.ts';
import { STATION_SCHEMA } from './schema.ts';
import { sketchOf } from './sketch.ts';

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
  const read = readDocument<StationFile>(
    file,
    text,
    STATION_SCHEMA,
    (value, againstSchema) => mistakesAgainstSense(sketchOf(value, againstSchema)),
    expanded,
  );
  if (!read.ok) return read;
  const plant = plantOf(read.value);
  return { ok: true, plant, station: read.value, warnings: adviceOn(plant) };
}
