// What a person does: the task that the station asks for, and what they may tell it unasked. One thing at a time.
import { useState } from 'preact/hooks';
import { Mark } from '../drawing/symbols.tsx';
import { Act } from '../parts/button.tsx';
import { isCalm } from '../state/answers.ts';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { sentence, t } from '../texts.ts';
import { mass } from '../units.ts';
import { ExchangeNow } from './exchange-now.tsx';
import { LevelRight } from './level-right.tsx';
import { Measure } from './measure.tsx';
import { ProofsFailed, ProofsOverdue, ProofUnderWay } from './proof-card.tsx';
import { AddSalt } from './salt.tsx';
import { ServiceDialog } from './service.tsx';
import { UpkeepTasks } from './upkeep.tsx';

type Open = 'salt' | 'measure' | 'exchange' | 'service' | 'level' | null;

export function Do() {
  const [open, setOpen] = useState<Open>(null);
  const close = () => setOpen(null);
  const can = standing.value?.asks ?? [];
  return (
    <section class="do panel" id="do" aria-labelledby="do-head">
      <h2 id="do-head">{t('do.head')}</h2>
      <ProofUnderWay />
      <TripFirst />
      <TaskCard onOpen={setOpen} />
      <ProofsFailed />
      <ProofsOverdue />
      <OutOfService />
      <UpkeepTasks />
      <h3>{t('do.tell')}</h3>
      <p class="buttons tells">
        {can.includes('salt-added') ? <Act onPress={() => setOpen('salt')}>{t('do.tell-salt')}</Act> : null}
        {can.includes('salinity-measured') ? (
          <Act onPress={() => setOpen('measure')}>{t('do.tell-measure')}</Act>
        ) : null}
        {can.includes('exchange-now') && (standing.value?.systemIds.length ?? 0) > 0 ? (
          <Act onPress={() => setOpen('exchange')}>{t('do.tell-exchange')}</Act>
        ) : null}
        {can.includes('out-of-service') ? (
          <Act onPress={() => setOpen('service')}>{t('do.tell-service')}</Act>
        ) : null}
        {can.includes('proof-test') ? (
          <a class="button" href="#proofs">
            {t('do.tell-proof')}
          </a>
        ) : null}
      </p>
      {open === 'salt' ? <AddSalt onClose={close} /> : null}
      {open === 'level' ? <LevelRight onClose={close} /> : null}
      {open === 'measure' ? <Measure onClose={close} /> : null}
      {open === 'exchange' ? <ExchangeNow onClose={close} /> : null}
      {open === 'service' ? <ServiceDialog onClose={close} /> : null}
    </section>
  );
}

/** Nobody is sent to the vat with a bucket while the floor may be wet. */
function TripFirst() {
  const trips = live.trips.value ?? [];
  const [first] = trips;
  if (first === undefined) return null;
  return (
    <article class="task">
      <h3>
        <Mark kind="latched" />
        {t('do.trip', { count: trips.length })}
      </h3>
      <p>{sentence(first.words)}</p>
      <p class="buttons large">
        <a class="button main" href={`#alarms/${encodeURIComponent(first.row)}`}>
          {t('why.to-reset')}
        </a>
      </p>
    </article>
  );
}

function TaskCard({ onOpen }: { readonly onOpen: (open: Open) => void }) {
  const task = live.task.value;
  if (task === null) return isCalm() ? <p class="reason">{t('do.no-task')}</p> : null;
  const vessel = standing.value?.vessels[task.vessel]?.name ?? task.vessel;
  return (
    <article class="task">
      <h3>
        <Mark kind="person" />
        {task.task === 'add-salt' && task.massKg !== null
          ? t('do.salt', { mass: mass(task.massKg) })
          : t(`do.${task.task}`)}
      </h3>
      <p>{sentence(task.words)}</p>
      {task.task === 'add-salt' ? <p class="limit">{t('salt.care', { vessel })}</p> : null}
      <p class="buttons large">
        {task.task === 'add-salt' ? (
          <Act kind="main" onPress={() => onOpen('salt')}>
            {t('salt.done')}
          </Act>
        ) : null}
        {task.task === 'measure-salinity' ? (
          <Act kind="main" onPress={() => onOpen('measure')}>
            {t('measure.done')}
          </Act>
        ) : null}
        {task.task === 'look' ? (
          <Act kind="main" onPress={() => onOpen('level')}>
            {t('level-right.done')}
          </Act>
        ) : null}
      </p>
    </article>
  );
}

function OutOfService() {
  const out = Object.entries(live.outOfService.value ?? {});
  if (out.length === 0) return null;
  const nameOf = (id: string) =>
    standing.value?.sensors[id]?.name ?? standing.value?.actuators[id]?.name ?? id;
  return (
    <>
      {out.map(([device, reason]) => (
        <article class="task" key={device}>
          <h3>
            <Mark kind="stale" />
            {t('service.is-out', { device: nameOf(device) })}
          </h3>
          <p>{t('service.because', { reason })}</p>
          <p class="buttons large">
            <Act kind="main" onPress={() => void ask({ ask: 'into-service', device })}>
              {t('service.back')}
            </Act>
          </p>
        </article>
      ))}
    </>
  );
}
