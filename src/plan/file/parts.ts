// What several parts of a site file have in common: names, quantities of the plan, ranges.
//
// Ranges are in house units. Those not taken from a formula are where a slip (metres for millimetres, a week for a year) is
// likelier than a real site.
import type { Range } from '../../engineering/range.ts';
import { integer, named, namedQuantity, number, text } from '../../station/file/declare.ts';
import { Length, shape } from '../../station/file/parts.ts';

export const HOUR_MS = 3_600_000;
export const DAY_MS = 24 * HOUR_MS;

export const SYSTEM: Range = { least: 10, most: 1e6, unit: 'L' };
export const VAT_CAPACITY: Range = { least: 20, most: 1e5, unit: 'L' };
export const TIME: Range = { least: 0, most: 365 * DAY_MS, unit: 'ms' };
export const SOME_TIME: Range = { ...TIME, least: 60_000 };
export const CHANGE: Range = { least: 0.0001, most: 1, unit: '1' };
export const RATED: Range = { least: 1, most: 10_000, unit: 'kPa' };
export const ROOM_LENGTH: Range = { least: 300, most: 20_000, unit: 'mm' };
const VAT_LENGTH: Range = { least: 100, most: 10_000, unit: 'mm' };

export const Name = named('Name', text({ minLength: 1, maxLength: 80 }));
export const Count = named('Count', integer({ minimum: 0, maximum: 500 }));
export const Price = named(
  'Price',
  number({ minimum: 0, maximum: 1_000_000, description: 'A number, in the currency of the tariffs.' }),
);
export const Concentration = namedQuantity('Concentration', 'concentration', 'For example "10 mg/L".');
export const Shape = named('Shape', shape(Length(undefined, VAT_LENGTH), 'Inside measures.'));
