// Who says so. Whoever signed in is known, and the service itself puts that name to what they ask; where nobody signs in, a
// person may give a name, once for everything that they do until the page is loaded anew.
import { signal } from '@preact/signals';
import { me } from '../state/api.ts';
import { t } from '../texts.ts';
import { TextField } from './text-field.tsx';

const typed = signal('');

export function Who() {
  const name = me.value?.name ?? null;
  if (name !== null) return <p class="limit">{t('who.signed-in', { name })}</p>;
  return (
    <TextField
      label={t('who.name')}
      value={typed.value}
      onValue={(value) => {
        typed.value = value;
      }}
    />
  );
}

/** Did whoever asks say who they are? Some things are noted only with a name. */
export const hasName = (): boolean => (me.value?.name ?? typed.value).trim() !== '';

/** What goes along with a request. */
export function whoSays(): { readonly who?: string } {
  const name = typed.peek().trim();
  return me.peek()?.name || name === '' ? {} : { who: name };
}
