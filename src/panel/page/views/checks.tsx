// Why not: each check that stands between a route or heater and its running, with what it looks at now, since when it
// forbids, and what would clear it.
import { KINDS } from '../../../station/kinds.ts';
import type { RowInput, RowNow, RowStanding } from '../../contract.ts';
import { seenOf } from '../drawing/looks.ts';
import { Mark } from '../drawing/symbols.tsx';
import { bypassOf, isForbidding, live, standing } from '../state/live.ts';
import { proofHref } from '../state/proofs.ts';
import { moment } from '../state/time.ts';
import { say, sentence, t, told } from '../texts.ts';
import { meant } from '../units.ts';
import { BypassOf } from './bypass.tsx';

export function Check({ row }: { readonly row: RowStanding }) {
  const now = live.rows.value?.[row.key];
  const forbids = now !== undefined && isForbidding(row.key, now);
  const isBypassed = bypassOf(row.key) !== undefined;
  return (
    <li class={`check ${forbids ? 'forbids' : 'passes'}`}>
      <Mark kind={now?.latched ? 'latched' : forbids ? 'forbidden' : isBypassed ? 'soon' : 'passes'} />
      <div>
        <p class="check-words">
          <span class="visually-hidden">
            {t(forbids ? 'why.forbids' : isBypassed ? 'why.bypassed' : 'why.passes')}:{' '}
          </span>
          {forbids || isBypassed ? sentence(row.words) : sentence(row.hazard)}
          <span class="tag">{row.id}</span>
        </p>
        <Inputs inputs={now?.inputs ?? []} />
        {now && forbids ? <Clearing row={row} now={now} /> : <BypassOf row={row} />}
      </div>
    </li>
  );
}

/** Since when, and what would clear it. */
export function Clearing({ row, now }: { readonly row: RowStanding; readonly now: RowNow }) {
  return (
    <>
      <ClearingWords row={row} now={now} />
      <BypassOf row={row} />
    </>
  );
}

function ClearingWords({ row, now }: { readonly row: RowStanding; readonly now: RowNow }) {
  return (
    <p class="clearing">
      {now.sinceMs === null ? null : (
        <>
          {t(now.orLonger ? 'why.since-or-longer' : 'why.since', { moment: moment(now.sinceMs) })}
          {'. '}
        </>
      )}
      {row.action === 'trip' ? (
        <>
          {t(now.holds ? 'why.trip-stands' : 'why.trip-latched')}{' '}
          <a href={`#alarms/${encodeURIComponent(row.key)}`}>{t('why.to-reset')}</a>
        </>
      ) : (
        say(`clears.${row.id}`, t('clears.otherwise'))
      )}
      {row.tests === null ? null : (
        <>
          {' '}
          <a href={proofHref(row.tests)}>{t('proofs.to-test')}</a>
        </>
      )}
    </p>
  );
}

export function Inputs({ inputs }: { readonly inputs: readonly RowInput[] }) {
  if (inputs.length === 0) return null;
  return (
    <ul class="inputs">
      {inputs.map((input) => (
        <li key={JSON.stringify({ ...input, value: 0, holds: 0, running: 0 })}>
          <Input input={input} />
        </li>
      ))}
    </ul>
  );
}

function Input({ input }: { readonly input: RowInput }) {
  switch (input.input) {
    case 'sensor':
      return <Sensor id={input.sensor} />;
    case 'feedback':
      return <Feedback id={input.actuator} />;
    case 'route':
      return (
        <>
          {standing.value?.routes[input.route]?.name}: <b>{t(`runs.${input.running}`)}</b>
        </>
      );
    case 'fact':
      return (
        <>
          {sentence(input.about)}: <b>{t(input.holds ? 'yes' : 'no')}</b>
        </>
      );
    case 'words':
      return (
        <>
          {sentence(input.about)}: <b>{told(input.words)}</b>
        </>
      );
    case 'amount':
      return (
        <>
          {sentence(input.about)}: <b>{input.value === null ? t('unknown') : meant(input.value, input.as)}</b>
          {input.limit === undefined || input.forbids === undefined ? null : (
            <span class="limit"> {t(`limit.${input.forbids}`, { limit: meant(input.limit, input.as) })}</span>
          )}
        </>
      );
  }
}

/** A sensor's name and word, and since when; what is silent or faulty says so with a sign of its own. */
export function Sensor({ id }: { readonly id: string }) {
  const sensor = standing.value?.sensors[id];
  const now = live.sensors.value?.[id];
  if (sensor === undefined) return null;
  const seen = seenOf(now);
  const sinceMs = live.heard.value?.[id];
  return (
    <span class={`sensor ${seen}`}>
      {seen === 'fresh' ? null : <Mark kind={seen} />}
      {sensor.name}: <b>{sensorWord(id)}</b>
      {seen === 'fresh' || sinceMs === undefined ? null : (
        <span class="limit"> {t('why.since', { moment: moment(sinceMs) })}</span>
      )}
    </span>
  );
}

/** `wet`, `25.1 degC`, `silent`. */
export function sensorWord(id: string): string {
  const sensor = standing.value?.sensors[id];
  const now = live.sensors.value?.[id];
  const seen = seenOf(now);
  if (sensor === undefined || now === undefined) return t('unknown');
  if (seen === 'faulty') return say(`fault.${now.fault}`, now.fault ?? '');
  if (seen === 'stale') return t('silent');
  const { value } = now;
  if (typeof value === 'boolean') {
    if (sensor.measures === 'top-off') return t(value ? 'runs.yes' : 'runs.no');
    return t(value ? 'wet' : 'dry');
  }
  const { about } = KINDS[sensor.measures];
  return value === null || about === null ? t('unknown') : meant(value, about);
}

function Feedback({ id }: { readonly id: string }) {
  const device = standing.value?.actuators[id];
  const now = live.actuators.value?.[id];
  const word = now?.feedback === null || now === undefined ? t('silent') : t(now.feedback ? 'on' : 'off');
  return (
    <>
      {t('why.feedback', { device: device?.name ?? id })}: <b>{word}</b>
    </>
  );
}

/** The same for a list of keys, those that forbid first. */
export function Checks({ rows }: { readonly rows: readonly RowStanding[] }) {
  const now = live.rows.value;
  const rank = ({ key }: RowStanding) => (now?.[key]?.latched ? 0 : now?.[key]?.holds ? 1 : 2);
  return (
    <ul class="checks">
      {rows
        .toSorted((a, b) => rank(a) - rank(b))
        .map((row) => (
          <Check key={row.key} row={row} />
        ))}
    </ul>
  );
}
