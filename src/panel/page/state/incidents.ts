// One incident, one card: alarms that have one cause are told together, the one that says what to do first, the others folded
// under it. Nothing is left out, and what needs steps of its own keeps them.
import { computed } from '@preact/signals';
import { isMessage, type Message } from '../../../language/message.ts';
import type { Harm } from '../../../station/gaps.ts';
import type { RowStanding } from '../../contract.ts';
import { standing } from './live.ts';
import { type Alarm, isOver, rankOf, standingAlarms } from './standing-alarms.ts';
import { isUnheard, rowStanding } from './targets.ts';

export interface Incident {
  readonly lead: Alarm;
  readonly rest: readonly Alarm[];
}

/** A device that does something else than it was told brings water or heat where it should not be. */
const isAgainst = (row: RowStanding, ...harms: readonly Harm[]): boolean =>
  row.means === 'disobeys' ||
  (row.action === 'trip' && row.harms[0] !== undefined && harms.includes(row.harms[0]));

/** It tells of water where it should not be, or of what brings it there. */
function isWater({ alarm }: Alarm): boolean {
  const row = rowStanding(alarm);
  return (
    row !== undefined && (row.finding === 'foreign-command' || isAgainst(row, 'spilled', 'on the floor'))
  );
}

/** It tells of what is not heard, or of the link by which all is heard. */
const isSilence = ({ alarm }: Alarm): boolean => isUnheard(alarm) || rowStanding(alarm)?.means === 'unlinked';
/** Of a unit: it is paused, or makes no headway. */
const OF_UNIT = /^A-(?:01|10)\/(.+)$/u;
/** What stood longer before this is another matter. */
const TOGETHER_MS = 30 * 60_000;

const forbidsOf = ({ alarm }: Alarm): readonly string[] => rowStanding(alarm)?.forbids ?? [];

const share = (one: Alarm, other: Alarm): boolean =>
  forbidsOf(one).some((target) => forbidsOf(other).includes(target));

/** Devices apart, a heater's alarms are about the heater and not about what is shut down with it. */
function isHeat({ alarm }: Alarm): boolean {
  const row = rowStanding(alarm);
  if (row === undefined || !isAgainst(row, 'heater bare', 'too hot')) return false;
  const { forbids } = row;
  return (
    forbids.some((target) => standing.value?.heaters[target] !== undefined) &&
    !forbids.some((target) => standing.value?.routes[target] !== undefined)
  );
}

/** The row that a unit waits for, wherever in its words it is named. */
function rowIn(words: Message): string | null {
  if (words.id === 'held-by-row') return String(words.values.row);
  for (const value of Object.values(words.values))
    if (isMessage(value)) {
      const found = rowIn(value);
      if (found !== null) return found;
    }
  return null;
}

const targetsOf = (unit: string): readonly string[] => {
  const targets = standing.value?.targets;
  if (targets === undefined) return [];
  if (unit === 'refill' || unit === 'batch') return targets[unit];
  return targets.exchange[unit] ?? [];
};

/** Does `alarm` come of what `lead` tells? */
function comesOf(alarm: Alarm, lead: Alarm): boolean {
  if (isOver(alarm) !== isOver(lead)) return false;
  const unit = OF_UNIT.exec(alarm.alarm)?.[1];
  if (unit !== undefined) {
    if (OF_UNIT.exec(lead.alarm)?.[1] === unit) return true;
    const row = isMessage(alarm.words) ? rowIn(alarm.words) : null;
    if (row !== null) return rowStanding(lead.alarm)?.id === row;
    return forbidsOf(lead).some((target) => targetsOf(unit).includes(target));
  }
  if (isSilence(alarm) && isSilence(lead)) return true;
  if (Math.abs(alarm.sinceMs - lead.sinceMs) > TOGETHER_MS) return false;
  if (isHeat(alarm) || isHeat(lead)) return isHeat(alarm) && isHeat(lead) && share(alarm, lead);
  return isWater(alarm) && isWater(lead) && share(alarm, lead);
}

/** The alarms that stand, each incident once, in the order of what leads them. */
export const incidents = computed<readonly Incident[]>(() => {
  const found: { lead: Alarm; rest: Alarm[] }[] = [];
  // A unit that waits explains nothing: what it waits for leads. Else the most urgent, and of those the first: whoever acts on a
  // card keeps it when the next alarm comes.
  const isOfUnit = ({ alarm }: Alarm): number => Number(OF_UNIT.test(alarm));
  for (const alarm of standingAlarms.value.toSorted(
    (one, other) =>
      Number(isOver(one)) - Number(isOver(other)) ||
      isOfUnit(one) - isOfUnit(other) ||
      rankOf(one.priority) - rankOf(other.priority) ||
      one.sinceMs - other.sinceMs,
  )) {
    const cause = found.find(({ lead, rest }) => [lead, ...rest].some((one) => comesOf(alarm, one)));
    if (cause === undefined) found.push({ lead: alarm, rest: [] });
    else cause.rest.push(alarm);
  }
  const order = standingAlarms.value;
  return found.toSorted((one, other) => order.indexOf(one.lead) - order.indexOf(other.lead));
});
