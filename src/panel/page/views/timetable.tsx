// The batch on a line of time: what was (solid), what is, what is expected (hollow), and where a person is needed (hatched:
// nobody can say how long that takes).
import type { Forecast } from '../../../control/process/forecast.ts';
import type { BatchRecord } from '../../contract.ts';
import { Mark } from '../drawing/symbols.tsx';
import { atMs, live } from '../state/live.ts';
import { moment } from '../state/time.ts';
import { sentence, t } from '../texts.ts';
import { duration } from '../units.ts';

interface Bar {
  readonly key: string;
  readonly words: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly look: 'past' | 'now' | 'next' | 'person';
  readonly lasts: string;
}

/** A person's part has no length; it is drawn as long as this. */
const PERSON_MS = 30 * 60_000;

export function Timetable() {
  const batch = live.batch.value;
  const forecast = live.forecast.value;
  const units = live.units.value;
  if (forecast === null || units === null || units.batch.stage === 'idle') return null;
  const nowMs = atMs.value;
  const past = batch === null ? [] : pastBars(batch, nowMs);
  return (
    <Chart bars={[...past, ...nextBars(forecast.parts, nowMs)]} nowMs={nowMs} label={t('timetable.label')} />
  );
}

export function ExchangeTimetable({ parts }: { readonly parts: Forecast['parts'] }) {
  const nowMs = atMs.value;
  return <Chart bars={nextBars(parts, nowMs)} nowMs={nowMs} label={t('timetable.exchange')} />;
}

function pastBars({ stages }: BatchRecord, nowMs: number): Bar[] {
  return stages.map(({ stage, fromMs, toMs }, index) => ({
    key: `${stage}-${index}`,
    words: t(`stage.${stage}`),
    fromMs,
    toMs: toMs ?? nowMs,
    look: toMs === null ? 'now' : 'past',
    lasts: duration((toMs ?? nowMs) - fromMs),
  }));
}

function nextBars(parts: Forecast['parts'], nowMs: number): Bar[] {
  let fromMs = nowMs;
  return parts
    .filter(({ lastsMs }) => lastsMs !== 0)
    .map(({ phase, words, lastsMs }, index) => {
      const toMs = fromMs + (lastsMs ?? PERSON_MS);
      const bar: Bar = {
        key: `${phase}-${words.id}-${index}`,
        words: sentence(words),
        fromMs,
        toMs,
        look: lastsMs === null ? 'person' : 'next',
        lasts: lastsMs === null ? t('timetable.person') : duration(lastsMs),
      };
      fromMs = toMs;
      return bar;
    });
}

function Chart(props: { readonly bars: readonly Bar[]; readonly nowMs: number; readonly label: string }) {
  const { bars, nowMs, label } = props;
  if (bars.length === 0) return null;
  const fromMs = Math.min(...bars.map((bar) => bar.fromMs));
  const toMs = Math.max(...bars.map((bar) => bar.toMs), fromMs + 60_000);
  const at = (ms: number) => (100 * (ms - fromMs)) / (toMs - fromMs);
  return (
    <ol class="timetable" aria-label={label}>
      {bars.map((bar) => (
        <li key={bar.key} class={bar.look}>
          <span class="what">
            {bar.look === 'person' ? <Mark kind="person" /> : null}
            <span class="visually-hidden">{t(`timetable.${bar.look}`)}: </span>
            {bar.words}
          </span>
          <span class="track" aria-hidden="true">
            <span
              class="span"
              style={{
                left: `${at(bar.fromMs)}%`,
                width: `${Math.max(0.8, at(bar.toMs) - at(bar.fromMs))}%`,
              }}
            />
            <span class="present" style={{ left: `${at(nowMs)}%` }} />
          </span>
          <span class="lasts">{bar.lasts}</span>
        </li>
      ))}
      <li class="axis" aria-hidden="true">
        <span class="what" />
        <span class="track">
          <span class="from">{moment(fromMs)}</span>
          <span class="to">{moment(toMs)}</span>
        </span>
        <span class="lasts" />
      </li>
    </ol>
  );
}
