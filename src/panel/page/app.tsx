// The page: a head that never scrolls out of sight, the four answers, and below them one view.
import { useEffect } from 'preact/hooks';
import { lazy } from './parts/lazy.tsx';
import { me, said } from './state/api.ts';
import { atMs, hasView, isOld, live, silentMs, simulated, standing } from './state/live.ts';
import { type Place, place } from './state/place.ts';
import { isUnseen, standingAlarms } from './state/standing-alarms.ts';
import { clockExact, moment } from './state/time.ts';
import { sentence, t } from './texts.ts';
import { duration } from './units.ts';
import { Alarms } from './views/alarms.tsx';
import { Answers } from './views/answers.tsx';
import { Bypassed } from './views/bypass.tsx';
import { Do } from './views/do.tsx';
import { Doing, PauseAll } from './views/doing.tsx';
import { PreferencesView } from './views/preferences.tsx';
import { SignIn } from './views/sign-in.tsx';
import { Station } from './views/station.tsx';

const History = lazy(() => import('./views/history.tsx').then(({ History: view }) => view));
const Proofs = lazy(() => import('./views/proofs.tsx').then(({ Proofs: view }) => view));
const Books = lazy(() => import('./views/books.tsx').then(({ Books: view }) => view));
const WhatIfView = lazy(() => import('./views/what-if.tsx').then(({ WhatIfView: view }) => view));

export function App() {
  useTitle();
  useFirstSight();
  if (me.value !== null && !me.value.signedIn) return <SignIn />;
  if (!hasView.value) return <p class="first">{t('asking')}</p>;
  return (
    <div
      class={`page${isOld.value ? ' is-old' : live.link.value?.proven === false || live.link.value?.isSilent ? ' no-link' : ''}`}
    >
      <a class="skip" href="#view">
        {t('skip')}
      </a>
      <Hatch />
      <Head />
      <Cut />
      <Bypassed />
      <Answers compact={place.value.view !== 'now'} />
      <main id="view" tabIndex={-1}>
        <View at={place.value} />
      </main>
      <PauseAll />
      <Said />
    </div>
  );
}

/** The pattern of what is only possible: one for all drawings. */
function Hatch() {
  return (
    <svg width="0" height="0" class="visually-hidden" aria-hidden="true">
      <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <rect class="hatch-ground" width="6" height="6" />
        <path class="hatch-line" d="M0 0V6" />
      </pattern>
    </svg>
  );
}

function View({ at }: { readonly at: Place }) {
  switch (at.view) {
    case 'now':
      return (
        <div class="now">
          <div class="aside">
            <Do />
            <Doing />
          </div>
          <Station />
        </div>
      );
    case 'alarms':
      return <Alarms chosen={at.what} />;
    case 'proofs':
      return <Proofs chosen={at.what} />;
    case 'prefer':
      return <PreferencesView />;
    case 'history':
      return <History incident={at.what} />;
    case 'books':
      return <Books />;
    case 'what-if':
      return <WhatIfView />;
  }
}

/** A place without a way of its own belongs to the first: its tasks lead there. */
function currentOf(name: (typeof PLACES)[number]): 'page' | 'true' | undefined {
  const { view } = place.value;
  if (view === name) return 'page';
  return view === 'proofs' && name === 'now' ? 'true' : undefined;
}

const PLACES = ['now', 'alarms', 'history', 'books', 'what-if', 'prefer'] as const;

function Head() {
  const unseen = standingAlarms.value.filter(isUnseen).length;
  return (
    <header class="top">
      <h1>{standing.value?.name}</h1>
      <p class="heard">
        {simulated.value ? <span class="simulated">{t('head.simulated')}</span> : null}
        <time>{clockExact(atMs.value)}</time>
      </p>
      <nav aria-label={t('head.places')}>
        {PLACES.map((name) => (
          <a key={name} href={`#${name}`} aria-current={currentOf(name)}>
            {t(`place.${name}`)}
            {name === 'alarms' && unseen > 0 ? (
              <span class="count">
                {unseen}
                <span class="visually-hidden"> {t('alarms.unseen')}</span>
              </span>
            ) : null}
          </a>
        ))}
      </nav>
    </header>
  );
}

/** A dead service, or a dead link to the station: unmistakable, and counting. */
function Cut() {
  const link = live.link.value;
  const noLink = link !== null && (!link.up || !link.proven) ? link : null;
  const isSilent = noLink === null && link?.isSilent === true;
  return (
    <section
      class={isOld.value ? 'cut service' : noLink || isSilent ? 'cut link' : 'cut'}
      aria-label={t('cut.label')}
    >
      {/* Said once: the seconds count on beside it, where no screen reader is made to read each of them. */}
      <b role="alert">
        {isOld.value ? t('cut.service') : noLink ? t('cut.link') : isSilent ? t('cut.silent') : ''}
      </b>
      {isOld.value ? <span>{t('cut.last-seen', { time: duration(silentMs.value) })}</span> : null}
      {!isOld.value && noLink ? <span>{t('cut.link-since', { moment: moment(noLink.sinceMs) })}</span> : null}
    </section>
  );
}

/** The answer to what was asked last. */
function Said() {
  const answer = said.value;
  useEffect(() => {
    if (answer === null) return;
    const gone = setTimeout(
      () => {
        if (said.peek()?.n === answer.n) said.value = null;
      },
      answer.accepted ? 6_000 : 20_000,
    );
    return () => clearTimeout(gone);
  }, [answer]);
  return (
    <div class="said" role="status">
      {answer === null ? null : (
        <p class={answer.accepted ? 'accepted' : 'refused'}>
          <b>{t(answer.accepted ? 'said.accepted' : 'said.refused')}</b> {sentence(answer.words)}
          <button
            type="button"
            class="button plain"
            onClick={() => {
              said.value = null;
            }}
          >
            {t('close')}
          </button>
        </p>
      )}
    </div>
  );
}

/** When the station first stood on the screen: for whoever measures that. */
function useFirstSight(): void {
  const isThere = hasView.value;
  useEffect(() => {
    if (isThere) performance.mark('station-drawn');
  }, [isThere]);
}

function useTitle(): void {
  const worst = standingAlarms.value[0];
  const name = standing.value?.name ?? 'Vatwarden';
  useEffect(() => {
    document.title = worst === undefined ? name : `${t(`priority.${worst.priority}`)} \u2013 ${name}`;
  }, [worst?.priority, name]);
}
