// Moments as people say them: in this browser's time zone; a simulated station's in its own.
import { atMs, simulated } from './live.ts';
import { preferences } from './preferences.ts';

const zone = (): { timeZone?: string } => (simulated.value ? { timeZone: 'UTC' } : {});
const format = (options: Intl.DateTimeFormatOptions, ms: number): string =>
  new Intl.DateTimeFormat(preferences.value.language === 'de' ? 'de' : 'en-GB', {
    ...options,
    ...zone(),
  }).format(ms);

export const clock = (ms: number): string => format({ hour: '2-digit', minute: '2-digit' }, ms);
export const clockExact = (ms: number): string =>
  format({ hour: '2-digit', minute: '2-digit', second: '2-digit' }, ms);
export const date = (ms: number): string => format({ weekday: 'short', day: 'numeric', month: 'short' }, ms);
export const dateShort = (ms: number): string => format({ day: 'numeric', month: 'short' }, ms);
export const month = (ms: number): string => format({ month: 'short', year: '2-digit' }, ms);

const sameDay = (a: number, b: number): boolean => date(a) === date(b);

/** `14:20`, and with the day where it is not today's. */
export function moment(ms: number): string {
  return sameDay(ms, atMs.value) ? clock(ms) : `${date(ms)}, ${clock(ms)}`;
}
