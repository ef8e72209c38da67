// A large exchange by request: how much, and what the station's own limit is.
import { useState } from 'preact/hooks';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Choice, NumberField } from '../parts/number-field.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { t } from '../texts.ts';
import { DIGITS, fromUnit, inUnit, unitOf, volume } from '../units.ts';

export function ExchangeNow({ onClose }: { readonly onClose: () => void }) {
  const systems = Object.keys(standing.value?.process.exchange ?? {});
  const [system, setSystem] = useState(systems[0] ?? '');
  const [isSure, setSure] = useState(false);
  const aims = standing.value?.process.exchange[system];
  const requestedL = live.units.value?.exchange[system]?.requestedL ?? 0;
  const mostL = Math.max(0, (aims?.largestL ?? 0) - requestedL);
  const usualL = Math.min(mostL, aims?.stepL ?? 10);
  const [litres, setLitres] = useState<number | null>(usualL);
  const digits = DIGITS.volume(mostL);
  const name = standing.value?.vessels[system]?.name ?? system;
  return (
    <Dialog title={t('exchange.title')} onClose={onClose}>
      {isSure && litres !== null ? (
        <>
          <p class="loud">{t('exchange.sure', { volume: volume(litres, digits), system: name })}</p>
          <p>{t('exchange.sure-words')}</p>
          <p class="buttons large">
            <Act onPress={() => setSure(false)}>{t('salt.change')}</Act>
            <Act
              kind="main"
              onPress={() => {
                void ask({ ask: 'exchange-now', system, volumeL: Number(litres.toFixed(2)) });
                onClose();
              }}
            >
              {t('exchange.send')}
            </Act>
          </p>
        </>
      ) : (
        <>
          {systems.length > 1 ? (
            <Choice
              label={t('exchange.which')}
              value={system}
              options={systems.map((id) => ({ value: id, label: standing.value?.vessels[id]?.name ?? id }))}
              onValue={setSystem}
            />
          ) : null}
          <p>{t('exchange.limit', { most: volume(mostL, digits) })}</p>
          <NumberField
            key={system}
            label={t('exchange.amount')}
            unit={unitOf.volume()}
            value={inUnit.volume(usualL)}
            step={inUnit.volume(aims?.stepL ?? 1)}
            digits={digits}
            least={digits > 0 ? 0.1 : 1}
            most={inUnit.volume(mostL)}
            onValue={(value) => setLitres(value === null ? null : fromUnit.volume(value))}
          />
          <p class="buttons large">
            <Act kind="main" disabled={litres === null} onPress={() => setSure(true)}>
              {t('next')}
            </Act>
          </p>
        </>
      )}
    </Dialog>
  );
}
