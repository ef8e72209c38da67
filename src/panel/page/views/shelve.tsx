// Silencing an alarm for a while: how long, why, and who says so. What the alarm speaks of goes on protecting, and that is
// said beside the button; the core bounds the time by the alarm's priority and refuses longer.
import { useState } from 'preact/hooks';
import type { Sections } from '../../contract.ts';
import { Act } from '../parts/button.tsx';
import { ForAWhile } from '../parts/for-a-while.tsx';
import { ask } from '../state/api.ts';
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
      {isOpen ? (
        <ForAWhile
          of="shelve"
          minutes={MINUTES[alarm.priority]}
          care={t('shelve.care')}
          onSend={(aside) => void ask({ ask: 'shelve', alarm: alarm.alarm, ...aside })}
          onClose={() => setOpen(false)}
        >
          {sentence(alarm.words)}
        </ForAWhile>
      ) : null}
    </p>
  );
}
