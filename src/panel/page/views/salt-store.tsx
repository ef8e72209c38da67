// The salt in the store room: counted by a person, used up by batches, and when to buy.
import { useState } from 'preact/hooks';
import type { Answer, SaltStock } from '../../contract.ts';
import { Mark } from '../drawing/symbols.tsx';
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { NumberField } from '../parts/number-field.tsx';
import { post, tell } from '../state/api.ts';
import { atMs, live, standing } from '../state/live.ts';
import { date, moment } from '../state/time.ts';
import { t } from '../texts.ts';
import { duration, fromUnit, inUnit, mass, unitOf } from '../units.ts';
import { storeOf } from './store.ts';

const DAY_MS = 86_400_000;

export function SaltStore({
  salt,
  onCounted,
}: {
  readonly salt: SaltStock | null;
  readonly onCounted: () => void;
}) {
  const [isOpen, setOpen] = useState(false);
  return (
    <section class="panel" aria-labelledby="store-head">
      <h2 id="store-head">{t('books.store')}</h2>
      {salt === null ? <p class="reason">{t('books.no-store')}</p> : <Left salt={salt} />}
      <p class="buttons">
        <Act onPress={() => setOpen(true)}>{t('books.count')}</Act>
      </p>
      {isOpen ? (
        <Count
          usual={salt === null ? 25 : Math.max(0, salt.massKg - salt.usedKg)}
          onClose={() => {
            setOpen(false);
            onCounted();
          }}
        />
      ) : null}
    </section>
  );
}

function Left({ salt }: { readonly salt: SaltStock }) {
  const station = standing.value;
  const yieldKgPerKg = live.units.value?.batch.yieldKgPerKg ?? station?.process.saltYield ?? 1;
  if (station === null) return null;
  const { leftKg, lastsDays, buyByMs } = storeOf(station, salt, yieldKgPerKg, atMs.value);
  const isLate = buyByMs !== null && buyByMs <= atMs.value;
  return (
    <>
      <p class="loud">{t('books.left', { mass: mass(leftKg, 1) })}</p>
      <p class="limit">
        {t('books.counted', {
          moment: moment(salt.countedMs),
          mass: mass(salt.massKg, 1),
          used: mass(salt.usedKg, 1),
        })}
      </p>
      {lastsDays === null ? (
        <p class="reason">{t('books.no-plan')}</p>
      ) : (
        <p class="reason">
          {isLate ? <Mark kind="notice" /> : null}
          {t('books.lasts', { time: duration(Math.floor(lastsDays) * DAY_MS) })}{' '}
          {isLate ? t('books.buy-now') : t('books.buy', { date: date(buyByMs ?? 0) })}
        </p>
      )}
    </>
  );
}

function Count({ usual, onClose }: { readonly usual: number; readonly onClose: () => void }) {
  const [kg, setKg] = useState<number | null>(usual);
  const send = async () => {
    if (kg === null) return;
    await tell('salt-stock', () => post<Answer>('api/salt-stock', { massKg: Number(kg.toFixed(2)) }));
    onClose();
  };
  return (
    <Dialog title={t('books.count')} onClose={onClose}>
      <p>{t('books.count-words')}</p>
      <NumberField
        label={t('books.in-store')}
        unit={unitOf.mass()}
        value={inUnit.mass(usual)}
        step={1}
        digits={1}
        most={100_000}
        onValue={(value) => setKg(value === null ? null : fromUnit.mass(value))}
      />
      <p class="buttons large">
        <Act kind="main" disabled={kg === null} onPress={() => void send()}>
          {t('books.keep')}
        </Act>
      </p>
    </Dialog>
  );
}
