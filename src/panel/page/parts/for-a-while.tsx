// Something is set aside for a while: for how long, why, and who says so. The core bounds the time and refuses longer; nobody
// may set anything aside without a reason.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { t } from '../texts.ts';
import { duration } from '../units.ts';
import { Act } from './button.tsx';
import { Dialog } from './dialog.tsx';
import { Choice } from './number-field.tsx';
import { TextField } from './text-field.tsx';
import { Who, whoSays } from './who.tsx';

export interface Aside {
  readonly minutes: number;
  readonly reason: string;
  readonly who?: string;
}

export function ForAWhile(props: {
  /** Whose words: `bypass.title`, `shelve.title` and so on. */
  readonly of: 'bypass' | 'shelve';
  readonly minutes: readonly number[];
  readonly care: string;
  readonly children: ComponentChildren;
  readonly onSend: (aside: Aside) => void;
  readonly onClose: () => void;
}) {
  const { of, minutes: choices, care, children, onSend, onClose } = props;
  const [minutes, setMinutes] = useState(String(choices[0]));
  const [reason, setReason] = useState('');
  return (
    <Dialog title={t(`${of}.title`)} onClose={onClose}>
      <p>{children}</p>
      <p class="caution">{care}</p>
      <Choice
        label={t(`${of}.for`)}
        value={minutes}
        options={choices.map((one) => ({ value: String(one), label: duration(one * 60_000) }))}
        onValue={setMinutes}
      />
      <TextField label={t(`${of}.reason`)} value={reason} onValue={setReason} />
      <Who />
      <p class="buttons large">
        <Act
          kind="main"
          disabled={reason.trim() === ''}
          onPress={() => {
            onSend({ minutes: Number(minutes), reason: reason.trim(), ...whoSays() });
            onClose();
          }}
        >
          {t(`${of}.send`)}
        </Act>
      </p>
    </Dialog>
  );
}
