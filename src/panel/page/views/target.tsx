// One route, heater or doser in words: does it run, may it, and why not. The page's heart.
import { signal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import { lookOf } from '../drawing/looks.ts';
import { Mark } from '../drawing/symbols.tsx';
import { live } from '../state/live.ts';
import { rowStanding, rowsOver, type TargetNow, targetNow } from '../state/targets.ts';
import { sentence, t } from '../texts.ts';
import { flow } from '../units.ts';
import { BypassOf } from './bypass.tsx';
import { Checks, Clearing } from './checks.tsx';

export function Target({ id }: { readonly id: string }) {
  const now = targetNow(id);
  if (now === null) return null;
  return (
    <section class="target" id={`target-${id}`} aria-labelledby={`name-${id}`}>
      <div>
        <h3 id={`name-${id}`}>{now.name}</h3>
        <State now={now} />
      </div>
      <div>
        <Reasons now={now} />
        <BypassedHere id={id} />
        <AllChecks id={id} />
      </div>
    </section>
  );
}

function State({ now }: { readonly now: TargetNow }) {
  const trips = now.by.filter(({ latched }) => latched);
  const tripped = trips.length > 0;
  const isUrgent = trips.some(({ key }) => rowStanding(key)?.priority === 'urgent');
  return (
    <p class="state">
      {now.running === 'yes' ? <span class="running">{t('runs.yes')}</span> : null}
      {now.running === 'maybe' ? (
        <span class="doubt">
          <Mark kind="stale" />
          {t('runs.maybe')}
        </span>
      ) : null}
      {now.running === 'no' && now.allowed ? <span class="quiet">{t('target.may-run')}</span> : null}
      {now.allowed ? null : (
        <span class={tripped ? `tripped ${isUrgent ? 'urgent' : 'soon'}` : 'blocked'}>
          <Mark kind={tripped ? 'latched' : 'forbidden'} />
          {t(tripped ? 'target.tripped' : 'target.may-not')}
        </span>
      )}
      {now.flowLpm === null || now.running === 'no' ? null : <span class="value">{flow(now.flowLpm)}</span>}
    </p>
  );
}

/** A dead link silences everything: its first few reasons tell, the rest stands among the checks. */
const SHOWN = 3;

/** In one breath: what forbids it, or that nobody wants it now. */
function Reasons({ now }: { readonly now: TargetNow }) {
  if (now.allowed) {
    if (now.running !== 'no') return null;
    return <p class="reason">{t('target.not-wanted', { words: sentence(now.unitWords) })}</p>;
  }
  return (
    <ul class="reasons">
      {now.by.slice(0, SHOWN).map((row) => {
        const standing = rowStanding(row.key);
        return standing === undefined ? null : (
          <li key={row.key}>
            <p class="reason">
              {sentence(standing.words)} <span class="tag">{standing.id}</span>
            </p>
            <Clearing row={standing} now={row} />
          </li>
        );
      })}
      {now.by.length > SHOWN ? (
        <li>
          <p class="clearing">{t('why.more-checks', { count: now.by.length - SHOWN })}</p>
        </li>
      ) : null}
    </ul>
  );
}

/** What would forbid it, and is switched off for a while. */
function BypassedHere({ id }: { readonly id: string }) {
  const rows = (live.bypasses.value ?? []).flatMap(({ row }) => rowStanding(row) ?? []);
  const here = rows.filter(({ forbids }) => forbids.includes(id));
  if (here.length === 0) return null;
  return (
    <ul class="reasons">
      {here.map((row) => (
        <li key={row.key}>
          <p class="reason">{sentence(row.words)}</p>
          <BypassOf row={row} />
        </li>
      ))}
    </ul>
  );
}

/** Opened on demand: a station has more than a hundred checks, and a phone draws only those that somebody asks for. */
function AllChecks({ id }: { readonly id: string }) {
  const isOpen = useMemo(() => signal(false), []);
  const rows = rowsOver(id);
  return (
    <details
      class="all-checks"
      onToggle={(event) => {
        isOpen.value = event.currentTarget.open;
      }}
    >
      <summary>
        {t('why.all', { count: rows.length })}
        <span class="visually-hidden"> {targetNow(id)?.name}</span>
      </summary>
      {isOpen.value ? (
        <>
          <Devices id={id} />
          <Checks rows={rows} />
        </>
      ) : null}
    </details>
  );
}

/** Of a valve that must move now and then: when it is due, or what it is doing. */
function Exercised({ id }: { readonly id: string }) {
  const one = live.exercises.value?.[id];
  if (one === undefined) return null;
  const { underWay, standing: stands, dueInDays } = one;
  if (underWay !== null) return <b> {t(`exercise.${underWay}`)}</b>;
  return <span class="limit"> {t(`exercise.${stands}`, { days: Math.max(0, dueInDays) })}</span>;
}

/** Every valve, pump and contactor on the way, with what proves it. */
function Devices({ id }: { readonly id: string }) {
  const now = targetNow(id);
  return (
    <ul class="devices">
      {now?.devices.map((device) => {
        const look = lookOf(device, live.actuators.value?.[device.id], live.rows.value);
        return (
          <li key={device.id}>
            {device.name}
            {device.tag === null ? null : <span class="tag">{device.tag}</span>}: <b>{t(`device.${look}`)}</b>{' '}
            <span class="limit">{t(`proof.${device.offProvenBy}`)}</span>
            <Exercised id={device.id} />
          </li>
        );
      })}
    </ul>
  );
}
