// What happened, as a list that forgets its oldest; and the incidents in it: an alarm from its first word to its last.

import type { AlarmState } from '../control/guard/types.ts';
import { message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import type { Channel, EventQuery, Incident, PastEvent, Story } from './contract.ts';
import type { Turn } from './turn.ts';

const EVENTS_KEPT = 20_000;
const INCIDENTS_KEPT = 1_000;
/** A story begins this long before its incident and ends this long after. */
const BEFORE_MS = 15 * 60_000;
const AFTER_MS = 15 * 60_000;

/** What the panel itself wrote into its books: a count of salt, a change of targets. */
const NOTES_KEPT = 2_000;

export interface ChronicleKept {
  readonly events: readonly PastEvent[];
  readonly notes: readonly PastEvent[];
  readonly incidents: readonly Incident[];
}

export interface Chronicle {
  readonly observe: (turn: Pick<Turn, 'effects' | 'atMs'>) => void;
  readonly note: (event: PastEvent) => void;
  /** Oldest first, as they are kept: to be read, never to be written on. */
  readonly events: () => readonly PastEvent[];
  readonly incidents: () => readonly Incident[];
  readonly kept: () => ChronicleKept;
}

export function chronicleOf(kept: ChronicleKept | null = null): Chronicle {
  const notes: PastEvent[] = [...(kept?.notes ?? [])];
  const own = new WeakSet(notes);
  const events: PastEvent[] = [...(kept?.events ?? []), ...notes].toSorted((a, b) => a.atMs - b.atMs);
  const incidents: Incident[] = [...(kept?.incidents ?? [])];

  const add = (event: PastEvent): void => {
    events.push(event);
    // In one go and seldom: shifting an array of this length at every event would cost more than all the rest.
    if (events.length > EVENTS_KEPT * 1.1) events.splice(0, events.length - EVENTS_KEPT);
  };
  const follow = (atMs: number, state: AlarmState, told: Omit<Incident, 'id' | 'fromMs'>): void => {
    const at = incidents.findLastIndex(({ alarm, toMs }) => alarm === told.alarm && toMs === null);
    const open = incidents[at];
    if (state === 'normal') {
      if (open) incidents[at] = { ...open, toMs: atMs, acknowledgedMs: open.acknowledgedMs ?? atMs };
    } else if (open) {
      const seen = state === 'acknowledged' || state === 'latched-acknowledged';
      const again = state === 'unacknowledged';
      const acknowledgedMs = seen ? (open.acknowledgedMs ?? atMs) : again ? null : open.acknowledgedMs;
      incidents[at] = { ...open, acknowledgedMs };
    } else {
      incidents.push({ ...told, id: `${atMs}-${told.alarm.replaceAll('/', '-')}`, fromMs: atMs });
      if (incidents.length > INCIDENTS_KEPT) incidents.shift();
    }
  };

  return {
    note: (event) => {
      add(event);
      own.add(event);
      notes.push(event);
      if (notes.length > NOTES_KEPT) notes.shift();
    },
    observe: ({ effects, atMs }) => {
      for (const effect of effects) {
        if (effect.do === 'record') {
          const about =
            effect.about === 'trip' || effect.about === 'request' || effect.about === 'phase'
              ? effect.about
              : 'service';
          add({ atMs, about, words: effect.words });
        } else if (effect.do === 'ask') {
          add({ atMs, about: 'task', words: effect.task?.words ?? message('task-done') });
        } else if (effect.do === 'alarm') {
          const { alarm, state, priority, words, mend } = effect;
          add({ atMs, about: 'alarm', words, alarm: { alarm, state, priority } });
          follow(atMs, state, { alarm, priority, words, mend, acknowledgedMs: null, toMs: null });
        }
      }
    },
    events: () => events,
    incidents: () => incidents,
    kept: () => ({
      events: events.slice(-EVENTS_KEPT).filter((event) => !own.has(event)),
      notes,
      incidents,
    }),
  };
}

/** Newest first. @param events oldest first */
export function eventsIn(
  events: readonly PastEvent[],
  { fromMs, toMs, limit }: EventQuery,
): readonly PastEvent[] {
  const found: PastEvent[] = [];
  for (let i = events.length - 1; i >= 0 && found.length < limit; i -= 1) {
    const event = events[i] as PastEvent;
    if (event.atMs >= fromMs && event.atMs <= toMs) found.push(event);
  }
  return found;
}

export function storyOf(
  incident: Incident,
  events: readonly PastEvent[],
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
    events: events.filter((event) => event.atMs >= fromMs && event.atMs <= toMs),
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
