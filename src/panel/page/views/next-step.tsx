// What to do about an alarm, one step at a time: the next one large, with a box to tick where it is to be done, and the reset of a
// shutdown when all are behind. Somebody reads it with a phone in a wet hand.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { type StepKind, stepsIn } from '../../../language/told.ts';
import type { Words } from '../../contract.ts';
import { Act } from '../parts/button.tsx';
import { TextField } from '../parts/text-field.tsx';
import { Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { live } from '../state/live.ts';
import { type Alarm, isOver, isTrip } from '../state/standing-alarms.ts';
import { rowStanding } from '../state/targets.ts';
import { sentence, t } from '../texts.ts';
import { Inputs } from './checks.tsx';

export interface Step {
  readonly kind: StepKind;
  readonly told: string;
}

/** The steps of a response in their order; the reset is the button's own business. */
export function stepsOf(response: Words): readonly Step[] {
  if (typeof response === 'string')
    return response === '' ? [] : [{ kind: 'plain', told: sentence(response) }];
  return stepsIn(response)
    .map(({ step, told }) => ({ kind: step, told: sentence(told) }))
    .filter(({ kind }) => kind !== 'reset');
}

/** What somebody goes through one after the other; the rest only explains it. */
const WALKED: readonly StepKind[] = ['first', 'do', 'check', 'if', 'plain'];
/** What is done and can be ticked; of a question, or of what is only so in one case, nobody could say so. */
const TICKED: readonly StepKind[] = ['first', 'do'];

/** @param children what else there is to know of it, folded with its steps */
export function Walk({ alarm, children }: { readonly alarm: Alarm; readonly children: ComponentChildren }) {
  const [behind, setBehind] = useState<readonly string[]>([]);
  const steps = isOver(alarm) ? [] : stepsOf(alarm.response);
  const walked = steps.filter(({ kind }) => WALKED.includes(kind));
  const next = walked.find(({ told }) => !behind.includes(told));
  const toggle = (told: string) =>
    setBehind(behind.includes(told) ? behind.filter((one) => one !== told) : [...behind, told]);
  const shown = useRef<HTMLDivElement>(null);
  const isPressed = useRef(false);
  const onDone = (told: string) => {
    isPressed.current = true;
    toggle(told);
  };
  // Whoever walks by keyboard or by ear goes on at the step that came in its place.
  useEffect(() => {
    if (isPressed.current) shown.current?.querySelector<HTMLElement>('input, button')?.focus();
    isPressed.current = false;
  }, [next?.told]);
  return (
    <>
      <div class="next-step" ref={shown}>
        {isOver(alarm) ? null : next === undefined ? (
          <End alarm={alarm} steps={steps} />
        ) : (
          <Next
            step={next}
            place={walked.indexOf(next) + 1}
            of={walked.length}
            cautions={next.kind === 'first' ? [] : steps.filter(({ kind }) => kind === 'caution')}
            onDone={() => onDone(next.told)}
          />
        )}
      </div>
      <details class="folded">
        <summary>{t(steps.length > 1 ? 'alarms.all-steps' : 'alarms.more')}</summary>
        {steps.length > 1
          ? steps.map((step) => (
              <Line key={step.told} step={step} isBehind={behind.includes(step.told)} onTick={toggle} />
            ))
          : null}
        {children}
      </details>
    </>
  );
}

function Next(props: {
  readonly step: Step;
  readonly place: number;
  readonly of: number;
  readonly cautions: readonly Step[];
  readonly onDone: () => void;
}) {
  const { step, place, of, cautions, onDone } = props;
  const [head, rest] = firstSentence(step.told);
  return (
    <>
      {of > 1 ? <p class="limit">{t('alarms.step', { place, of })}</p> : null}
      {cautions.map(({ told }) => (
        <p key={told} class="caution">
          {told}
        </p>
      ))}
      {TICKED.includes(step.kind) ? (
        // Another box for another step: one that is ticked must not seem to tick the next.
        <label key={step.told} class="tick">
          <span class="what">
            <b>{head}</b> {rest}
          </span>
          <span class="done">
            <input type="checkbox" checked={false} onChange={onDone} /> {t('alarms.done')}
          </span>
        </label>
      ) : (
        <>
          <p class="mend">
            <b>{head}</b> {rest}
          </p>
          {of > 1 ? (
            <p class="buttons">
              <Act onPress={onDone}>{t('next')}</Act>
            </p>
          ) : null}
        </>
      )}
    </>
  );
}

/** The first sentence stands out: it is what somebody must read who reads nothing else. */
function firstSentence(told: string): readonly [string, string] {
  const [, head = told, rest = ''] = /^(.+?[.!?])\s+(.*)$/su.exec(told) ?? [];
  return [head, rest];
}

function Line(props: {
  readonly step: Step;
  readonly isBehind: boolean;
  readonly onTick: (told: string) => void;
}) {
  const { step, isBehind, onTick } = props;
  if (!TICKED.includes(step.kind))
    return <p class={step.kind === 'caution' ? 'caution' : `mend ${step.kind}`}>{step.told}</p>;
  return (
    <label class="tick">
      <input type="checkbox" checked={isBehind} onChange={() => onTick(step.told)} />
      <span>{step.told}</span>
    </label>
  );
}

/** Nothing is left to be done: a shutdown is reset, anything else ends by what it says. */
function End({ alarm, steps }: { readonly alarm: Alarm; readonly steps: readonly Step[] }) {
  if (isTrip(alarm)) return <Reset alarm={alarm} />;
  return steps
    .filter(({ kind }) => kind === 'clears')
    .map(({ told }) => (
      <p key={told} class="mend clears">
        {told}
      </p>
    ));
}

/**
 * Where what is heard does not show that the cause is gone, whoever looked says what they saw. The core still refuses while the
 * cause stands.
 */
function Reset({ alarm }: { readonly alarm: Alarm }) {
  const [seen, setSeen] = useState('');
  const now = live.rows.value?.[alarm.alarm];
  const why = live.looks.value?.[alarm.alarm];
  const needsLook = why !== undefined;
  const witness = () => ({ ...whoSays(), seen: seen.trim() });
  return (
    <fieldset class="reset">
      <legend>{t('reset.head')}</legend>
      {now?.holds && rowStanding(alarm.alarm) ? (
        <>
          <p class="reason">{t('reset.still')}</p>
          <Inputs inputs={now.inputs} />
        </>
      ) : null}
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
          disabled={needsLook && seen.trim() === ''}
          onPress={() => void ask({ ask: 'reset-trip', trip: alarm.alarm, ...(needsLook ? witness() : {}) })}
        >
          {t('reset.send')}
        </Act>
      </p>
      <p class="limit">{t('reset.after')}</p>
    </fieldset>
  );
}
