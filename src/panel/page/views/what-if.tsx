// Before a target is changed: the same core runs the next seven days, once as now and once as changed, and shows both.
import { useEffect, useState } from 'preact/hooks';
import type { Answer, Change, WhatIf } from '../../contract.ts';
import { Act, mayAct } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { me, post, Refusal, read, tell } from '../state/api.ts';
import { standing } from '../state/live.ts';
import { sentence, t } from '../texts.ts';
import { share } from '../units.ts';
import { ChangeForm } from './change-form.tsx';
import { Outcome } from './outcome.tsx';

const ASK_MS = 400;

export function WhatIfView() {
  const station = standing.value;
  const [change, setChange] = useState<Change>({});
  const [id, setId] = useState<number | null>(null);
  const [outcome, setOutcome] = useState<WhatIf | null>(null);
  useFollow(id, setOutcome);
  if (station === null) return null;
  if (station.change === 'none') return <p class="panel reason">{t('what-if.none')}</p>;
  const isSame = Object.keys(change).length === 0;
  const run = async () => {
    setOutcome({ stage: 'running', share: 0 });
    try {
      const begun = await post<Answer & { id: number | null }>('api/what-if', change);
      if (begun.id === null) setOutcome({ stage: 'failed', words: begun.words });
      setId(begun.id);
    } catch (error) {
      setOutcome({ stage: 'failed', words: error instanceof Refusal ? error.message : String(error) });
    }
  };
  return (
    <div class="what-if">
      <section class="panel" aria-labelledby="what-if-head">
        <h2 id="what-if-head">{t('what-if.head')}</h2>
        <p class="reason">{t('what-if.words')}</p>
        <ChangeForm
          key={JSON.stringify(station.process)}
          station={station}
          onChange={(next) => {
            setChange(next);
            setOutcome(null);
            setId(null);
          }}
        />
        <p class="buttons large">
          <Act kind="main" disabled={isSame || outcome?.stage === 'running'} onPress={() => void run()}>
            {t('what-if.run')}
          </Act>
        </p>
        {isSame ? <p class="limit">{t('what-if.unchanged')}</p> : null}
      </section>
      <section class="panel" aria-live="polite">
        {outcome === null ? (
          <>
            <p class="reason">{t('what-if.empty')}</p>
            <p class="limit">{t('what-if.assumes')}</p>
          </>
        ) : null}
        {outcome?.stage === 'running' ? <Running share={outcome.share} /> : null}
        {outcome?.stage === 'failed' ? (
          <p class="reason">{t('what-if.failed', { words: sentence(outcome.words) })}</p>
        ) : null}
        {outcome?.stage === 'done' ? (
          <>
            <Outcome outcome={outcome} />
            <Save change={change} />
          </>
        ) : null}
      </section>
    </div>
  );
}

/** Asks how far it is until it is done. */
function useFollow(id: number | null, told: (outcome: WhatIf) => void): void {
  useEffect(() => {
    if (id === null) return;
    let isGone = false;
    const look = async () => {
      try {
        const found = await read<WhatIf>(`api/what-if/${id}`);
        if (isGone) return;
        told(found);
        if (found.stage === 'running') setTimeout(() => void look(), ASK_MS);
      } catch (error) {
        if (!isGone) told({ stage: 'failed', words: error instanceof Error ? error.message : String(error) });
      }
    };
    void look();
    return () => {
      isGone = true;
    };
  }, [id]);
}

function Running({ share: done }: { readonly share: number }) {
  return (
    <>
      <p class="reason">{t('what-if.running', { share: share(done) })}</p>
      <div class="bar" aria-hidden="true">
        <span class="bar-filled" style={{ width: `${100 * done}%` }} />
      </div>
    </>
  );
}

function Save({ change }: { readonly change: Change }) {
  const [isSure, setSure] = useState(false);
  if (!mayAct()) return null;
  const isTakenOver = standing.value?.change === 'taken-over';
  return (
    <p class="buttons">
      <Act onPress={() => setSure(true)}>{t(isTakenOver ? 'what-if.save' : 'what-if.save-file')}</Act>
      <button type="button" class="button plain" onClick={() => void takeAway(change)}>
        {t('what-if.take')}
      </button>
      {isSure ? (
        <Dialog
          title={t(isTakenOver ? 'what-if.save-sure' : 'what-if.save-file')}
          onClose={() => setSure(false)}
        >
          <p class="buttons large">
            <Act onPress={() => setSure(false)}>{t('steer.no')}</Act>
            <Act
              kind="main"
              onPress={() => {
                setSure(false);
                void tell('change', () => post<Answer>('api/change', change));
              }}
            >
              {t(isTakenOver ? 'what-if.save' : 'what-if.save-file')}
            </Act>
          </p>
        </Dialog>
      ) : null}
    </p>
  );
}

/** The changed file, as a download: made here, because the service may not write where the file lies. */
async function takeAway(change: Change): Promise<void> {
  const response = await fetch('api/change/file', {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'x-panel-token': me.value?.token ?? '' },
    body: JSON.stringify(change),
  });
  if (!response.ok) return;
  const link = document.createElement('a');
  link.href = URL.createObjectURL(await response.blob());
  link.download = `${standing.value?.id ?? 'station'}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
