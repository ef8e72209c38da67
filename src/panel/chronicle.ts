// What happened, as the journal's lists have it; and the incidents in it: an alarm from its first word to its last.
import type { AlarmState } from '../control/guard/types.ts';
import { LIMITS } from '../journal/limits.ts';
import type { Queries } from '../journal/queries.ts';
import type { Plant } from '../station/plant.ts';
import type { Channel, EventQuery, Incident, PastEvent, Story } from './contract.ts';

export type Happened = Pick<Queries, 'alarms' | 'records'>;

const INCIDENTS = 1_000;
/** A story begins this long before its incident and ends this long after. */
const BEFORE_MS = 15 * 60_000;
const AFTER_MS = 15 * 60_000;

/** Newest first, by the order of steps. */
export function eventsIn(journal: Happened, { fromMs, toMs, limit }: EventQuery): PastEvent[] {
  const query = { fromMs, toMs: toMs + 1, most: limit };
  const alarms = journal.alarms(query).map(({ step, wallMs, alarm, state, priority, words }) => {
    const event: PastEvent = { atMs: wallMs, about: 'alarm', words, alarm: { alarm, state, priority } };
    return { step, event };
  });
  const records = journal.records(query).map(({ step, wallMs, about, words }) => {
    const event: PastEvent = { atMs: wallMs, about: aboutOf(about), words };
    return { step, event };
  });
  return [...alarms, ...records]
    .sort((a, b) => b.step - a.step)
    .slice(0, limit)
    .map(({ event }) => event);
}

const SHOWN: readonly string[] = ['trip', 'request', 'phase', 'task'] satisfies PastEvent['about'][];
const aboutOf = (about: string): PastEvent['about'] =>
  SHOWN.includes(about) ? (about as PastEvent['about']) : 'service';

/** Newest first. */
export function incidentsIn(journal: Happened): Incident[] {
  const incidents: Incident[] = [];
  /** Where among them the one of an alarm is that is not over. */
  const open = new Map<string, number>();
  for (const told of journal.alarms({ most: LIMITS.mostListed }).toReversed()) {
    const { alarm, state, wallMs: atMs, priority, words, response } = told;
    const at = open.get(alarm);
    const there = at === undefined ? undefined : incidents[at];
    if (at !== undefined && there !== undefined) {
      incidents[at] = followed(there, state, atMs);
      if (state === 'normal') open.delete(alarm);
    } else if (state !== 'normal') {
      const id = `${atMs}-${alarm.replaceAll('/', '-')}`;
      open.set(alarm, incidents.length);
      incidents.push({
        id,
        alarm,
        priority,
        words,
        response,
        fromMs: atMs,
        acknowledgedMs: null,
        toMs: null,
      });
    }
  }
  return incidents.slice(-INCIDENTS).reverse();
}

function followed(open: Incident, state: AlarmState, atMs: number): Incident {
  if (state === 'normal') return { ...open, toMs: atMs, acknowledgedMs: open.acknowledgedMs ?? atMs };
  if (state === 'unacknowledged') return { ...open, acknowledgedMs: null };
  const isSeen = state === 'acknowledged' || state === 'latched-acknowledged';
  return isSeen ? { ...open, acknowledgedMs: open.acknowledgedMs ?? atMs } : open;
}

export function storyOf(
  incident: Incident,
  journal: Happened,
  nowMs: number,
  plant: Plant,
  channels: readonly Channel[],
): Story {
  const fromMs = incident.fromMs - BEFORE_MS;
  const toMs = Math.min((incident.toMs ?? nowMs) + AFTER_MS, nowMs);
  return {
    incident,
    fromMs,
    toMs,
    events: eventsIn(journal, { fromMs, toMs, limit: LIMITS.mostListed }).reverse(),
    channels: linesFor(incident.alarm, plant, channels),
  };
}

/** The lines that tell this alarm's story: those of what it is about, of its neighbours, and the contents of all vats. */
function linesFor(alarm: string, plant: Plant, channels: readonly Channel[]): string[] {
  const subject = alarm.split('/')[1] ?? '';
  const near = new Set<string>([subject]);
  const route = plant.routes[subject];
  const vessel = plant.vessels[subject];
  const heater = plant.heaters[subject];
  const sensor = plant.sensors[subject];
  if (route) for (const id of [route.from, route.to]) near.add(id);
  if (vessel) for (const id of [...vessel.into, ...vessel.outOf]) near.add(id);
  if (heater) near.add(heater.vessel);
  if (sensor && 'vessel' in sensor) near.add(sensor.vessel);
  if (sensor && 'route' in sensor) near.add(sensor.route);
  const told = channels.filter(({ subject: about }) => about !== null && near.has(about));
  // A leak, a dead link: about nothing in particular, so every contents and every flow.
  const shown =
    told.length > 0 ? told : channels.filter(({ kind }) => ['least', 'most', 'flow'].includes(kind));
  return shown.map(({ id }) => id);
}
