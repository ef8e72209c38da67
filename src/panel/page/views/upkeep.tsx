// What alarms left to be done later: each stays here until a person says, with their name, that it is done.
import { useState } from 'preact/hooks';
import { Mark } from '../drawing/symbols.tsx';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { hasName, Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { stopped } from '../state/stopped.ts';
import { sentence, t } from '../texts.ts';

type Upkeep = NonNullable<typeof live.upkeep.value>[number];

export function UpkeepTasks() {
  return (live.upkeep.value ?? []).map((one) => <UpkeepTask key={one.task} {...one} />);
}

function UpkeepTask({ task, alarm, words }: Upkeep) {
  const [isOpen, setOpen] = useState(false);
  return (
    <article class="task">
      <h3>
        <Mark kind="person" />
        {t('upkeep.head')}
      </h3>
      <p>{stopped(sentence(words))}</p>
      <p class="limit">
        {t('upkeep.from')} <span class="tag">{alarm}</span>
      </p>
      {standing.value?.asks.includes('upkeep-done') ? (
        <p class="buttons">
          <Act onPress={() => setOpen(true)}>
            {t('upkeep.open')}
            <span class="visually-hidden"> {sentence(words)}</span>
          </Act>
        </p>
      ) : null}
      {isOpen ? (
        <Dialog title={t('upkeep.title')} onClose={() => setOpen(false)}>
          <p>{stopped(sentence(words))}</p>
          <p class="caution">{t('upkeep.care')}</p>
          <Who />
          <p class="buttons large">
            <Act
              kind="main"
              disabled={!hasName()}
              onPress={() => {
                void ask({ ask: 'upkeep-done', task, ...whoSays() });
                setOpen(false);
              }}
            >
              {t('upkeep.send')}
            </Act>
          </p>
        </Dialog>
      ) : null}
    </article>
  );
}
