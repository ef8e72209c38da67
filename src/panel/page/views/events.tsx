// What happened, newest first, and the same as marks on the axis of the charts.
import { useState } from 'preact/hooks';
import type { Incident, PastEvent } from '../../contract.ts';
import { Mark, type MarkKind } from '../drawing/symbols.tsx';
import { atMs } from '../state/live.ts';
import { rowStanding } from '../state/targets.ts';
import { clock, date, moment } from '../state/time.ts';
import { sentence, t } from '../texts.ts';
import { duration } from '../units.ts';
import type { Span } from './history.tsx';

export function markOf({ about, alarm }: PastEvent): MarkKind {
  if (alarm?.state.includes('unacknowledged') && !alarm.state.startsWith('returned')) return alarm.priority;
  return (
    {
      phase: 'runs',
      trip: 'latched',
      request: 'person',
      alarm: 'passes',
      task: 'person',
      service: 'rests',
    } as const
  )[about];
}

/** A trip's record is its row's key; people get its words. */
export function eventWords(event: PastEvent): string {
  if (event.about === 'trip') {
    const { words } = event;
    const row = typeof words === 'string' ? null : rowStanding(String(words.values.row));
    if (row && typeof words !== 'string' && words.id === 'trip-latched') return sentence(row.words);
  }
  const words = sentence(event.words);
  return event.alarm ? `${words} (${t(`alarm.${event.alarm.state}`)})` : words;
}

const KINDS = ['alarm', 'trip', 'task', 'request', 'phase', 'service'] as const;

export function EventList(props: { readonly events: readonly PastEvent[]; readonly most?: number }) {
  const { events, most } = props;
  const [hidden, setHidden] = useState<readonly string[]>([]);
  const shown = events.filter(({ about }) => !hidden.includes(about));
  const there = KINDS.filter((kind) => events.some(({ about }) => about === kind));
  const toggle = (kind: string) =>
    setHidden(hidden.includes(kind) ? hidden.filter((one) => one !== kind) : [...hidden, kind]);
  return (
    <section class="panel events" aria-labelledby="events-head">
      <h2 id="events-head">{t('history.events')}</h2>
      <div class="choice">
        {there.map((kind) => (
          <label key={kind}>
            <input type="checkbox" checked={!hidden.includes(kind)} onChange={() => toggle(kind)} />
            <span>{t(`event.${kind}`)}</span>
          </label>
        ))}
      </div>
      {events.length === 0 ? <p class="reason">{t('history.no-events')}</p> : null}
      {most !== undefined && events.length >= most ? (
        <p class="limit">{t('history.more-events', { count: most })}</p>
      ) : null}
      <ol class="event-list">
        {shown.map((event, index) => {
          // The day is said where it begins, and not in front of each of its events.
          const day = date(event.atMs);
          const begins = day !== date(shown[index - 1]?.atMs ?? atMs.value);
          return (
            <li key={`${event.atMs}-${index}`} class={begins ? 'begins' : ''}>
              {begins ? <b class="day">{day}</b> : null}
              <time>{clock(event.atMs)}</time>
              <Mark kind={markOf(event)} />
              <span>
                <span class="visually-hidden">{t(`event.${event.about}`)}: </span>
                {eventWords(event)}
              </span>
            </li>
          );
        })}
      </ol>
    </section>
  );
}

/** Marks where things happened, on the axis of the charts below; one for each column of them. The list says what. */
export function EventAxis({ events, span }: { readonly events: readonly PastEvent[]; readonly span: Span }) {
  const length = span.toMs - span.fromMs;
  return (
    <div class="event-axis" aria-hidden="true">
      {events.map((event, index) => (
        <i
          key={`${event.atMs}-${index}`}
          class={`at ${markOf(event)}`}
          style={{ left: `${(100 * (event.atMs - span.fromMs)) / length}%` }}
        />
      ))}
    </div>
  );
}

export function Incidents({ incidents }: { readonly incidents: readonly Incident[] }) {
  return (
    <section class="panel" aria-labelledby="incidents-head">
      <h2 id="incidents-head">{t('history.incidents')}</h2>
      {incidents.length === 0 ? <p class="reason">{t('history.no-incidents')}</p> : null}
      <ol class="incident-list">
        {incidents.slice(0, 50).map((incident) => (
          <li key={incident.id}>
            <a href={`#history/${encodeURIComponent(incident.id)}`}>
              <Mark kind={incident.priority} />
              <span>
                <b>{moment(incident.fromMs)}</b> {sentence(incident.words)}
                <span class="limit">
                  {' '}
                  {incident.toMs === null
                    ? t('story.still')
                    : `${t('story.lasted')} ${duration(incident.toMs - incident.fromMs)}`}
                </span>
              </span>
            </a>
          </li>
        ))}
      </ol>
    </section>
  );
}

export const lastedMs = ({ fromMs, toMs }: Incident): number => (toMs ?? atMs.value) - fromMs;
