// The stations of the test folder, coupled: see src/verify/coupled.ts.
import { existsSync, readFileSync } from 'node:fs';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { textWith } from './station-text.ts';

export { type Coupled, couple, type Happened } from '../../src/verify/coupled.ts';

/** The file of an example, or of a station that only tests have. */
export function fileOf(name: string): string {
  const shipped = `schemas/examples/${name}.json`;
  return existsSync(shipped) ? shipped : `test/stations/${name}.json`;
}

/** @param otherwise what the file says instead, see `textWith` */
export function plantAt(file: string, otherwise: Readonly<Record<string, unknown>> = {}): Plant {
  const loaded = loadStation(file, textWith(readFileSync(file, 'utf8'), otherwise));
  if (!loaded.ok) throw new Error(`${file}: ${JSON.stringify(loaded.errors, null, 1)}`);
  return loaded.plant;
}
