// Alarms in the states of ISA-18.2: what stands, what it means, what to do about it; acknowledge; and for a trip the list
// of what to look at before it may be reset.
import { type ComponentChildren, Fragment } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { isMessage } from '../../../language/message.ts';
import { asksFor, type StepKind, stepsIn } from '../../../language/told.ts';
import type { Sections, Words } from '../../contract.ts';
import { Mark } from '../drawing/symbols.tsx';
import { Act, mayAct } from '../parts/button.tsx';
import { TextField } from '../parts/text-field.tsx';
import { Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { incidents } from '../state/incidents.ts';
import { live, standing } from '../state/live.ts';
import { alarmWords, isOver, isTrip, isUnseen, standingAlarms } from '../state/standing-alarms.ts';
import { rowStanding } from '../state/targets.ts';
import { moment } from '../state/time.ts';
import { sentence, t } from '../texts.ts';
import { Inputs } from './checks.tsx';
import { Shelving } from './shelve.tsx';
import { ValveMoved } from './valve-moved.tsx';

type Alarm = Sections['alarms'][number];

export function Alarms({ chosen }: { readonly chosen: string | null }) {
  const alarms = standingAlarms.value;
  const quiet = (live.alarms.value ?? []).filter((one) => !alarms.includes(one));
  const unseen = alarms.filter(isUnseen).length;
  return (
    <section class="alarms panel" id="alarms" aria-labelledby="alarms-head">
      <h2 id="alarms-head">{t('alarms.head')}</h2>
      {alarms.length === 0 ? (
        <p class="reason">
          {t('alarms.none')} <a href="#history">{t('alarms.before')}</a>
        </p>
      ) : null}
      {unseen > 1 ? (
        <p class="buttons">
          <Act onPress={() => void ask({ ask: 'acknowledge', alarm: 'all' })}>
            {t('alarms.acknowledge-all', { count: unseen })}
          </Act>
        </p>
      ) : null}
      <ol class="alarm-list">
        {incidents.value.map(({ lead, rest }) => (
          <AlarmCard key={lead.alarm} alarm={lead} isChosen={lead.alarm === chosen}>
            <Folded rest={rest} chosen={chosen} />
          </AlarmCard>
        ))}
      </ol>
      {quiet.length > 0 ? (
        <details>
          <summary>{t('alarms.quiet', { count: quiet.length })}</summary>
          <ol class="alarm-list">
            {quiet.map((alarm) => (
              <AlarmCard key={alarm.alarm} alarm={alarm} isChosen={false} />
            ))}
          </ol>
        </details>
      ) : null}
    </section>
  );
}

/** What has the same cause: there, with its own steps, and not in the way. */
function Folded({ rest, chosen }: { readonly rest: readonly Alarm[]; readonly chosen: string | null }) {
  if (rest.length === 0) return null;
  return (
    <details class="folded" open={rest.some(({ alarm }) => alarm === chosen)}>
      <summary>{t('alarms.folded', { count: rest.length })}</summary>
      <ol class="alarm-list">
        {rest.map((alarm) => (
          <AlarmCard key={alarm.alarm} alarm={alarm} isChosen={alarm.alarm === chosen} />
        ))}
      </ol>
    </details>
  );
}

function AlarmCard({
  alarm,
  isChosen,
  children,
}: {
  readonly alarm: Alarm;
  readonly isChosen: boolean;
  readonly children?: ComponentChildren;
}) {
  const { alarm: key, priority, words, response, state, sinceMs } = alarm;
  const trip = isTrip(alarm);
  const [kind = '', about = ''] = alarm.alarm.split('/');
  const valve = kind === 'A-06' || kind === 'A-07' ? about : undefined;
  return (
    <li
      class={`alarm ${priority} ${isUnseen(alarm) ? 'unseen' : 'seen'}`}
      id={`alarm-${key.replaceAll('/', '-')}`}
    >
      {isOver(alarm)
        ? null
        : stepsOf(response)
            .filter(isFirst)
            .map(({ told }) => <First key={told} told={told} />)}
      <header>
        <Mark kind={priority} />
        <h3>
          <span class="priority">{t(`priority.${priority}`)}</span> {alarmWords(alarm)}
        </h3>
      </header>
      <p class="limit">
        {t(`alarm.${state}`)}, {t('why.since', { moment: moment(sinceMs) })} <span class="tag">{key}</span>
      </p>
      {trip ? <Reset alarm={alarm} isOpen={isChosen} /> : null}
      {trip || isOver(alarm) ? null : <Steps steps={stepsOf(response).filter((step) => !isFirst(step))} />}
      {isMessage(response) && asksFor(response, 'do-proof-tests') ? (
        <p class="buttons">
          <a class="button main" href="#proofs">
            {t('proofs.head')}
          </a>
        </p>
      ) : null}
      {isUnseen(alarm) ? (
        <p class="buttons">
          <Act kind={trip ? 'plain' : 'main'} onPress={() => void ask({ ask: 'acknowledge', alarm: key })}>
            {t('alarms.acknowledge')}
            <span class="visually-hidden"> {sentence(words)}</span>
          </Act>
        </p>
      ) : null}
      {valve !== undefined && mayAct() ? (
        <ValveMoved valve={valve} name={live.exercises.value?.[valve]?.name ?? valve} />
      ) : null}
      {standing.value?.asks.includes('shelve') && !trip && mayAct() ? <Shelving alarm={alarm} /> : null}
      {children}
    </li>
  );
}

/**
 * The core's advice, step by step; each is ticked before the reset can be asked for. Where what is heard does not show that the
 * cause is gone, whoever looked says what they saw. The core still refuses while the cause stands.
 */
function Reset({ alarm, isOpen }: { readonly alarm: Alarm; readonly isOpen: boolean }) {
  const steps = stepsOf(alarm.response).filter((step) => !isFirst(step));
  const toDo = steps.filter(({ kind }) => kind === 'do').length;
  const [done, setDone] = useState<readonly string[]>([]);
  const [seen, setSeen] = useState('');
  const now = live.rows.value?.[alarm.alarm];
  const row = rowStanding(alarm.alarm);
  const why = live.looks.value?.[alarm.alarm];
  const needsLook = why !== undefined;
  const witness = () => ({ ...whoSays(), seen: seen.trim() });
  useEffect(() => {
    if (isOpen) document.getElementById(`alarm-${alarm.alarm.replaceAll('/', '-')}`)?.scrollIntoView();
  }, [isOpen, alarm.alarm]);
  const tick = (step: string) =>
    setDone(done.includes(step) ? done.filter((one) => one !== step) : [...done, step]);
  return (
    <fieldset class="reset">
      <legend>{t('reset.head')}</legend>
      {now?.holds && row ? (
        <>
          <p class="reason">{t('reset.still')}</p>
          <Inputs inputs={now.inputs} />
        </>
      ) : null}
      <Steps
        steps={steps}
        box={(step) => (
          <label class="tick">
            <input type="checkbox" checked={done.includes(step)} onChange={() => tick(step)} />
            <span>{step}</span>
          </label>
        )}
      />
      {needsLook ? (
        <>
          <p class="reason">{sentence(why)}</p>
          <TextField label={t('reset.seen')} value={seen} onValue={setSeen} />
          <Who />
        </>
      ) : null}
      <p class="buttons large">
        <Act
          kind="main"
          disabled={done.length < toDo || (needsLook && seen.trim() === '')}
          onPress={() => void ask({ ask: 'reset-trip', trip: alarm.alarm, ...(needsLook ? witness() : {}) })}
        >
          {t('reset.send')}
        </Act>
      </p>
      <p class="limit">{t('reset.after')}</p>
    </fieldset>
  );
}

interface Step {
  readonly kind: StepKind;
  readonly told: string;
}

/** Electricity stands before everything else of its card, and before the alarm itself. */
const isFirst = ({ kind }: Step): boolean => kind === 'first';

/** The steps of a response in their order; the reset is the button's own business. */
export function stepsOf(response: Words): readonly Step[] {
  if (typeof response === 'string')
    return response === '' ? [] : [{ kind: 'plain', told: sentence(response) }];
  return stepsIn(response)
    .map(({ step, told }) => ({ kind: step, told: sentence(told) }))
    .filter(({ kind }) => kind !== 'reset');
}

/** The first sentence of the first step stands out: it is what somebody must read who reads nothing else. */
function First({ told }: { readonly told: string }) {
  const [, head = told, rest = ''] = /^(.+?[.!?])\s+(.*)$/su.exec(told) ?? [];
  return (
    <p class="caution headline">
      <b>{head}</b> {rest}
    </p>
  );
}

/** Only what is to be done gets a box, where somebody ticks. */
function Steps({
  steps,
  box,
}: {
  readonly steps: readonly Step[];
  readonly box?: (step: string) => ComponentChildren;
}) {
  return steps.map(({ kind, told }) => {
    if (kind === 'do' && box !== undefined) return <Fragment key={told}>{box(told)}</Fragment>;
    return (
      <p key={told} class={kind === 'caution' ? 'caution' : `mend ${kind}`}>
        {told}
      </p>
    );
  });
}
