// The alarms that ask for somebody, in the order in which they are told.
import { computed } from '@preact/signals';
import { PRIORITIES, type Priority } from '../../../control/guard/types.ts';
import type { Sections } from '../../contract.ts';
import { sentence, t, told } from '../texts.ts';
import { live } from './live.ts';

export type Alarm = Sections['alarms'][number];
/** The most pressing first. */
export const rankOf = (priority: Priority): number => PRIORITIES.length - PRIORITIES.indexOf(priority);
const QUIET: readonly Alarm['state'][] = ['shelved', 'suppressed-by-design', 'out-of-service'];

/** The most urgent first, those nobody has seen before those somebody has; what is over comes last. */
export const standingAlarms = computed<readonly Alarm[]>(() => {
  const seen = ({ state }: Alarm) => Number(!state.includes('unacknowledged'));
  return (live.alarms.value ?? [])
    .filter(({ state }) => !QUIET.includes(state) && state !== 'normal')
    .toSorted(
      (a, b) =>
        Number(isOver(a)) - Number(isOver(b)) ||
        rankOf(a.priority) - rankOf(b.priority) ||
        seen(a) - seen(b) ||
        b.sinceMs - a.sinceMs,
    );
});

/** What it told of is over; nobody has acknowledged it yet. */
export const isOver = ({ state }: Pick<Alarm, 'state'>): boolean => state === 'returned-unacknowledged';

/** In the past where it is over: "is silent" of a sensor that speaks again is no true word. */
export const alarmWords = (alarm: Alarm): string =>
  isOver(alarm) ? t('alarm.was', { words: told(alarm.words) }) : sentence(alarm.words);

export const isUnseen = ({ state }: Alarm): boolean => state.includes('unacknowledged');
export const isTrip = ({ alarm }: Pick<Alarm, 'alarm'>): boolean =>
  (live.trips.value ?? []).some(({ row }) => row === alarm);
