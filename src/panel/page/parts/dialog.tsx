// One thing at a time: a dialog over everything, the whole screen on a phone. Escape leaves it, and the browser keeps the
// focus inside and brings it back.
import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import { t } from '../texts.ts';

export function Dialog(props: {
  readonly title: string;
  readonly onClose: () => void;
  readonly children: ComponentChildren;
}) {
  const { title, onClose, children } = props;
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const dialog = ref.current;
    if (dialog && !dialog.open) dialog.showModal();
    return () => dialog?.close();
  }, []);
  return (
    <dialog ref={ref} aria-labelledby={id} onClose={onClose}>
      <header>
        <h2 id={id}>{title}</h2>
        <button type="button" class="button plain" onClick={onClose}>
          {t('close')}
        </button>
      </header>
      <div class="dialog-body">{children}</div>
    </dialog>
  );
}
