// How this person wants to see things. Kept in this browser and nowhere else: the station does not care.
import { effect, signal } from '@preact/signals';

export interface Preferences {
  readonly language: 'en' | 'de';
  readonly volume: 'L' | 'gal';
  readonly temperature: 'degC' | 'degF';
  readonly salinity: 'PSU' | 'SG';
  readonly mass: 'kg' | 'lb';
  readonly theme: 'system' | 'light' | 'dark';
}

export const CHOICES: { readonly [K in keyof Preferences]: readonly Preferences[K][] } = {
  language: ['en', 'de'],
  volume: ['L', 'gal'],
  temperature: ['degC', 'degF'],
  salinity: ['PSU', 'SG'],
  mass: ['kg', 'lb'],
  theme: ['system', 'light', 'dark'],
};

const KEY = 'preferences';

function usual(): Preferences {
  // Without a browser (in a test) there is nobody whose language could be asked.
  const spoken = globalThis.navigator?.language ?? 'en-GB';
  const american = spoken === 'en-US';
  return {
    language: spoken.startsWith('de') ? 'de' : 'en',
    volume: american ? 'gal' : 'L',
    temperature: american ? 'degF' : 'degC',
    salinity: 'PSU',
    mass: american ? 'lb' : 'kg',
    theme: 'system',
  };
}

/** What was stored, as far as it still makes sense. */
function stored(): Partial<Preferences> {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    if (typeof found !== 'object' || found === null) return {};
    return Object.fromEntries(
      Object.entries(found).filter(([name, value]) =>
        (CHOICES[name as keyof Preferences] as readonly unknown[] | undefined)?.includes(value),
      ),
    );
  } catch {
    // Storage may be forbidden; the page works without it.
    return {};
  }
}

export const preferences = signal<Preferences>({ ...usual(), ...stored() });

export function prefer<K extends keyof Preferences>(name: K, value: Preferences[K]): void {
  preferences.value = { ...preferences.value, [name]: value };
  try {
    localStorage.setItem(KEY, JSON.stringify(preferences.value));
  } catch {
    // As above.
  }
}

effect(() => {
  const { theme, language } = preferences.value;
  const root = globalThis.document?.documentElement;
  if (root === undefined) return;
  if (theme === 'system') delete root.dataset.theme;
  else root.dataset.theme = theme;
  root.lang = language;
});
