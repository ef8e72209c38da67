// Every quantity of a site file that has a range, and what is said of one outside it.
import { CONCENTRATION, PRODUCTION } from '../engineering/exchange.ts';
import { AMBIENT, LOSS, POWER } from '../engineering/heat.ts';
import { PIPE_DIAMETER, PIPE_LENGTH, ROUGHNESS } from '../engineering/hydraulics.ts';
import { CLEARANCE } from '../engineering/passage.ts';
import {
  DISSOLVED_SALT,
  INLET_TEMPERATURE,
  MEMBRANE_CONSTANT,
  RECOVERY,
} from '../engineering/purification.ts';
import { FLOW, isWithin, type Range, SHARE, SOME_FLOW, writeRange, YIELD } from '../engineering/range.ts';
import { type Mistake, member, quoted } from '../station/problem.ts';
import { type QuantityFormat, readStation } from '../station/quantities.ts';

export const HOUR_MS = 3_600_000;
export const DAY_MS = 24 * HOUR_MS;

// Ranges in house units. Those not taken from a formula are where a slip (metres for millimetres, a week for a year) is
// likelier than a real site.
export const SYSTEM: Range = { least: 10, most: 1e6, unit: 'L' };
const ROOM_LENGTH: Range = { least: 300, most: 20_000, unit: 'mm' };
const VAT_LENGTH: Range = { least: 100, most: 10_000, unit: 'mm' };
export const VAT_CAPACITY: Range = { least: 20, most: 1e5, unit: 'L' };
const TIME: Range = { least: 0, most: 365 * DAY_MS, unit: 'ms' };
const SALINITY: Range = { least: 1, most: 42, unit: '1' };
const WARMTH: Range = { least: 1, most: 35, unit: 'degC' };
const RATED: Range = { least: 1, most: 10_000, unit: 'kPa' };
const CHANGE: Range = { least: 0.0001, most: 1, unit: '1' };

