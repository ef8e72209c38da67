// A list that scrolls inside the page, reachable by keyboard.
import type { ComponentChildren } from 'preact';

/** What is wider than a phone scrolls inside its own frame, by keyboard too (WCAG 2.1.1, 1.4.10). */
export function Scroll({
  label,
  children,
}: {
  readonly label: string;
  readonly children: ComponentChildren;
}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a frame that scrolls must be reachable to be scrolled
    <section class="scroll" tabIndex={0} aria-label={label}>
      {children}
    </section>
  );
}
