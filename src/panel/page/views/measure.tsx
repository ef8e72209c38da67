// A person's measurement: what the instrument shows, what that is as practical salinity, and which instrument it was. No field is
// filled beforehand, and what was typed is read back before it is sent: a number that nobody measured would be believed. The
// formulas are the engineering room's; a reading that means nothing without its temperatures asks for them.
import { useState } from 'preact/hooks';
import { MOST_MEASURED } from '../../../control/guard/limits.ts';
import { practicalSalinity, practicalSalinityFromRelativeDensity } from '../../../engineering/seawater.ts';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Choice, NumberField } from '../parts/number-field.tsx';
import { TextField } from '../parts/text-field.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { sentence, t } from '../texts.ts';
import { fromUnit, inUnit, number, unitOf } from '../units.ts';

const SCALES = {
  salinity: { unit: 'PSU', step: 0.1, digits: 1, least: 0, most: MOST_MEASURED },
  gravity: { unit: 'SG', step: 0.0001, digits: 4, least: 0.99, most: 1.04 },
  conductivity: { unit: 'mS/cm', step: 0.1, digits: 1, least: 0, most: 100 },
} as const;
type Scale = keyof typeof SCALES;

/** Null where no water of this kind reads so, and where something is missing. */
function salinityFrom(scale: Scale, value: number | null, sampleC: number | null, referenceC: number | null) {
  try {
    if (value === null || scale === 'salinity') return value;
    if (sampleC === null) return null;
    if (scale === 'conductivity') return practicalSalinity(value, sampleC);
    return referenceC === null ? null : practicalSalinityFromRelativeDensity(value, sampleC, referenceC);
  } catch {
    return null;
  }
}

export function Measure({ onClose }: { readonly onClose: () => void }) {
  const task = live.task.value;
  const vessel = task?.vessel ?? standing.value?.mixingId ?? '';
  const [scale, setScale] = useState<Scale>(preferences.value.salinity === 'SG' ? 'gravity' : 'salinity');
  const [value, setValue] = useState<number | null>(null);
  const [sampleC, setSampleC] = useState<number | null>(null);
  const [referenceC, setReferenceC] = useState<number | null>(null);
  const [name, setName] = useState('');
  const [isSure, setSure] = useState(false);
  const [isSent, setSent] = useState(false);
  const found = salinityFrom(scale, value, sampleC, referenceC);
  const isWhole =
    value !== null &&
    (scale === 'salinity' || sampleC !== null) &&
    (scale !== 'gravity' || referenceC !== null);
  const instrument = name.trim();
  const send = async () => {
    if (found === null) return;
    setSent(true);
    await ask({ ask: 'salinity-measured', vessel, salinity: Number(found.toFixed(3)), instrument });
    onClose();
  };
  if (isSure && found !== null && value !== null) {
    const shown = `${number(value, SCALES[scale].digits)}\u00a0${SCALES[scale].unit}`;
    return (
      <Dialog title={titleOf(vessel)} onClose={onClose}>
        <p class="loud">{t('measure.sure', { value: shown, instrument })}</p>
        {scale === 'salinity' ? null : <p>{t('measure.means', { salinity: number(found, 2) })}</p>}
        <p>{t('measure.then')}</p>
        <p class="buttons large">
          <Act onPress={() => setSure(false)}>{t('measure.change')}</Act>
          <Act kind="main" disabled={isSent} onPress={() => void send()}>
            {t('measure.send')}
          </Act>
        </p>
      </Dialog>
    );
  }
  return (
    <Dialog title={titleOf(vessel)} onClose={onClose}>
      {task?.task === 'measure-salinity' ? <p>{sentence(task.words)}</p> : null}
      <p>{t('measure.how')}</p>
      <Choice
        label={t('measure.instrument')}
        value={scale}
        options={(['salinity', 'gravity', 'conductivity'] as const).map((one) => ({
          value: one,
          label: t(`measure.${one}`),
        }))}
        onValue={(next) => {
          setScale(next);
          setValue(null);
        }}
      />
      <TextField label={t('measure.name')} value={name} onValue={setName} />
      <p class="limit">{t('measure.name-hint')}</p>
      <NumberField
        key={scale}
        label={t('measure.shows')}
        value={value}
        {...SCALES[scale]}
        onValue={setValue}
      />
      {scale === 'salinity' ? null : (
        <Celsius label={t('measure.sample')} value={sampleC} onValue={setSampleC} />
      )}
      {scale === 'gravity' ? (
        <Celsius label={t('measure.reference')} value={referenceC} onValue={setReferenceC} />
      ) : null}
      <p class="loud" aria-live="polite">
        {!isWhole
          ? ''
          : found === null
            ? t('measure.nonsense')
            : t('measure.means', { salinity: number(found, 2) })}
      </p>
      <p class="limit">{t('measure.thin')}</p>
      <p class="buttons large">
        <Act kind="main" disabled={found === null || instrument === ''} onPress={() => setSure(true)}>
          {t('next')}
        </Act>
      </p>
    </Dialog>
  );
}

const titleOf = (vessel: string): string =>
  t('measure.title', { vessel: standing.value?.vessels[vessel]?.name ?? vessel });

function Celsius(props: {
  readonly label: string;
  readonly value: number | null;
  readonly onValue: (celsius: number | null) => void;
}) {
  const unit = unitOf.temperature();
  return (
    <NumberField
      label={props.label}
      unit={unit === 'degF' ? '\u00b0F' : '\u00b0C'}
      value={props.value === null ? null : inUnit.temperature(props.value)}
      step={0.5}
      digits={1}
      least={inUnit.temperature(0)}
      most={inUnit.temperature(35)}
      onValue={(value) => props.onValue(value === null ? null : fromUnit.temperature(value))}
    />
  );
}
