// What each person prefers to see: units, language, light or dark. Kept in their own browser only.
import { Choice } from '../parts/number-field.tsx';
import { me, post } from '../state/api.ts';
import { forget, standing } from '../state/live.ts';
import { CHOICES, type Preferences, prefer, preferences } from '../state/preferences.ts';
import { t } from '../texts.ts';

export function PreferencesView() {
  return (
    <section class="panel narrow" aria-labelledby="prefer-head">
      <h2 id="prefer-head">{t('prefer.head')}</h2>
      <p class="limit">{t('prefer.words')}</p>
      {(Object.keys(CHOICES) as (keyof Preferences)[]).map((name) => (
        <Prefer key={name} name={name} />
      ))}
      {me.value?.name === null || me.value === null ? null : <SignOut name={me.value.name} />}
      <p class="limit">{t('prefer.station', { id: standing.value?.id ?? '' })}</p>
    </section>
  );
}

function Prefer<K extends keyof Preferences>({ name }: { readonly name: K }) {
  const options = CHOICES[name].map((value) => ({
    value: value as string,
    label: t(`prefer.${name}.${value}` as 'prefer.language.en'),
  }));
  return (
    <Choice
      label={t(`prefer.${name}`)}
      options={options}
      value={preferences.value[name] as string}
      onValue={(value) => prefer(name, value as Preferences[K])}
    />
  );
}

function SignOut({ name }: { readonly name: string }) {
  return (
    <p class="buttons">
      <button
        type="button"
        class="button plain"
        onClick={async () => {
          await post('api/sign-out');
          forget();
          if (me.value !== null)
            me.value = { ...me.value, signedIn: false, name: null, role: 'look', token: null };
        }}
      >
        {t('prefer.sign-out', { name })}
      </button>
    </p>
  );
}
