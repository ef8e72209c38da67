// Alarms in the states of ISA-18.2: what stands, the next step to do about it, and the rest folded; acknowledge.
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import { isMessage } from '../../../language/message.ts';
import { asksFor } from '../../../language/told.ts';
import { Mark } from '../drawing/symbols.tsx';
import { Act, mayAct } from '../parts/button.tsx';
import { ask } from '../state/api.ts';
import { incidents } from '../state/incidents.ts';
import { live, standing } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { type Alarm, alarmWords, isTrip, isUnseen, standingAlarms } from '../state/standing-alarms.ts';
import { rowStanding } from '../state/targets.ts';
import { moment } from '../state/time.ts';
import { sentence, t } from '../texts.ts';
import { Walk } from './next-step.tsx';
import { Shelving } from './shelve.tsx';
import { ValveMoved } from './valve-moved.tsx';

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
      <ol class="alarm-list">
        {incidents.value.map(({ lead, rest }) => (
          <AlarmCard key={lead.alarm} alarm={lead} isChosen={lead.alarm === chosen}>
            <Folded rest={rest} chosen={chosen} />
          </AlarmCard>
        ))}
      </ol>
      {unseen > 1 ? (
        <p class="buttons">
          <Act onPress={() => void ask({ ask: 'acknowledge', alarm: 'all' })}>
            {t('alarms.acknowledge-all', { count: unseen })}
          </Act>
        </p>
      ) : null}
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

/**
 * A title says what is so; where that is long, what it may come of is folded (each language has its own stop before that), and of
 * a list all but the first.
 */
const LONGEST_TITLE = 80;
const LONGEST_REASON = 160;
const SHORTEST_TITLE = 20;
const BEFORE_CAUSES = { en: ': ', de: '; ' } as const;

function titleOf(key: string, words: string): readonly [string, string] {
  const isRow = rowStanding(key) !== undefined;
  if (words.length <= (isRow ? LONGEST_TITLE : LONGEST_REASON)) return [words, ''];
  const stop = isRow ? BEFORE_CAUSES[preferences.value.language] : '; ';
  const at = words.indexOf(stop);
  if (at < SHORTEST_TITLE) return [words, ''];
  return [`${words.slice(0, at)}${isRow ? '' : ' …'}`, words.slice(at + stop.length)];
}

function AlarmCard(props: {
  readonly alarm: Alarm;
  readonly isChosen: boolean;
  readonly children?: ComponentChildren;
}) {
  const { alarm, isChosen, children } = props;
  const { alarm: key, priority, words, response, state, sinceMs } = alarm;
  const [kind = '', about = ''] = alarm.alarm.split('/');
  const valve = kind === 'A-06' || kind === 'A-07' ? about : undefined;
  const [title, more] = titleOf(key, alarmWords(alarm));
  const mayShelve = standing.value?.asks.includes('shelve') && !isTrip(alarm) && mayAct();
  useEffect(() => {
    if (isChosen) document.getElementById(`alarm-${key.replaceAll('/', '-')}`)?.scrollIntoView();
  }, [isChosen, key]);
  return (
    <li
      class={`alarm ${priority} ${isUnseen(alarm) ? 'unseen' : 'seen'}`}
      id={`alarm-${key.replaceAll('/', '-')}`}
    >
      <header>
        <Mark kind={priority} />
        <h3>
          <span class="priority">{t(`priority.${priority}`)}</span> {title}
        </h3>
      </header>
      <div class="stands">
        <p class="limit">
          {t(`alarm.${state}`)}, {t('why.since', { moment: moment(sinceMs) })}
        </p>
        {isUnseen(alarm) ? (
          <Act onPress={() => void ask({ ask: 'acknowledge', alarm: key })}>
            {t('alarms.acknowledge')}
            <span class="visually-hidden"> {sentence(words)}</span>
          </Act>
        ) : null}
      </div>
      {mayShelve && state === 'shelved' ? <Shelving alarm={alarm} /> : null}
      <Walk alarm={alarm}>
        {more === '' ? null : <p>{sentence(more)}</p>}
        <p class="limit">
          <span class="tag">{key}</span>
        </p>
        {mayShelve && state !== 'shelved' ? <Shelving alarm={alarm} /> : null}
      </Walk>
      {isMessage(response) && asksFor(response, 'do-proof-tests') ? (
        <p class="buttons">
          <a class="button main" href="#proofs">
            {t('proofs.head')}
          </a>
        </p>
      ) : null}
      {valve !== undefined && mayAct() ? (
        <ValveMoved valve={valve} name={standing.value?.exercises[valve]?.name ?? valve} />
      ) : null}
      {children}
    </li>
  );
}
