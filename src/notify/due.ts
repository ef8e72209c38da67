// Who is to be told what now: pure. One message for each alarm and sink, again while it is urgent and nobody has acknowledged
// it, and one when it has ended.
import type { Response, Sentence } from '../language/told.ts';
import { type NotifyValues, rankOf, type SinkValues } from './notify-file.ts';

export interface Alarm {
  readonly alarm: string;
  readonly state: string;
  readonly priority: string;
  readonly message: Sentence;
  readonly response: Response;
}

export interface Telling {
  readonly sink: string;
  /** The same for every message about one alarm from its beginning to its end. */
  readonly incident: string;
  readonly is: 'begun' | 'again' | 'ended';
  readonly alarm: Alarm;
}

export interface Now {
  readonly nowMs: number;
  /** Local; null while the time of day is not trusted: then no hour is quiet. */
  readonly minuteOfDay: number | null;
  /** Somebody has said that they are on the way: nobody is told again, and no second person is called. */
  readonly isComing?: boolean;
}

interface Incident {
  readonly id: string;
  readonly sinceMs: number;
  alarm: Alarm;
  /** When each sink was told last. */
  readonly toldMs: Map<string, number>;
}

/** @param alarms what stands now, and a person must know of */
export type Due = (alarms: readonly Alarm[], now: Now) => readonly Telling[];

export function dueOf({ sinks, repeat }: Pick<NotifyValues, 'sinks' | 'repeat'>, boot: string): Due {
  const open = new Map<string, Incident>();
  let ended: Incident[] = [];
  let count = 0;
  return (alarms, now) => {
    const { nowMs } = now;
    for (const alarm of alarms) {
      const known = open.get(alarm.alarm);
      if (known === undefined)
        open.set(alarm.alarm, { id: `${boot}-${++count}`, sinceMs: nowMs, alarm, toldMs: new Map() });
      else known.alarm = alarm;
    }
    for (const [id, incident] of open) {
      if (alarms.some(({ alarm }) => alarm === id)) continue;
      open.delete(id);
      ended.push(incident);
    }
    const tellings: Telling[] = [];
    for (const [name, sink] of Object.entries(sinks)) {
      for (const incident of open.values()) {
        const is = whatIsDue(name, sink, incident, now, repeat);
        if (is === null) continue;
        incident.toldMs.set(name, nowMs);
        tellings.push({ sink: name, incident: incident.id, is, alarm: incident.alarm });
      }
      for (const { id, alarm, toldMs } of ended) {
        if (!toldMs.has(name) || isQuiet(sink, alarm, now)) continue;
        toldMs.delete(name);
        tellings.push({ sink: name, incident: id, is: 'ended', alarm });
      }
    }
    ended = ended.filter(({ toldMs }) => toldMs.size > 0);
    return tellings;
  };
}

function whatIsDue(
  name: string,
  sink: SinkValues,
  { alarm, sinceMs, toldMs }: Incident,
  now: Now,
  repeatMs: number,
): 'begun' | 'again' | null {
  if (rankOf(alarm.priority) < rankOf(sink.from) || isQuiet(sink, alarm, now)) return null;
  const isUnseen = alarm.state.endsWith('unacknowledged');
  const told = toldMs.get(name);
  if (told === undefined) {
    const isDue =
      sink.after === 0 || (now.isComing !== true && isUnseen && now.nowMs - sinceMs >= sink.after);
    return isDue ? 'begun' : null;
  }
  if (now.isComing === true || alarm.priority !== 'urgent' || !isUnseen) return null;
  return now.nowMs - told >= repeatMs ? 'again' : null;
}

/** Never for what is urgent. */
function isQuiet({ quiet }: SinkValues, { priority }: Alarm, { minuteOfDay }: Now): boolean {
  if (quiet === null || minuteOfDay === null || priority === 'urgent') return false;
  const [from, to] = quiet.map((time) => 60 * Number(time.slice(0, 2)) + Number(time.slice(3)));
  if (from === undefined || to === undefined) return false;
  return from <= to ? minuteOfDay >= from && minuteOfDay < to : minuteOfDay >= from || minuteOfDay < to;
}
