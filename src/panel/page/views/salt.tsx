// Salt went in: how much really, as the scale showed it, then once more to be sure. No field is filled beforehand: what
// nobody weighed would be believed. What was poured can't be taken out, and no button does so.
import { useState } from 'preact/hooks';
import { MOST_POURED_KG } from '../../../control/guard/limits.ts';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { NumberField } from '../parts/number-field.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { t } from '../texts.ts';
import { fromUnit, inUnit, mass, unitOf } from '../units.ts';

export function AddSalt({ onClose }: { readonly onClose: () => void }) {
  const task = live.task.value;
  const asked = task?.task === 'add-salt' ? task.massKg : null;
  const [kg, setKg] = useState<number | null>(null);
  const [isSure, setSure] = useState(false);
  const [isSent, setSent] = useState(false);
  const vessel = standing.value?.vessels[standing.value.mixingId]?.name ?? '';
  const send = async () => {
    if (kg === null) return;
    setSent(true);
    await ask({ ask: 'salt-added', massKg: Number(kg.toFixed(4)) });
    onClose();
  };
  return (
    <Dialog title={t('salt.title')} onClose={onClose}>
      {isSure && kg !== null ? (
        <>
          <p class="loud">{t('salt.sure', { mass: mass(kg), vessel })}</p>
          {asked !== null && Math.abs(kg - asked) > 0.1 * asked ? (
            <p class="caution">{t('salt.differs', { asked: mass(asked) })}</p>
          ) : null}
          <p class="buttons large">
            <Act onPress={() => setSure(false)}>{t('salt.change')}</Act>
            <Act kind="main" disabled={isSent} onPress={() => void send()}>
              {t('salt.yes')}
            </Act>
          </p>
        </>
      ) : (
        <>
          {asked === null ? (
            <p>{t('salt.unasked')}</p>
          ) : (
            <p class="loud">{t('salt.asked', { mass: mass(asked) })}</p>
          )}
          <NumberField
            label={t('salt.really')}
            unit={unitOf.mass()}
            value={kg === null ? null : inUnit.mass(kg)}
            step={(asked ?? 1) < 2 ? 0.01 : 0.1}
            digits={(asked ?? 1) < 2 ? 3 : 2}
            least={inUnit.mass(0.001)}
            most={inUnit.mass(MOST_POURED_KG)}
            onValue={(value) => setKg(value === null ? null : fromUnit.mass(value))}
          />
          <p class="buttons large">
            <Act kind="main" disabled={kg === null} onPress={() => setSure(true)}>
              {t('next')}
            </Act>
          </p>
        </>
      )}
    </Dialog>
  );
}
