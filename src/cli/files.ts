// What commands read from the disk and write to it: station files, site files, secrets, reports. Whatever goes wrong is said
// with its place and its mend.
import { readFileSync, writeFileSync } from 'node:fs';
import { Coded, unreadable, unwritable } from '../errors/coded.ts';
import type { StationFile } from '../station/file/station.ts';
import { loadStation } from '../station/load.ts';
import type { Plant } from '../station/plant.ts';
import { type StationError, wordsOf } from '../station/problem.ts';

/** @param what for the message: `the station file`. @throws Coded */
export function readBytes(what: string, file: string): Buffer {
  try {
    return readFileSync(file);
  } catch (error) {
    throw unreadable(what, file, error);
  }
}

/** @throws Coded */
export function readText(what: string, file: string): string {
  return readBytes(what, file).toString('utf8');
}

/** @throws Coded */
export function writeText(what: string, file: string, text: string): void {
  try {
    writeFileSync(file, text);
  } catch (error) {
    throw unwritable(what, file, error);
  }
}

export interface StationIn {
  readonly plant: Plant;
  readonly station: StationFile;
  readonly text: string;
}

/** @throws Coded with every mistake in the file */
export function stationIn(file: string): StationIn {
  const text = readText('the station file', file);
  const loaded = loadStation(file, text);
  if (!loaded.ok) throw unusableStation(file, text, loaded.errors);
  return { ...loaded, text };
}

/** @throws Coded with every mistake in the file */
export function plantIn(file: string): Plant {
  return stationIn(file).plant;
}

export function unusableStation(file: string, text: string, errors: readonly StationError[]): Coded {
  if (kindOf(text) === 'site')
    return new Coded(
      'E-213',
      `${file} is a site file, and this wants a station file: \`vatwarden plan ${file} --station station.json\` drafts one from it`,
    );
  return new Coded('E-211', withLines("the station file can't be used:", errors));
}

export const withLines = (head: string, errors: readonly StationError[]): string =>
  [head, ...errors.map(wordsOf)].join('\n');

/** The two kinds of file, told apart by what only one of them may hold. */
export function kindOf(text: string): 'station' | 'site' | null {
  try {
    const keys = Object.keys(JSON.parse(text) ?? {});
    const has = (...some: readonly string[]) => some.every((key) => keys.includes(key));
    if (has('system', 'room', 'purifier')) return 'site';
    return has('vessels', 'sensors', 'actuators') ? 'station' : null;
  } catch {
    return null;
  }
}
