// Who are you? Asked only where the page is served to more than this computer.
import { useId, useState } from 'preact/hooks';
import type { Me } from '../../contract.ts';
import { me, post, Refusal } from '../state/api.ts';
import { start } from '../state/live.ts';
import { t } from '../texts.ts';

export function SignIn() {
  const id = useId();
  const [name, setName] = useState('');
  const [password, setPassword] = useState('');
  const [bad, setBad] = useState<string | null>(null);
  const send = async () => {
    try {
      me.value = await post<Me>('api/sign-in', { name, password });
      await start();
    } catch (error) {
      setBad(error instanceof Refusal && error.status === 401 ? t('sign-in.wrong') : t('sign-in.failed'));
    }
  };
  return (
    <main class="sign-in">
      <h1>{t('sign-in.head')}</h1>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void send();
        }}
      >
        <p class="field">
          <label for={`${id}-name`}>{t('sign-in.name')}</label>
          <input
            id={`${id}-name`}
            autocomplete="username"
            required
            value={name}
            onInput={(event) => setName(event.currentTarget.value)}
          />
        </p>
        <p class="field">
          <label for={`${id}-password`}>{t('sign-in.password')}</label>
          <input
            id={`${id}-password`}
            type="password"
            autocomplete="current-password"
            required
            value={password}
            onInput={(event) => setPassword(event.currentTarget.value)}
          />
        </p>
        <p role="alert" class="bad">
          {bad}
        </p>
        <p class="buttons large">
          <button type="submit" class="button main">
            {t('sign-in.send')}
          </button>
        </p>
      </form>
    </main>
  );
}
