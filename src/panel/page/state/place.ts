// Where on the page somebody is: the part after the `#`, so that every place can be linked to and the back button works.
import { signal } from '@preact/signals';

export interface Place {
  readonly view: 'now' | 'alarms' | 'proofs' | 'history' | 'books' | 'what-if' | 'prefer';
  /** What of it: an alarm, an incident; or a part of the first view to go to. */
  readonly what: string | null;
}

const VIEWS: readonly string[] = ['now', 'alarms', 'proofs', 'history', 'books', 'what-if', 'prefer'];

function placeOf(hash: string): Place {
  const [name = 'now', what] = hash.replace(/^#/u, '').split('/');
  if (VIEWS.includes(name))
    return { view: name as Place['view'], what: what ? decodeURIComponent(what) : null };
  return { view: 'now', what: name === '' ? null : name };
}

export const place = signal<Place>(placeOf(location.hash));

export function follow(): void {
  addEventListener('hashchange', () => {
    const before = place.peek().view;
    place.value = placeOf(location.hash);
    // From a long list to one of it is a place of its own, too.
    if (place.value.view !== before || place.value.view === 'proofs') scrollTo(0, 0);
    // A part of the first view: go there once it is drawn.
    const { view, what } = place.value;
    if (view === 'now' && what !== null)
      requestAnimationFrame(() => document.getElementById(what)?.scrollIntoView({ block: 'start' }));
  });
}
