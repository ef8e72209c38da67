// Proof tests, for somebody who stands before the vat with wet hands: which float to move and when, one of them at a time;
// begin with one large button, see what to do and what the service sees, and what came of it.
import { Mark } from '../drawing/symbols.tsx';
import { Act } from '../parts/button.tsx';
import { Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { atMs, live, standing } from '../state/live.ts';
import {
  dueWords,
  failed,
  groupOf,
  outcomeWord,
  type Proof,
  proofHref,
  proofs,
  sensorName,
} from '../state/proofs.ts';
import { targetNow } from '../state/targets.ts';
import { moment } from '../state/time.ts';
import { person, sentence, t, told } from '../texts.ts';
import { duration, number } from '../units.ts';
import { Sensor } from './checks.tsx';

/** For so long a result is what the person sees first; one that failed, until it has passed. */
const RECENT_MS = 30 * 60_000;

export function Proofs({ chosen }: { readonly chosen: string | null }) {
  const one = proofs.value.find(({ row }) => row.key === chosen);
  return (
    <section class="proofs panel" aria-labelledby="proofs-head">
      {one === undefined ? <List /> : <One proof={one} />}
    </section>
  );
}

function List() {
  const test = live.proofTests.value?.underWay ?? null;
  const groups = (['overdue', 'never-tried', 'due-soon', 'proven'] as const).map(
    (stands) => [stands, proofs.value.filter((one) => groupOf(one) === stands)] as const,
  );
  return (
    <>
      <h2 id="proofs-head">{t('proofs.head')}</h2>
      <p class="reason">{t(proofs.value.length === 0 ? 'proofs.none' : 'proofs.how')}</p>
      {test === null ? null : (
        <p class="buttons large">
          <a class="button main" href={proofHref(test.row)}>
            {t('proofs.under-way', { sensor: sensorName(test.sensor) })}
          </a>
        </p>
      )}
      {groups.map(([stands, list]) =>
        list.length === 0 ? null : (
          <section key={stands} aria-labelledby={`proofs-${stands}`}>
            <h3 id={`proofs-${stands}`}>{t(`proofs.${stands}`)}</h3>
            <ol class="proof-list">
              {list.map((one) => (
                <li key={one.row.key}>
                  <a href={proofHref(one.row.key)}>
                    <b>{one.moved}</b>
                    <span>{dueWords(one)}</span>
                    <span class="limit">{against(one)}</span>
                    <Last proof={one} />
                  </a>
                </li>
              ))}
            </ol>
          </section>
        ),
      )}
    </>
  );
}

/** `Overflow: Fresh vat`. */
const against = ({ row }: Proof): string =>
  t('proofs.against', { hazard: sentence(row.hazard), about: told(row.about) });

function Last({ proof: { last } }: { readonly proof: Proof }) {
  if (last === null) return null;
  const values = { result: outcomeWord(last), moment: moment(last.atMs), who: person(last.who) };
  return (
    <span class="limit">
      {last.passed === false ? <Mark kind="faulty" /> : null}
      {t('proofs.last', values)}
    </span>
  );
}

function One({ proof }: { readonly proof: Proof }) {
  const test = live.proofTests.value?.underWay ?? null;
  const isHere = test?.row === proof.row.key;
  const isRecent =
    proof.last !== null && (failed.value.includes(proof) || atMs.value - proof.last.atMs < RECENT_MS);
  return (
    <>
      <p class="back">
        <a href="#proofs">{t('proofs.all')}</a>
      </p>
      <h2 id="proofs-head">{proof.moved}</h2>
      <p class="limit">
        {against(proof)}. {dueWords(proof)}. <span class="tag">{proof.row.key}</span>
      </p>
      {isHere ? <UnderWay /> : isRecent ? <Outcome proof={proof} /> : <Before proof={proof} />}
    </>
  );
}

function Before({ proof }: { readonly proof: Proof }) {
  const { row, sensor } = proof;
  return (
    <>
      <p class="loud">{row.proof === null ? '' : sentence(row.proof)}</p>
      <Last proof={proof} />
      <p>
        <Sensor id={sensor} />
      </p>
      <Resting row={row.key} />
      <p class="caution">{t('proofs.care')}</p>
      <Who />
      <Begin proof={proof} kind="main" />
    </>
  );
}

/** What is switched off while it lasts, and what a trip means. */
function Resting({ row }: { readonly row: string }) {
  const blocks = standing.value?.rows.find((one) => one.means === 'tested' && one.tests === row);
  const names = (blocks?.forbids ?? []).flatMap((id) => targetNow(id)?.name ?? []);
  return <p class="reason">{t('proofs.rests', { targets: names.join(', ') })}</p>;
}

function Begin({ proof, kind }: { readonly proof: Proof; readonly kind: 'main' | 'plain' }) {
  const { key } = proof.row;
  const other = live.proofTests.value?.underWay ?? null;
  if (other !== null)
    return (
      <p class="buttons large">
        <a class="button main" href={proofHref(other.row)}>
          {t('proofs.busy', { sensor: sensorName(other.sensor) })}
        </a>
      </p>
    );
  if (isLatched(key)) return <ToReset row={key} words={t('proofs.tripped-before')} />;
  return (
    <p class="buttons large">
      <Act kind={kind} onPress={() => void ask({ ask: 'proof-test', row: key, ...whoSays() })}>
        {t(kind === 'main' ? 'proofs.begin' : 'proofs.again')}
      </Act>
    </p>
  );
}

const isLatched = (row: string): boolean => live.rows.value?.[row]?.latched === true;

function ToReset({ row, words }: { readonly row: string; readonly words: string }) {
  return (
    <>
      <p>
        <Mark kind="latched" /> {words}
      </p>
      <p class="buttons large">
        <a class="button main" href={`#alarms/${encodeURIComponent(row)}`}>
          {t('proofs.to-reset')}
        </a>
      </p>
    </>
  );
}

function UnderWay() {
  const now = live.proofTests.value;
  const test = now?.underWay ?? null;
  if (now === null || test === null) return null;
  const lasted = duration(test.forSeconds * 1000);
  const most = duration(standing.value?.limits.proofWaitMs ?? 0);
  const { answeredSeconds } = now;
  return (
    <>
      {/* Said at each change: the seconds count on below, where no screen reader is made to read each of them. */}
      <div aria-live="polite">
        {answeredSeconds === null ? null : (
          <p class="loud">
            <Mark kind="fine" /> {t('proofs.answered', { time: seconds(answeredSeconds) })}
          </p>
        )}
        <p class="loud">{sentence(test.words)}</p>
      </div>
      <p>
        <Sensor id={test.sensor} />
      </p>
      <p class="counting">{t('proofs.waits', { time: lasted, most })}</p>
      <p class="reason">{t('proofs.by', { who: person(test.who) })}</p>
      <p class="buttons large">
        <Act onPress={() => void ask({ ask: 'end-proof-test' })}>{t('proofs.cancel')}</Act>
      </p>
    </>
  );
}

const seconds = (value: number): string => `${number(value, Number.isInteger(value) ? 0 : 1)}\u00a0s`;

function Outcome({ proof }: { readonly proof: Proof }) {
  const { last, row, sensor } = proof;
  if (last === null) return null;
  const { passed, words } = last;
  const isOut = live.outOfService.value?.[sensor] !== undefined;
  return (
    <>
      <div class={`outcome ${passed === false ? 'failed' : 'well'}`} role="status">
        <p class="loud">
          <Mark kind={passed === null ? 'stale' : passed ? 'fine' : 'urgent'} />{' '}
          {t(passed === null ? 'proofs.open' : passed ? 'proofs.passed' : 'proofs.failed')}
        </p>
        {words === '' ? null : <p>{sentence(words)}.</p>}
        {last.seconds === null ? null : <p>{t('proofs.answered', { time: seconds(last.seconds) })}</p>}
        <Last proof={proof} />
      </div>
      {passed === false ? <p class="caution">{t('proofs.failed-care')}</p> : null}
      {passed === false && !isOut ? (
        <p class="buttons large">
          <Act
            kind="main"
            onPress={() =>
              void ask({ ask: 'out-of-service', device: sensor, reason: t('proofs.failed-reason') })
            }
          >
            {t('proofs.take-out', { sensor: proof.moved })}
          </Act>
        </p>
      ) : null}
      {isLatched(row.key) ? (
        <ToReset row={row.key} words={t('proofs.tripped-by-test')} />
      ) : (
        <>
          {passed ? <Next /> : <Who />}
          <Begin proof={proof} kind="plain" />
        </>
      )}
    </>
  );
}

/** On to the next that is due, one at a time. */
function Next() {
  const next = proofs.value.find((one) => groupOf(one) !== 'proven');
  return (
    <p class="buttons large">
      <a class="button main" href={next === undefined ? '#now' : proofHref(next.row.key)}>
        {next === undefined ? t('proofs.done') : t('proofs.next', { sensor: next.moved })}
      </a>
    </p>
  );
}
