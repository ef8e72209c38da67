// A valve that must move now and then, and that a person has opened and shut by hand: said after reading that water may come.
import { useState } from 'preact/hooks';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { t } from '../texts.ts';

export function ValveMoved({ valve, name }: { readonly valve: string; readonly name: string }) {
  const [isOpen, setOpen] = useState(false);
  return (
    <p class="buttons">
      <Act onPress={() => setOpen(true)}>
        {t('valve-moved.open')}
        <span class="visually-hidden"> {name}</span>
      </Act>
      {isOpen ? (
        <Dialog title={t('valve-moved.title', { name })} onClose={() => setOpen(false)}>
          <p class="caution">{t('caution.valve')}</p>
          <Who />
          <p class="buttons large">
            <Act
              kind="main"
              onPress={() => {
                void ask({ ask: 'valve-moved', valve, ...whoSays() });
                setOpen(false);
              }}
            >
              {t('valve-moved.send')}
            </Act>
          </p>
        </Dialog>
      ) : null}
    </p>
  );
}
