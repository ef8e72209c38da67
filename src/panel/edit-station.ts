// A change of targets, written into the text of the station file where it belongs: the owner's order, spacing and
// everything else stay as they were. The result is read again with all rules before anybody uses it.
import { withMember } from '../station/edit.ts';
import { loadStation } from '../station/load.ts';
import type { Plant } from '../station/plant.ts';
import { wordsOf } from '../station/problem.ts';
import type { Change } from './contract.ts';

export type Edited =
  | { readonly ok: true; readonly text: string; readonly plant: Plant }
  | { readonly ok: false; readonly words: string };

/** @param file its name, for messages only */
export function editStation(file: string, text: string, change: Change): Edited {
  let edited = text;
  for (const { path, value } of editsOf(change)) edited = withMember(edited, path, value, withQuietHours);
  const loaded = loadStation(file, edited);
  if (loaded.ok) return { ok: true, text: edited, plant: loaded.plant };
  return { ok: false, words: loaded.errors.map(wordsOf).join('; ') };
}

interface Edit {
  readonly path: readonly string[];
  /** Undefined: taken out. */
  readonly value: unknown;
}

function editsOf({ salinity, temperatureC, batchL, reserveShare, exchange, quietHours }: Change): Edit[] {
  const edits: Edit[] = [];
  const set = (path: string, value: unknown) => edits.push({ path: ['process', ...path.split('/')], value });
  if (salinity !== undefined) set('salinity/target', `${plain(salinity)} PSU`);
  if (temperatureC !== undefined) set('temperature/target', `${plain(temperatureC)} degC`);
  if (batchL !== undefined) set('batch/contents', `${plain(batchL)} L`);
  if (reserveShare !== undefined) set('reserve', `${plain(100 * reserveShare)} %`);
  for (const [system, { perDayShare, stepL }] of Object.entries(exchange ?? {})) {
    if (perDayShare !== undefined) set(`exchange/${system}/perDay`, `${plain(100 * perDayShare)} %`);
    if (stepL !== undefined) set(`exchange/${system}/step`, `${plain(stepL)} L`);
  }
  if (quietHours === null) set('quietHours', undefined);
  else if (quietHours !== undefined) {
    set('quietHours/from', clock(quietHours.fromMinute));
    set('quietHours/to', clock(quietHours.toMinute));
  }
  return edits;
}

/** What quiet hours keep from starting where the file had none. */
const RESTS = ['exchange'];

const withQuietHours = (key: string, made: unknown): unknown =>
  key === 'quietHours' && isRecord(made) ? { from: '22:00', to: '06:00', rest: RESTS, ...made } : made;

const plain = (value: number): string => String(Number(value.toFixed(4)));
const clock = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
