// A view that comes over the line when somebody opens it. Preact's own `lazy` lives in its React layer, ten times this size.
import { signal } from '@preact/signals';
import type { ComponentType } from 'preact';

export function lazy<P extends object>(load: () => Promise<ComponentType<P>>): ComponentType<P> {
  const loaded = signal<ComponentType<P> | null>(null);
  let isAsked = false;
  return (props: P) => {
    const Found = loaded.value;
    if (Found !== null) return <Found {...props} />;
    if (!isAsked) {
      isAsked = true;
      load().then(
        (found) => {
          loaded.value = found;
        },
        () => {
          // The line was cut: the next look tries again.
          isAsked = false;
        },
      );
    }
    return <p class="first">&hellip;</p>;
  };
}
