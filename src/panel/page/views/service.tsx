// Working on a device: take it out of service first, so that the station does not act on what it says meanwhile.
import { useId, useState } from 'preact/hooks';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { t } from '../texts.ts';

export function ServiceDialog({ onClose }: { readonly onClose: () => void }) {
  const id = useId();
  const station = standing.value;
  const out = live.outOfService.value ?? {};
  const devices = [
    ...Object.values(station?.sensors ?? {}),
    ...Object.values(station?.actuators ?? {}),
  ].filter((device) => out[device.id] === undefined);
  const [device, setDevice] = useState(devices[0]?.id ?? '');
  const [reason, setReason] = useState('');
  const isMains = station?.actuators[device] !== undefined;
  return (
    <Dialog title={t('service.title')} onClose={onClose}>
      <p>{t('service.how')}</p>
      <p class="field">
        <label for={`${id}-device`}>{t('service.device')}</label>
        <select id={`${id}-device`} value={device} onChange={(event) => setDevice(event.currentTarget.value)}>
          {devices.map((one) => (
            <option key={one.id} value={one.id}>
              {one.name}
            </option>
          ))}
        </select>
      </p>
      <p class="field">
        <label for={`${id}-reason`}>{t('service.reason')}</label>
        <input
          id={`${id}-reason`}
          type="text"
          maxLength={200}
          value={reason}
          onInput={(event) => setReason(event.currentTarget.value)}
        />
      </p>
      <p class="buttons tells">
        {(['service.clean', 'service.calibrate', 'service.replace'] as const).map((key) => (
          <button key={key} type="button" class="button plain" onClick={() => setReason(t(key))}>
            {t(key)}
          </button>
        ))}
      </p>
      {isMains ? <p class="caution">{t('caution.mains')}</p> : null}
      <p class="buttons large">
        <Act
          kind="main"
          disabled={reason.trim() === '' || device === ''}
          onPress={() => {
            void ask({ ask: 'out-of-service', device, reason: reason.trim() });
            onClose();
          }}
        >
          {t('service.send')}
        </Act>
      </p>
    </Dialog>
  );
}
