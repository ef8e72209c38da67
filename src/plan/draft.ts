// The station of a plan as a file that loads, or everything that stands in its way.
import type { StationFile } from '../station/file/station.ts';
import { type Loaded, loadStation } from '../station/load.ts';
import { wordsOf } from '../station/problem.ts';
import type { Design } from './design.ts';
import { obstacles, stationOf } from './station.ts';

export type Draft =
  | {
      readonly ok: true;
      readonly file: StationFile;
      readonly text: string;
      readonly loaded: Extract<Loaded, { ok: true }>;
    }
  | { readonly ok: false; readonly reasons: readonly string[] };

export function draftOf(design: Design): Draft {
  const reasons = obstacles(design);
  if (reasons.length > 0) return { ok: false, reasons };
  const file = stationOf(design);
  const text = `${JSON.stringify(file, null, 2)}\n`;
  const loaded = loadStation('the drafted station', text);
  return loaded.ok ? { ok: true, file, text, loaded } : { ok: false, reasons: loaded.errors.map(wordsOf) };
}
