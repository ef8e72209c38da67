// A valve that must move now and then, and that a person has opened and shut by hand: who says so, after reading that water
// may come.
import { useId, useState } from 'preact/hooks';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { ask, me } from '../state/api.ts';
import { t } from '../texts.ts';

export function ValveMoved({ valve, name }: { readonly valve: string; readonly name: string }) {
  const id = useId();
  const [isOpen, setOpen] = useState(false);
  const [who, setWho] = useState(me.value?.name ?? '');
  return (
    <p class="buttons">
      <Act onPress={() => setOpen(true)}>
        {t('valve-moved.open')}
        <span class="visually-hidden"> {name}</span>
      </Act>
      {isOpen ? (
        <Dialog title={t('valve-moved.title', { name })} onClose={() => setOpen(false)}>
          <p class="caution">{t('caution.valve')}</p>
          {/* Whoever signed in is known by name. */}
          {me.value?.name ? null : (
            <p class="field">
              <label for={id}>{t('shelve.who')}</label>
              <input
                id={id}
                type="text"
                maxLength={100}
                value={who}
                onInput={(event) => setWho(event.currentTarget.value)}
              />
            </p>
          )}
          <p class="buttons large">
            <Act
              kind="main"
              disabled={who.trim() === ''}
              onPress={() => {
                void ask({ ask: 'valve-moved', valve, who: who.trim() });
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
