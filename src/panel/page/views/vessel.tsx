// One vessel in words: what it certainly and possibly holds, how salt and warm it is, where its floats hang.
import type { SensorKind, Vessel } from '../../../station/plant.ts';
import { seenOf } from '../drawing/looks.ts';
import { Mark } from '../drawing/symbols.tsx';
import { live, standing } from '../state/live.ts';
import { t } from '../texts.ts';
import { between, salinity, temperature, volume } from '../units.ts';
import { sensorWord } from './checks.tsx';

export function VesselFacts({ vessel }: { readonly vessel: Vessel }) {
  const held = live.vessels.value?.[vessel.id];
  return (
    <section class="vessel" aria-labelledby={`name-${vessel.id}`}>
      <h3 id={`name-${vessel.id}`}>{vessel.name}</h3>
      {held === undefined ? null : (
        <p class="contents">
          <b>{between(held.leastL, held.mostL)}</b>{' '}
          <span class="limit">{t('vessel.of', { capacity: volume(vessel.capacityL, 0) })}</span>
        </p>
      )}
      <Water vessel={vessel} />
      <Floats vessel={vessel} />
    </section>
  );
}

/** Kinds that have a place of their own here, or in the contents above. */
const SHOWN: readonly SensorKind[] = ['float', 'level', 'top-off', 'temperature', 'conductivity'];

function Water({ vessel }: { readonly vessel: Vessel }) {
  const held = live.vessels.value?.[vessel.id];
  const probed = vessel.conductivity !== null || vessel.role === 'mixing';
  const purity = vessel.role === 'purified-water' && vessel.conductivity !== null;
  const others = Object.values(standing.value?.sensors ?? {}).filter(
    (sensor) => 'vessel' in sensor && sensor.vessel === vessel.id && !SHOWN.includes(sensor.measures),
  );
  if (!probed && vessel.temperature === null && others.length === 0) return null;
  return (
    <p class="water">
      {purity && vessel.conductivity ? <Reading sensor={vessel.conductivity} /> : null}
      {others.map(({ id }) => (
        <Reading key={id} sensor={id} />
      ))}
      {probed && !purity && held ? (
        <Value known={held.salinity !== null} label={t('salinity')}>
          {held.salinity === null ? '' : salinity(held.salinity)}
        </Value>
      ) : null}
      {vessel.temperature && held ? (
        <Value known={held.temperatureC !== null} label={t('temperature')}>
          {held.temperatureC === null ? '' : temperature(held.temperatureC)}
        </Value>
      ) : null}
    </p>
  );
}

function Value(props: { readonly known: boolean; readonly label: string; readonly children: string }) {
  const { known, label, children } = props;
  return (
    <span class={known ? 'value' : 'value missing'}>
      <span class="visually-hidden">{label}: </span>
      {known ? (
        children
      ) : (
        <>
          <Mark kind="stale" />
          {t('vessel.not-known', { what: label })}
        </>
      )}
    </span>
  );
}

function Reading({ sensor }: { readonly sensor: string }) {
  const seen = seenOf(live.sensors.value?.[sensor]);
  return (
    <span class={seen === 'fresh' ? 'value' : 'value missing'}>
      {seen === 'fresh' ? null : <Mark kind={seen} />}
      {sensorWord(sensor)}
    </span>
  );
}

function Floats({ vessel }: { readonly vessel: Vessel }) {
  const floats = (['low', 'high', 'overflow'] as const).filter((position) => vessel.floats[position]);
  if (floats.length === 0 && vessel.topOff === null) return null;
  return (
    <ul class="floats" aria-label={t('vessel.floats')}>
      {floats.map((position) => {
        const id = vessel.floats[position] ?? '';
        return <Float key={position} id={id} name={t(`float.${position}`)} />;
      })}
      {vessel.topOff === null ? null : <Float id={vessel.topOff} name={t('vessel.top-off')} />}
    </ul>
  );
}

function Float({ id, name }: { readonly id: string; readonly name: string }) {
  const seen = seenOf(live.sensors.value?.[id]);
  return (
    <li class={seen}>
      {seen === 'fresh' ? null : <Mark kind={seen} />}
      {name} <b>{sensorWord(id)}</b>
    </li>
  );
}
