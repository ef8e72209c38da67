// Silencing an alarm for a while: how long, why, and who says so. What the alarm speaks of goes on protecting, and that is
// said beside the button; the core bounds the time by the alarm's priority and refuses longer.
import { useId, useState } from 'preact/hooks';
import type { Sections } from '../../contract.ts';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Choice } from '../parts/number-field.tsx';
import { ask, me } from '../state/api.ts';
import { sentence, t } from '../texts.ts';
import { duration } from '../units.ts';

type Alarm = Sections['alarms'][number];

/** As long as the core lets an alarm of this priority rest, and shorter. */
const MINUTES: Readonly<Record<Alarm['priority'], readonly number[]>> = {
  urgent: [15, 60],
  soon: [60, 240, 480],
  notice: [60, 480, 1_440],
};

export function Shelving({ alarm }: { readonly alarm: Alarm }) {
  const [isOpen, setOpen] = useState(false);
  if (alarm.state === 'shelved')
    return (
      <>
        <p class="reason">
          {t('shelve.back-in', { time: duration(alarm.shelvedMinutes * 60_000), reason: alarm.silenced })}
        </p>
        <p class="buttons">
          <Act onPress={() => void ask({ ask: 'unshelve', alarm: alarm.alarm })}>{t('shelve.back')}</Act>
        </p>
      </>
    );
  return (
    <p class="buttons">
      <Act onPress={() => setOpen(true)}>
        {t('shelve.open')}
        <span class="visually-hidden"> {sentence(alarm.words)}</span>
      </Act>
      {isOpen ? <ShelveDialog alarm={alarm} onClose={() => setOpen(false)} /> : null}
    </p>
  );
}

function ShelveDialog({ alarm, onClose }: { readonly alarm: Alarm; readonly onClose: () => void }) {
  const id = useId();
  const choices = MINUTES[alarm.priority];
  const [minutes, setMinutes] = useState(String(choices[0]));
  const [reason, setReason] = useState('');
  const [who, setWho] = useState(me.value?.name ?? '');
  const asReason = ['shelve.reason', reason, setReason] as const;
  // Whoever signed in is known by name.
  const fields = me.value?.name ? [asReason] : [asReason, ['shelve.who', who, setWho] as const];
  return (
    <Dialog title={t('shelve.title')} onClose={onClose}>
      <p>{sentence(alarm.words)}</p>
      <p class="caution">{t('shelve.care')}</p>
      <Choice
        label={t('shelve.for')}
        value={minutes}
        options={choices.map((one) => ({ value: String(one), label: duration(one * 60_000) }))}
        onValue={setMinutes}
      />
      {fields.map(([key, value, set]) => (
        <p class="field" key={key}>
          <label for={`${id}-${key}`}>{t(key)}</label>
          <input
            id={`${id}-${key}`}
            type="text"
            maxLength={100}
            value={value}
            onInput={(event) => set(event.currentTarget.value)}
          />
        </p>
      ))}
      <p class="buttons large">
        <Act
          kind="main"
          disabled={reason.trim() === '' || who.trim() === ''}
          onPress={() => {
            const request = { ask: 'shelve', alarm: alarm.alarm, minutes: Number(minutes) } as const;
            void ask({ ...request, reason: reason.trim(), who: who.trim() });
            onClose();
          }}
        >
          {t('shelve.send')}
        </Act>
      </p>
    </Dialog>
  );
}
