// A person's measurement: with which instrument, what it shows, and what that is as practical salinity. The formulas are
// the engineering room's; a reading that means nothing without its temperatures asks for them.
import { useState } from 'preact/hooks';
import { practicalSalinity, practicalSalinityFromRelativeDensity } from '../../../engineering/seawater.ts';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Choice, NumberField } from '../parts/number-field.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { t } from '../texts.ts';
import { fromUnit, inUnit, number, unitOf } from '../units.ts';

type Instrument = 'salinity' | 'gravity' | 'conductivity';

/** Null where no water of this kind reads so. */
function salinityFrom(
  instrument: Instrument,
  value: number,
  sampleC: number,
  referenceC: number,
): number | null {
  try {
    if (instrument === 'salinity') return value;
    if (instrument === 'gravity') return practicalSalinityFromRelativeDensity(value, sampleC, referenceC);
    return practicalSalinity(value, sampleC);
  } catch {
    return null;
  }
}

const USUAL: Readonly<Record<Instrument, number>> = { salinity: 35, gravity: 1.0264, conductivity: 53 };

export function Measure({ onClose }: { readonly onClose: () => void }) {
  const task = live.task.value;
  const vessel = task?.vessel ?? standing.value?.mixingId ?? '';
  const [instrument, setInstrument] = useState<Instrument>(
    preferences.value.salinity === 'SG' ? 'gravity' : 'salinity',
  );
  const [value, setValue] = useState<number | null>(USUAL[instrument]);
  const [sampleC, setSampleC] = useState<number | null>(25);
  const [referenceC, setReferenceC] = useState<number | null>(25);
  const [isSent, setSent] = useState(false);
  const found =
    value === null || sampleC === null || referenceC === null
      ? null
      : salinityFrom(instrument, value, sampleC, referenceC);
  const send = async () => {
    if (found === null) return;
    setSent(true);
    await ask({
      ask: 'salinity-measured',
      vessel,
      salinity: Number(found.toFixed(3)),
      instrument: t(`measure.${instrument}`),
    });
    onClose();
  };
  return (
    <Dialog
      title={t('measure.title', { vessel: standing.value?.vessels[vessel]?.name ?? vessel })}
      onClose={onClose}
    >
      <p>{t('measure.how')}</p>
      <Choice
        label={t('measure.instrument')}
        value={instrument}
        options={(['salinity', 'gravity', 'conductivity'] as const).map((one) => ({
          value: one,
          label: t(`measure.${one}`),
        }))}
        onValue={(next) => {
          setInstrument(next);
          setValue(USUAL[next]);
        }}
      />
      <Shown key={instrument} instrument={instrument} onValue={setValue} />
      {instrument === 'salinity' ? null : <Celsius label={t('measure.sample')} onValue={setSampleC} />}
      {instrument === 'gravity' ? <Celsius label={t('measure.reference')} onValue={setReferenceC} /> : null}
      <p class="loud" aria-live="polite">
        {found === null ? t('measure.nonsense') : t('measure.means', { salinity: number(found, 2) })}
      </p>
      <p class="buttons large">
        <Act kind="main" disabled={found === null || isSent} onPress={() => void send()}>
          {t('measure.send')}
        </Act>
      </p>
    </Dialog>
  );
}

function Shown(props: { readonly instrument: Instrument; readonly onValue: (value: number | null) => void }) {
  const { instrument, onValue } = props;
  const rest = {
    salinity: { unit: 'PSU', step: 0.1, digits: 1, least: 0, most: 42 },
    gravity: { unit: 'SG', step: 0.0001, digits: 4, least: 0.99, most: 1.04 },
    conductivity: { unit: 'mS/cm', step: 0.1, digits: 1, least: 0, most: 100 },
  }[instrument];
  return <NumberField label={t('measure.shows')} value={USUAL[instrument]} {...rest} onValue={onValue} />;
}

function Celsius(props: { readonly label: string; readonly onValue: (celsius: number | null) => void }) {
  const unit = unitOf.temperature();
  return (
    <NumberField
      label={props.label}
      unit={unit === 'degF' ? '\u00b0F' : '\u00b0C'}
      value={inUnit.temperature(25)}
      step={0.5}
      digits={1}
      least={inUnit.temperature(0)}
      most={inUnit.temperature(35)}
      onValue={(value) => props.onValue(value === null ? null : fromUnit.temperature(value))}
    />
  );
}