// biome-ignore format: a table reads as a table
const RANGES: readonly (readonly [pointer: RegExp, format: QuantityFormat, range: Range])[] = [
  [/^\/system\/parts\/[^/]+$/u, 'volume', { ...SYSTEM, least: 1 }],
  [/^\/system\/spare$/u, 'volume', SYSTEM],
  [/^\/system\/salinity$/u, 'salinity', SALINITY],
  [/^\/system\/temperature$/u, 'temperature', WARMTH],
  [/^\/system\/mayMove$/u, 'temperature-difference', { least: 0.01, most: 40, unit: 'K' }],
  [/^\/system\/freshUse$/u, 'flow', FLOW],
  [/^\/room\/(length|width|height)$/u, 'length', ROOM_LENGTH],
  [/^\/room\/temperature$/u, 'temperature', { ...AMBIENT, least: 1, most: 40 }],
  [/^\/room\/doors\/\d+\/(width|height)$/u, 'length', ROOM_LENGTH],
  [/^\/room\/floor\/allowedLoad$/u, 'pressure', { least: 0.01, most: 1000, unit: 'kPa' }],
  [/^\/inlet\/temperatures\/\d+$/u, 'temperature', { ...INLET_TEMPERATURE, most: 35 }],
  [/^\/(inlet|purifier)\/pressure$/u, 'pressure', RATED],
  [/^\/(inlet|purifier)\/dissolved$/u, 'concentration', { ...DISSOLVED_SALT, most: 10_000 }],
  [/^\/purifier\/output$/u, 'flow', SOME_FLOW],
  [/^\/purifier\/recovery$/u, 'ratio', RECOVERY],
  [/^\/purifier\/membraneConstant$/u, 'membrane-constant', MEMBRANE_CONSTANT],
  [/^\/purifier\/lossPerYear$/u, 'ratio', { ...SHARE, most: 0.9 }],
  [/^\/purifier\/membraneLife$/u, 'duration-with-unit', { least: 30 * DAY_MS, most: 20 * 365 * DAY_MS, unit: 'ms' }],
  [/^\/salt\/yield$/u, 'ratio', YIELD],
  [/^\/salt\/bag$/u, 'mass', { least: 0.1, most: 2000, unit: 'kg' }],
  [/^\/mixing\/(dissolve|settle)$/u, 'duration-with-unit', { ...TIME, least: 60_000, most: 7 * DAY_MS }],
  [/^\/mixing\/circulation$/u, 'flow', SOME_FLOW],
  [/^\/(mixing\/circulationPower|(transfer|supply)\/pump\/power)$/u, 'power', POWER],
  [/^\/(transfer|supply)\/pipes\/\d+\/length$/u, 'length', { ...PIPE_LENGTH, most: 1e6, unit: 'mm' }],
  [/^\/(transfer|supply)\/pipes\/\d+\/diameter$/u, 'length', { ...PIPE_DIAMETER, least: 5 }],
  [/^\/(transfer|supply)\/pipes\/\d+\/roughness$/u, 'length', ROUGHNESS],
  [/^\/(transfer|supply)\/outlet$/u, 'height', { least: -50_000, most: 50_000, unit: 'mm' }],
  [/^\/drain\/flow$/u, 'flow', SOME_FLOW],
  [/^\/heater\/power$/u, 'power', { ...POWER, least: 1 }],
  [/^\/heater\/losses$/u, 'conductance', { ...LOSS, least: 0.01 }],
  [/^\/heater\/within$/u, 'duration-with-unit', { ...TIME, least: 60_000 }],
  [/^\/schedule\/exchange\/share$/u, 'ratio', CHANGE],
  [/^\/schedule\/exchange\/every$/u, 'duration-with-unit', { ...TIME, least: HOUR_MS }],
  [/^\/schedule\/(largeChange|reserve)$/u, 'ratio', CHANGE],
  [/^\/vats\/candidates\/\d+\/shape\/(diameter|height|length|width)$/u, 'length', VAT_LENGTH],
  [/^\/vats\/candidates\/\d+\/capacity$/u, 'volume', VAT_CAPACITY],
  [/^\/vats\/candidates\/\d+\/wall$/u, 'length', { least: 0, most: 200, unit: 'mm' }],
  [/^\/vats\/candidates\/\d+\/mass$/u, 'mass', { least: 0, most: 10_000, unit: 'kg' }],
  [/^\/vats\/stand$/u, 'length', { least: 0, most: 5000, unit: 'mm' }],
  [/^\/vats\/(clearance|gap|headroom)$/u, 'length', CLEARANCE],
  [/^\/solutes\/\d+\/(present|target|incoming)$/u, 'concentration', { ...CONCENTRATION, most: 1e5 }],
  [/^\/solutes\/\d+\/production$/u, 'production', { ...PRODUCTION, most: 1e4 }],
  [/^\/owner\/absence$/u, 'duration-with-unit', TIME],
  [/^\/owner\/saltDelay\/(usual|longest)$/u, 'duration-with-unit', { ...TIME, least: 60_000 }],
  [/^\/tariffs\/water\/per$/u, 'volume', { ...SYSTEM, least: 0.001 }],
  [/^\/tariffs\/electricity\/per$/u, 'energy', { least: 0.001, most: 1e6, unit: 'kWh' }],
];

/** Every quantity of the file that has a row in the table and lies outside it. */
export function outOfRange(file: unknown): Mistake[] {
  const found: Mistake[] = [];
  const walk = (part: unknown, pointer: string): void => {
    if (typeof part === 'object' && part !== null) {
      for (const [key, inner] of Object.entries(part)) walk(inner, member(pointer, key));
    } else if (typeof part === 'string') {
      for (const [pattern, format, range] of RANGES) {
        if (!pattern.test(pointer) || isWithin(readStation(part, format), range)) continue;
        found.push({ pointer, found: quoted(part), accepted: wordsOfRange(range) });
      }
    }
  };
  walk(file, '');
  return found;
}

/** Durations are kept in milliseconds, and nobody writes a week so. */
function wordsOfRange(range: Range): string {
  if (range.unit !== 'ms') return writeRange(range);
  const say = (ms: number) =>
    ms % DAY_MS === 0 ? `${ms / DAY_MS} d` : ms % HOUR_MS === 0 ? `${ms / HOUR_MS} h` : `${ms / 60_000} min`;
  return `${say(range.least)} to ${say(range.most)}`;
}
