// A change of targets, written into the text of the station file where it belongs: the owner's order, spacing and
// everything else stay as they were. The result is read again with all rules before anybody uses it.
import { type AnyNode, type MemberNode, type ObjectNode, parse } from '@humanwhocodes/momoa';
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
  for (const { path, value } of editsOf(change)) edited = withMember(edited, path, value);
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

const plain = (value: number): string => String(Number(value.toFixed(4)));
const clock = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;

function withMember(text: string, path: readonly string[], value: unknown): string {
  const { body } = parse(text, { mode: 'json' });
  let here: AnyNode = body;
  for (const [depth, key] of path.entries()) {
    if (here.type !== 'Object') return text;
    const found: MemberNode | undefined = here.members.find((one) => keyOf(one) === key);
    if (found === undefined)
      return value === undefined ? text : inserted(text, here, path.slice(depth), value);
    if (depth === path.length - 1 && value === undefined) return removed(text, here, found);
    here = found.value;
  }
  return text.slice(0, here.loc.start.offset) + JSON.stringify(value) + text.slice(here.loc.end.offset);
}

const keyOf = ({ name }: MemberNode): string => (name.type === 'String' ? name.value : name.name);

function inserted(text: string, into: ObjectNode, path: readonly string[], value: unknown): string {
  const [key = '', ...rest] = path;
  const made = rest.reduceRight<unknown>((inner, name) => ({ [name]: inner }), value);
  const whole =
    key === 'quietHours' && isRecord(made) ? { from: '22:00', to: '06:00', rest: RESTS, ...made } : made;
  const at = into.loc.start.offset + 1;
  const first = into.members[0];
  const gap = first === undefined ? ' ' : text.slice(at, first.loc.start.offset);
  const end = first === undefined ? ' ' : ',';
  return `${text.slice(0, at)}${gap}${JSON.stringify(key)}: ${JSON.stringify(whole)}${end}${text.slice(at)}`;
}

/** With the comma that belongs to it: the one after it, or before it where it is the last. */
function removed(text: string, from: ObjectNode, member: MemberNode): string {
  const at = from.members.indexOf(member);
  const next = from.members[at + 1];
  const before = from.members[at - 1];
  if (next) return text.slice(0, member.loc.start.offset) + text.slice(next.loc.start.offset);
  if (before) return text.slice(0, before.loc.end.offset) + text.slice(member.loc.end.offset);
  return text.slice(0, member.loc.start.offset) + text.slice(member.loc.end.offset);
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
