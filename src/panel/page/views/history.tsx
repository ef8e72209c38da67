// The past over an hour to a year: lines and events on one axis, incidents as stories, and everything to take away.
import { useEffect, useMemo, useState } from 'preact/hooks';
import type { HistoryAnswer, Incident, PastEvent } from '../../contract.ts';
import { Chart } from '../parts/chart.tsx';
import { Choice } from '../parts/number-field.tsx';
import { read } from '../state/api.ts';
import { atMs, standing } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { moment } from '../state/time.ts';
import { t } from '../texts.ts';
import { EventAxis, EventList, Incidents } from './events.tsx';
import { linesOf, plansOf } from './lines.ts';
import { StoryView } from './story.tsx';

const RANGES = {
  hour: 3_600_000,
  day: 86_400_000,
  week: 7 * 86_400_000,
  month: 30 * 86_400_000,
  year: 366 * 86_400_000,
} as const;
type Range = keyof typeof RANGES;
const EVENTS = 400;

export interface Span {
  readonly fromMs: number;
  readonly toMs: number;
}

export function History({ incident }: { readonly incident?: string | null }) {
  if (incident) return <StoryView id={incident} />;
  return <Whole />;
}

function Whole() {
  const [range, setRange] = useState<Range>('day');
  /** Null: up to now. */
  const [endMs, setEndMs] = useState<number | null>(null);
  const lengthMs = RANGES[range];
  const nowMs = atMs.value;
  // Up to now moves on by steps that can be seen, not at every beat.
  const stepMs = Math.max(5_000, lengthMs / 700);
  const toMs = endMs ?? Math.ceil(nowMs / stepMs) * stepMs;
  const span = { fromMs: toMs - lengthMs, toMs };
  const { events, incidents } = useHappened(span);
  const stood = useMemo(
    () =>
      incidents
        .filter(({ priority }) => priority !== 'notice')
        .map((one) => ({ fromMs: one.fromMs, toMs: one.toMs ?? toMs })),
    [incidents, toMs],
  );
  const move = (by: number) => {
    const next = toMs + by * lengthMs * 0.8;
    setEndMs(next >= nowMs ? null : next);
  };
  return (
    <div class="history">
      <section class="panel" aria-labelledby="history-head">
        <header class="bar-head">
          <h2 id="history-head">{t('history.head')}</h2>
          <p class="limit" aria-live="polite">
            {t('history.from-to', { from: moment(span.fromMs), to: moment(span.toMs) })}
          </p>
        </header>
        <Choice
          label={t('history.range')}
          value={range}
          options={(Object.keys(RANGES) as Range[]).map((one) => ({
            value: one,
            label: t(`history.${one}`),
          }))}
          onValue={setRange}
        />
        <p class="buttons">
          <button type="button" class="button plain" onClick={() => move(-1)}>
            {t('history.older')}
          </button>
          <button type="button" class="button plain" disabled={endMs === null} onClick={() => move(1)}>
            {t('history.newer')}
          </button>
          <button type="button" class="button plain" disabled={endMs === null} onClick={() => setEndMs(null)}>
            {t('history.now')}
          </button>
          <a class="button plain" href={csvOf(span)} download>
            {t('history.csv')}
          </a>
        </p>
        <Charts span={span} events={events} marked={stood} />
      </section>
      <div class="happened">
        <Incidents incidents={incidents} />
        <EventList events={events} most={EVENTS} />
      </div>
    </div>
  );
}

function csvOf({ fromMs, toMs }: Span): string {
  const every = toMs - fromMs > 40 * 86_400_000 ? 3_600_000 : 60_000;
  return `api/history.csv?from=${Math.round(fromMs)}&to=${Math.round(toMs)}&every=${every}`;
}

/** All charts of a span, or those of some channels. */
export function Charts(props: {
  readonly span: Span;
  readonly events: readonly PastEvent[];
  readonly channels?: readonly string[];
  readonly marked?: readonly Span[];
}) {
  const { span, events, channels, marked } = props;
  const { fromMs, toMs } = span;
  const [answered, setAnswered] = useState<{ readonly answer: HistoryAnswer; readonly span: Span } | null>(
    null,
  );
  const answer = answered?.answer ?? null;
  const all = standing.value?.channels ?? [];
  const wanted = all.filter(({ id }) => channels === undefined || channels.includes(id));
  const ids = wanted.map(({ id }) => id).join(',');
  useEffect(() => {
    let isGone = false;
    const points = Math.min(800, Math.max(200, Math.round(innerWidth * 0.6)));
    const query = `from=${Math.round(fromMs)}&to=${Math.round(toMs)}&points=${points}&channels=${ids}`;
    read<HistoryAnswer>(`api/history?${query}`).then(
      (found) => {
        if (!isGone) setAnswered({ answer: found, span: { fromMs, toMs } });
      },
      () => {},
    );
    return () => {
      isGone = true;
    };
  }, [fromMs, toMs, ids]);
  const { volume, temperature, salinity, language } = preferences.value;
  const drawn = useMemo(
    () => (answer === null ? [] : plansOf(wanted).map((plan) => ({ plan, lines: linesOf(plan, answer) }))),
    [answer, volume, temperature, salinity, language, ids],
  );
  if (answered === null || answer === null) return <p class="first">&hellip;</p>;
  // What is drawn belongs to what was asked last time, until the next answer is there.
  const drawnSpan = answered.span;
  const isEmpty = drawn.every(({ lines }) =>
    lines.every(({ most }) => most.every((value) => value === null)),
  );
  if (isEmpty) return <p class="first">{t('history.nothing')}</p>;
  return (
    <div class="charts" data-days={Math.round((drawnSpan.toMs - drawnSpan.fromMs) / 86_400_000)}>
      <EventAxis events={events} span={span} />
      <EventAxis events={events} span={span} />
      {drawn.map(({ plan, lines }) => (
        <Chart
          key={plan.key}
          label={plan.label}
          unit={plan.unit}
          atMs={answer.atMs}
          lines={lines}
          fromMs={drawnSpan.fromMs}
          toMs={drawnSpan.toMs}
          write={plan.write}
          fromZero={plan.fromZero === true}
          {...(marked === undefined ? {} : { spans: marked })}
        />
      ))}
    </div>
  );
}

function useHappened({ fromMs, toMs }: Span) {
  const [events, setEvents] = useState<readonly PastEvent[]>([]);
  const [incidents, setIncidents] = useState<readonly Incident[]>([]);
  useEffect(() => {
    const query = `from=${Math.round(fromMs)}&to=${Math.round(toMs)}&limit=${EVENTS}`;
    read<PastEvent[]>(`api/events?${query}`).then(setEvents, () => {});
    read<Incident[]>('api/incidents').then(setIncidents, () => {});
  }, [fromMs, toMs]);
  return { events, incidents };
}
